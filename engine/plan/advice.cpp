#include "engine/plan/advice.hpp"

#include <algorithm>
#include <cmath>

namespace wheeltapper::plan {
namespace {

using belief::Belief;
using belief::Network;
using belief::Observations;
using belief::Sign;
using catalogue::Check;
using catalogue::Power;
using catalogue::Repair;
using catalogue::Skill;

double risk(catalogue::Opens opens, Skill skill, const Costs& costs) {
  return costs.opens[static_cast<std::size_t>(opens)] + (skill > costs.skill ? costs.beyond_skill : 0);
}

/// The chance that a result stays away, from its sign.
ResultOption result_option(const Network& network, const Check& check, const catalogue::Result& result) {
  Sign sign;
  if (result.finding.empty()) {
    sign = network.sign_of(check, result);
  } else {
    const auto& finding = *network.catalogue().finding(result.finding);
    sign = belief::answered(network.sign_of(finding), std::nullopt, finding.false_yes * 0.5, finding.false_no * 0.5);
  }
  ResultOption option{result.id, 1 - sign.leak[0], {}};
  for (const Sign::Link& link : sign.links) option.silent.push_back({link.cause, 1 - link.reach[0]});
  return option;
}

bool is_known(const Check& check, const catalogue::Result& result, const Belief& belief) {
  const std::string own = check.id + "/" + result.id;
  return std::ranges::any_of(belief.evidence.items, [&](const belief::Item& item) {
    return item.id == own || (!result.finding.empty() && item.id == result.finding);
  });
}

/// The checks that may be done and still tell something.
struct Offer {
  std::vector<const Check*> checks;
  std::vector<CheckOption> options;
};

Offer offer_checks(const Belief& belief, const Observations& observations) {
  const Network& network = *belief.network;
  Offer offer;
  for (const Check& check : network.catalogue().items().checks) {
    if (!network.applies(check)) continue;
    if (std::ranges::any_of(observations.outcomes, [&](const auto& o) { return o.check == check.id; })) continue;
    CheckOption option{check.id, 0, {}};
    for (const auto& result : check.results)
      if (!is_known(check, result, belief)) option.results.push_back(result_option(network, check, result));
    if (option.results.empty()) continue;
    offer.checks.push_back(&check);
    offer.options.push_back(std::move(option));
  }
  return offer;
}

struct RepairOffer {
  std::vector<const Repair*> repairs;
  std::vector<RepairOption> options;
};

RepairOffer offer_repairs(const Network& network, const std::vector<Gate>& gates) {
  RepairOffer offer;
  for (const Repair& repair : network.catalogue().items().repairs) {
    if (!network.applies(repair) || !allowed(repair, gates)) continue;
    RepairOption option{repair.id, 0, {}};
    for (const auto& cure : repair.cures)
      if (const auto at = network.index(cure.cause)) option.cures.push_back({*at, cure.chance});
    if (option.cures.empty()) continue;
    offer.repairs.push_back(&repair);
    offer.options.push_back(std::move(option));
  }
  return offer;
}

void set_costs(Offer& checks, RepairOffer& repairs, const Costs& costs, bool plugged_in) {
  for (std::size_t i = 0; i < checks.checks.size(); ++i)
    checks.options[i].cost = cost_of(*checks.checks[i], costs, plugged_in);
  for (std::size_t i = 0; i < repairs.repairs.size(); ++i)
    repairs.options[i].cost = cost_of(*repairs.repairs[i], costs, plugged_in);
}

BenchStep step_of(const Check& check, double found, bool plugged_in) {
  const bool changes = plugged_in ? check.power != Power::live : check.power == Power::live;
  return {&check, nullptr, check.minutes, found, changes};
}

double ends_if_done(const RepairOption& option, const OneCause& belief) {
  double ends = 0;
  for (const auto& cure : option.cures) ends += belief[cure.cause] * cure.chance;
  return ends;
}

bool plugged_after(const BenchStep& step) {
  // A repair ends with a retest under power; a check that ends live leaves the plug in.
  return step.repair != nullptr || step.check->power != Power::unplugged;
}

/// Takes what was done out of what is offered, and out of the belief.
void carry_on(const BenchStep& step, Offer& checks, RepairOffer& repairs, OneCause& belief) {
  if (step.check != nullptr) {
    const auto at = static_cast<std::size_t>(std::ranges::find(checks.checks, step.check) - checks.checks.begin());
    belief = after_nothing(belief, checks.options[at]);
    checks.checks.erase(checks.checks.begin() + static_cast<std::ptrdiff_t>(at));
    checks.options.erase(checks.options.begin() + static_cast<std::ptrdiff_t>(at));
    return;
  }
  const auto at = static_cast<std::size_t>(std::ranges::find(repairs.repairs, step.repair) - repairs.repairs.begin());
  belief = after_failing(belief, repairs.options[at]);
  repairs.repairs.erase(repairs.repairs.begin() + static_cast<std::ptrdiff_t>(at));
  repairs.options.erase(repairs.options.begin() + static_cast<std::ptrdiff_t>(at));
}

/// The next line of the list, by the screening.
std::optional<BenchStep> rough_next(const OneCause& belief, const Offer& checks,
                                    const RepairOffer& repairs, const AdviceSettings& settings, bool plugged_in) {
  const Sequence sequence = rough_sequence(belief, repairs.options, settings.plan);
  const auto values = screen(belief, checks.options, repairs.options, settings.plan);
  if (!values.empty() && values.front().cost < sequence.cost)
    return step_of(*checks.checks[values.front().check], values.front().found, plugged_in);
  if (sequence.repairs.empty()) return std::nullopt;
  const std::size_t first = sequence.repairs.front();
  return BenchStep{nullptr, repairs.repairs[first], repairs.repairs[first]->minutes,
                   ends_if_done(repairs.options[first], belief), plugged_in};
}

void fill_list(Advice& advice, Offer checks, RepairOffer repairs, OneCause belief,
               const AdviceSettings& settings) {
  constexpr double kWorthALine = 0.02;  // chance below which a step is not printed
  std::optional<BenchStep> step = advice.next;
  bool plugged_in = false;
  while (step && advice.list.size() < settings.longest_list) {
    if (advice.list.size() > 1 && step->chance < kWorthALine) break;
    advice.list.push_back(*step);
    plugged_in = plugged_after(*step);
    carry_on(*step, checks, repairs, belief);
    set_costs(checks, repairs, settings.costs, plugged_in);
    step = rough_next(belief, checks, repairs, settings, plugged_in);
  }
}

/// Takes the checks out that a gate withholds, and names those of them that promised most.
void withhold(Advice& advice, Offer& checks, const OneCause& belief, const RepairOffer& repairs,
              const PlanSettings& settings) {
  if (held(advice.gates) == Held::no) return;
  constexpr std::size_t kNamed = 3;
  for (const CheckValue& value : screen(belief, checks.options, repairs.options, settings)) {
    const Check* check = checks.checks[value.check];
    if (!allowed(*check, advice.gates) && advice.withheld.size() < kNamed) advice.withheld.push_back(check);
  }
  for (std::size_t i = checks.checks.size(); i-- > 0;)
    if (!allowed(*checks.checks[i], advice.gates)) {
      checks.checks.erase(checks.checks.begin() + static_cast<std::ptrdiff_t>(i));
      checks.options.erase(checks.options.begin() + static_cast<std::ptrdiff_t>(i));
    }
}

/// A check that clears a gate comes before all others: nothing powered can be done until then.
const Check* clearing(const Offer& checks, const std::vector<Gate>& gates) {
  for (const Gate& gate : gates)
    if (!gate.cleared)
      for (const std::string& id : gate.rule->until) {
        const auto found = std::ranges::find(checks.checks, id, [](const Check* c) { return c->id; });
        if (found != checks.checks.end()) return *found;
      }
  return nullptr;
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

Advice advise(const Belief& belief, const Observations& observations, const AdviceSettings& settings) {
  Advice advice;
  advice.gates = gates(belief.network->catalogue(), observations);
  Offer checks = offer_checks(belief, observations);
  RepairOffer repairs = offer_repairs(*belief.network, advice.gates);
  constexpr bool kPluggedIn = false;  // a bench starts with the plug out
  set_costs(checks, repairs, settings.costs, kPluggedIn);
  const OneCause rough = one_cause(belief.posterior, belief.none_present);
  withhold(advice, checks, rough, repairs, settings.plan);

  const NextStep next = next_step(*belief.trellis, checks.options, repairs.options, settings.plan);
  advice.expected_minutes = next.cost;
  advice.repair_only_minutes = next.repairs.cost;
  for (const std::size_t r : next.repairs.repairs) advice.repairs.push_back(repairs.repairs[r]);
  if (const Check* clear = clearing(checks, advice.gates)) {
    const auto at = static_cast<std::size_t>(std::ranges::find(checks.checks, clear) - checks.checks.begin());
    const auto value = screen(rough, {checks.options[at]}, repairs.options, settings.plan).front();
    advice.next = step_of(*clear, value.found, kPluggedIn);
  } else if (held(advice.gates) == Held::everything) {
    return advice;
  } else if (next.check) {
    advice.next = step_of(*checks.checks[*next.check], next.checks.front().found, kPluggedIn);
  } else if (!next.repairs.repairs.empty()) {
    const std::size_t first = next.repairs.repairs.front();
    advice.next = BenchStep{nullptr, repairs.repairs[first], repairs.repairs[first]->minutes,
                            ends_if_done(repairs.options[first], rough), kPluggedIn};
  }
  fill_list(advice, checks, repairs, rough, settings);
  return advice;
}

}  // namespace wheeltapper::plan
