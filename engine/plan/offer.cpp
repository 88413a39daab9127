#include "engine/plan/offer.hpp"

#include <algorithm>

#include "engine/plan/decided_findings.hpp"
#include "engine/plan/inspection.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Belief;
using belief::FindingNode;
using belief::Network;
using belief::Observations;
using catalogue::Check;
using catalogue::Power;
using catalogue::Repair;
using catalogue::Skill;

bool is_declined(const std::string& id, const std::vector<std::string>& declined) {
  return std::ranges::find(declined, id) != declined.end();
}

double risk(Skill skill, const Costs& costs) { return skill > costs.skill ? costs.beyond_skill : 0; }

/// The chance that a result stays away, from its node.
ResultOption result_option(const Network& network, const Check& check, const catalogue::Result& result) {
  FindingNode node;
  if (result.finding.empty()) {
    node = network.node_of(check, result);
  } else {
    const auto& finding = *network.catalogue().finding(result.finding);
    node = belief::answered(network.node_of(finding), std::nullopt, finding.false_yes * 0.5, finding.false_no * 0.5);
  }
  ResultOption option{result.id, 1 - node.leak[0], {}};
  for (const FindingNode::Link& link : node.links) option.silent.push_back({link.cause, 1 - link.reach[0]});
  return option;
}

/// What was seen before a repair that can have changed it is no longer among the outcomes.
bool is_decided(const Check& check, const catalogue::Result& result, const Observations& observations,
                const DecidedFindings& decided) {
  if (decided.has(result.finding)) return true;
  return std::ranges::any_of(observations.outcomes, [&](const belief::Outcome& outcome) {
    return outcome.check == check.id && outcome.result == result.id;
  });
}

bool was_done(const Repair& repair, const Observations& observations) {
  return std::ranges::any_of(observations.past, [&](const belief::Past& past) { return past.repair == repair.id; });
}

/// A repair of how the test is made, or of how something is set.
bool of_method(const Repair& repair, const catalogue::Catalogue& catalogue) {
  return std::ranges::all_of(repair.cures, [&](const catalogue::Cure& cure) {
    const auto* place = catalogue.place(catalogue.cause(cure.cause)->place);
    return place->side == "procedure" || place->id == "settings";
  });
}

CheckOption whole_option(const Network& network, const Check& check) {
  CheckOption option{check.id, 0, {}};
  for (const auto& result : check.results) option.results.push_back(result_option(network, check, result));
  return option;
}

/// A finding that was told to be there, as an inspection, where it is a mark of few causes: somebody has looked
/// already.
std::optional<CheckOption> told_inspection(const Network& network, const belief::Item& item) {
  constexpr std::size_t kFewCauses = 25;
  const auto* finding = network.catalogue().finding(item.id);
  if (!item.present || finding == nullptr) return std::nullopt;
  const FindingNode node = network.node_of(*finding);
  if (node.links.size() > kFewCauses) return std::nullopt;
  ResultOption result{finding->id, 1 - node.leak.front(), {}};
  for (const FindingNode::Link& link : node.links) result.silent.push_back({link.cause, 1 - link.reach.front()});
  return CheckOption{finding->id, 0, {std::move(result)}};
}

}  // namespace

double cost_of(const Check& check, const Costs& costs, const Setup& setup) {
  return check.minutes + minutes_to(setup, {check.power, check.opens}, costs.setup) + risk(check.skill, costs);
}

double cost_of(const Repair& repair, const Costs& costs, const Setup& setup) {
  const Needs needs{repair.power, repair.opens};
  const double parts = (repair.parts_least + repair.parts_most) / 2 * costs.minutes_per_dollar;
  return repair.minutes + minutes_to(setup, needs, costs.setup) + minutes_to_retest(needs, costs.setup) + parts +
         risk(repair.skill, costs);
}

Offer offer_checks(const Belief& belief, const Observations& observations, const std::vector<std::string>& declined) {
  const Network& network = *belief.network;
  const DecidedFindings decided = decided_findings(network.catalogue(), observations);
  Offer offer;
  for (const Check& check : network.catalogue().items().checks) {
    if (!network.applies(check) || is_declined(check.id, declined)) continue;
    if (std::ranges::any_of(check.only_when, [&](const auto& id) { return decided.no.contains(id); })) continue;
    if (std::ranges::any_of(check.not_when, [&](const auto& id) { return decided.yes.contains(id); })) continue;
    CheckOption option{check.id, 0, {}};
    for (const auto& result : check.results)
      if (!is_decided(check, result, observations, decided))
        option.results.push_back(result_option(network, check, result));
    if (option.results.empty()) continue;
    offer.checks.push_back(&check);
    offer.options.push_back(std::move(option));
  }
  return offer;
}

Offer bearing_checks(const Offer& all, const std::vector<double>& chance, double least) {
  Offer bearing;
  for (std::size_t i = 0; i < all.checks.size(); ++i)
    if (relevance(all.options[i], chance) >= least) {
      bearing.checks.push_back(all.checks[i]);
      bearing.options.push_back(all.options[i]);
    }
  return bearing;
}

RepairOffer offer_repairs(const Belief& belief, const std::vector<Gate>& gates, const Observations& observations,
                          const std::vector<std::string>& declined) {
  const Network& network = *belief.network;
  std::vector<CheckOption> done;
  for (const auto& outcome : observations.outcomes)
    done.push_back(whole_option(network, *network.catalogue().check(outcome.check)));
  std::vector<CheckOption> told;
  for (const belief::Item& item : belief.evidence.items)
    if (auto inspection = told_inspection(network, item)) told.push_back(std::move(*inspection));
  RepairOffer offer;
  for (const Repair& repair : network.catalogue().items().repairs) {
    if (!network.applies(repair) || !allowed(repair, gates) || is_declined(repair.id, declined)) continue;
    RepairOption option{repair.id, 0, {}};
    const double worth = was_done(repair, observations) ? belief::kOnceMore : 1;
    for (const auto& cure : repair.cures)
      if (const auto at = network.index(cure.cause))
        option.cures.push_back({*at, cure.chance.in(network.family()) * worth});
    if (option.cures.empty()) continue;
    offer.repairs.push_back(&repair);
    const auto inspections = [&](const CheckOption& check) { return is_inspection(check, option, belief.posterior); };
    using Looked = RepairOffer::Looked;
    offer.looked.push_back(std::ranges::any_of(done, inspections)   ? Looked::checked
                           : std::ranges::any_of(told, inspections) ? Looked::told
                                                                    : Looked::no);
    offer.of_method.push_back(of_method(repair, network.catalogue()));
    offer.options.push_back(std::move(option));
  }
  return offer;
}

void set_costs(Offer& checks, RepairOffer& repairs, const Costs& costs, const Setup& setup) {
  for (std::size_t i = 0; i < checks.checks.size(); ++i)
    checks.options[i].cost = cost_of(*checks.checks[i], costs, setup);
  for (std::size_t i = 0; i < repairs.repairs.size(); ++i)
    repairs.options[i].cost = cost_of(*repairs.repairs[i], costs, setup);
  constexpr double kToldFor = 1.5;  // what was told will do for an inspection, but not for the dearest repairs
  for (std::size_t i = 0; i < repairs.repairs.size(); ++i) {
    RepairOption& option = repairs.options[i];
    const bool much = repairs.repairs[i]->opens >= catalogue::Opens::motor || option.cost > costs.inspect_first;
    const bool told = repairs.looked[i] == RepairOffer::Looked::told && option.cost <= kToldFor * costs.inspect_first;
    const bool guess = much || repairs.of_method[i];
    option.inspect_first = guess && !told && repairs.looked[i] != RepairOffer::Looked::checked;
  }
}

}  // namespace wheeltapper::plan
