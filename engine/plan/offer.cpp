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

double risk(catalogue::Opens opens, Skill skill, const Costs& costs) {
  return costs.opens[static_cast<std::size_t>(opens)] + (skill > costs.skill ? costs.beyond_skill : 0);
}

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

bool is_decided(const Check& check, const catalogue::Result& result, const Belief& belief,
                const DecidedFindings& decided) {
  if (decided.has(result.finding)) return true;
  const std::string own = check.id + "/" + result.id;
  return std::ranges::any_of(belief.evidence.items, [&](const belief::Item& item) { return item.id == own; });
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

double cost_of(const Check& check, const Costs& costs, bool plugged_in) {
  const int changes = (plugged_in ? check.power != Power::live : check.power == Power::live) +
                      (check.power == Power::unplugged_then_live ? 1 : 0);
  return check.minutes + changes * costs.power_change + risk(check.opens, check.skill, costs);
}

double cost_of(const Repair& repair, const Costs& costs, bool plugged_in) {
  // Unplugged for the work, plugged in for the retest.
  const double changes = (plugged_in ? 2 : 1) * costs.power_change;
  const double parts = (repair.parts_least + repair.parts_most) / 2 * costs.minutes_per_dollar;
  return repair.minutes + changes + parts + risk(repair.opens, repair.skill, costs);
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
      if (!is_decided(check, result, belief, decided)) option.results.push_back(result_option(network, check, result));
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
    for (const auto& cure : repair.cures)
      if (const auto at = network.index(cure.cause)) option.cures.push_back({*at, cure.chance.in(network.family())});
    if (option.cures.empty()) continue;
    offer.repairs.push_back(&repair);
    const auto inspections = [&](const CheckOption& check) { return is_inspection(check, option, belief.posterior); };
    using Looked = RepairOffer::Looked;
    offer.looked.push_back(std::ranges::any_of(done, inspections)   ? Looked::checked
                           : std::ranges::any_of(told, inspections) ? Looked::told
                                                                    : Looked::no);
    offer.options.push_back(std::move(option));
  }
  return offer;
}

void set_costs(Offer& checks, RepairOffer& repairs, const Costs& costs, bool plugged_in) {
  for (std::size_t i = 0; i < checks.checks.size(); ++i)
    checks.options[i].cost = cost_of(*checks.checks[i], costs, plugged_in);
  for (std::size_t i = 0; i < repairs.repairs.size(); ++i)
    repairs.options[i].cost = cost_of(*repairs.repairs[i], costs, plugged_in);
  constexpr double kToldFor = 1.5;  // what was told will do for an inspection, but not for the dearest repairs
  for (std::size_t i = 0; i < repairs.repairs.size(); ++i) {
    RepairOption& option = repairs.options[i];
    const bool much = repairs.repairs[i]->opens >= catalogue::Opens::motor || option.cost > costs.inspect_first;
    const bool told = repairs.looked[i] == RepairOffer::Looked::told && option.cost <= kToldFor * costs.inspect_first;
    option.inspect_first = much && !told && repairs.looked[i] != RepairOffer::Looked::checked;
  }
}

}  // namespace wheeltapper::plan
