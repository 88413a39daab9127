#include "engine/plan/question.hpp"

#include <algorithm>
#include <set>

#include "engine/plan/decided_findings.hpp"
#include "engine/plan/inspection.hpp"
#include "engine/plan/offer.hpp"
#include "engine/plan/screening.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Network;

/// Findings that a check looks at, or of which the readings make a finer form: both are better than asking.
std::set<std::string> decided_better(const Network& network) {
  std::set<std::string> ids;
  const auto& items = network.catalogue().items();
  for (const auto& check : items.checks)
    if (network.applies(check))
      for (const auto& result : check.results)
        if (!result.finding.empty()) ids.insert(result.finding);
  for (const auto& finding : items.findings)
    if (finding.reading) ids.insert(finding.refines.begin(), finding.refines.end());
  return ids;
}

CheckOption option_of(const Network& network, const catalogue::Finding& finding) {
  const belief::FindingNode node =
      belief::answered(network.node_of(finding), std::nullopt, finding.false_yes, finding.false_no);
  ResultOption result{finding.id, 1 - node.leak[0], {}};
  for (const auto& link : node.links) result.silent.push_back({link.cause, 1 - link.reach[0]});
  return {finding.id, kAnswerMinutes, {std::move(result)}};
}

/// A context that holds for a share of the sessions holds for share * factor of those with a cause that it favours.
CheckOption option_of(const Network& network, const catalogue::Context& context) {
  ResultOption result{context.id, 1 - context.share, {}};
  for (const auto& each : context.odds)
    if (const auto cause = network.index(each.cause)) {
      const double held = std::min(0.98, context.share * each.factor.in(network.family()));
      // One that it speaks against can't be told by a node that is only ever brought about: it counts as indifferent.
      result.silent.push_back({*cause, std::min(1.0, (1 - held) / (1 - context.share))});
    }
  return {context.id, kAnswerMinutes, {std::move(result)}};
}

}  // namespace

std::vector<Question> questions(const belief::Belief& belief, const belief::Observations& observations,
                                const belief::Background& background, const std::vector<std::string>& asked,
                                const AdviceSettings& settings) {
  const Network& network = *belief.network;
  const DecidedFindings decided = decided_findings(network.catalogue(), observations);
  const auto was_asked = [&](const std::string& id) { return std::ranges::find(asked, id) != asked.end(); };
  std::vector<Question> candidates;
  std::vector<CheckOption> options;
  const auto better = decided_better(network);
  for (const auto& finding : network.catalogue().items().findings) {
    if (!network.applies(finding) || finding.reading || better.contains(finding.id)) continue;
    if (decided.has(finding.id) || was_asked(finding.id)) continue;
    if (std::ranges::any_of(finding.not_when, [&](const auto& id) { return decided.yes.contains(id); })) continue;
    candidates.push_back({&finding, nullptr, 0, 0});
    options.push_back(option_of(network, finding));
  }
  for (const auto& context : network.catalogue().items().contexts) {
    if (was_asked(context.id) || std::ranges::find(background.contexts, context.id) != background.contexts.end() ||
        std::ranges::find(background.contexts_not, context.id) != background.contexts_not.end())
      continue;
    candidates.push_back({nullptr, &context, 0, 0});
    options.push_back(option_of(network, context));
  }
  Offer checks = offer_checks(belief, observations, settings.declined);
  RepairOffer repairs =
      offer_repairs(belief, gates(network.catalogue(), observations), observations, settings.declined);
  set_costs(checks, repairs, settings.costs, settings.setup);
  const OneCause rough = one_cause(belief.posterior, belief.none_present);
  const auto looked = with_inspections(repairs.options, checks.options, rough);
  const double now = rough_sequence(rough, looked, settings.plan).cost;
  std::vector<Question> worth_asking;
  for (const CheckValue& value : screen(rough, options, looked, settings.plan)) {
    Question question = candidates[value.check];
    question.saves = now - value.cost;
    question.yes = value.found;
    if (question.saves > 0) worth_asking.push_back(question);
  }
  std::ranges::stable_sort(worth_asking, std::ranges::greater(), &Question::saves);
  return worth_asking;
}

}  // namespace wheeltapper::plan
