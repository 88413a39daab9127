#include "engine/plan/advice.hpp"

#include <algorithm>
#include <cmath>
#include <span>

#include "engine/plan/inspection.hpp"
#include "engine/plan/offer.hpp"
#include "engine/plan/screening.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Belief;
using belief::Observations;
using catalogue::Check;
using catalogue::Power;
using catalogue::Repair;
using catalogue::Skill;

BenchStep step_of(const Check& check, double found, bool plugged_in) {
  const bool changes = plugged_in ? check.power != Power::live : check.power == Power::live;
  return {&check, nullptr, check.minutes, found, changes};
}

double ends_if_done(const RepairOption& option, const OneCause& belief) {
  double ends = 0;
  for (const auto& cure : option.cures) ends += belief[cure.cause] * cure.chance;
  return ends;
}

/// Chance that it removes at least one cause that is there, as if causes were independent.
double removes_something(const RepairOption& option, const std::vector<double>& posterior) {
  double nothing = 1;
  for (const auto& cure : option.cures) nothing *= 1 - posterior[cure.cause] * cure.chance;
  return 1 - nothing;
}

Setup setup_after(const BenchStep& step, const Setup& setup) {
  if (step.repair != nullptr) return after_repair(setup, {step.repair->power, step.repair->opens});
  return after_check(setup, {step.check->power, step.check->opens});
}

/// Takes what was done out of what is offered, and out of the belief.
void carry_on(const BenchStep& step, Offer& checks, RepairOffer& repairs, OneCause& belief) {
  if (step.check != nullptr) {
    const auto at = static_cast<std::size_t>(std::ranges::find(checks.checks, step.check) - checks.checks.begin());
    for (std::size_t r = 0; r < repairs.options.size(); ++r)
      if (is_inspection(checks.options[at], repairs.options[r], belief))
        repairs.looked[r] = RepairOffer::Looked::checked;
    belief = after_nothing(belief, checks.options[at]);
    checks.checks.erase(checks.checks.begin() + static_cast<std::ptrdiff_t>(at));
    checks.options.erase(checks.options.begin() + static_cast<std::ptrdiff_t>(at));
    return;
  }
  const auto at = static_cast<std::size_t>(std::ranges::find(repairs.repairs, step.repair) - repairs.repairs.begin());
  belief = after_failing(belief, repairs.options[at]);
  repairs.repairs.erase(repairs.repairs.begin() + static_cast<std::ptrdiff_t>(at));
  repairs.options.erase(repairs.options.begin() + static_cast<std::ptrdiff_t>(at));
  repairs.looked.erase(repairs.looked.begin() + static_cast<std::ptrdiff_t>(at));
  repairs.of_method.erase(repairs.of_method.begin() + static_cast<std::ptrdiff_t>(at));
}

BenchStep check_step(const Offer& checks, std::size_t at, const OneCause& belief, const RepairOffer& repairs,
                     const PlanSettings& settings, bool plugged_in) {
  const auto value = screen(belief, {checks.options[at]}, repairs.options, settings).front();
  return step_of(*checks.checks[at], value.found, plugged_in);
}

BenchStep repair_step(const RepairOffer& repairs, std::size_t at, const OneCause& belief, bool plugged_in) {
  return {nullptr, repairs.repairs[at], repairs.repairs[at]->minutes, ends_if_done(repairs.options[at], belief),
          plugged_in};
}

/// The next line of the list, by the screening. `gentle_first`: of the checks that pay, one without power and opening
/// nothing comes before the others.
std::optional<BenchStep> rough_next(const OneCause& belief, const Offer& checks, const RepairOffer& repairs,
                                    const AdviceSettings& settings, bool plugged_in, bool gentle_first) {
  const auto looked = with_inspections(repairs.options, checks.options, belief);
  const Sequence sequence = rough_sequence(belief, looked, settings.plan);
  const auto values = screen(belief, checks.options, looked, settings.plan);
  const auto bears = [&](const CheckValue& value) {
    return value.cost < sequence.cost && relevance(checks.options[value.check], belief) >= settings.bearing;
  };
  auto best = std::ranges::find_if(values, bears);
  if (gentle_first) {
    const auto gentle = std::ranges::find_if(values, [&](const CheckValue& value) {
      const Check& check = *checks.checks[value.check];
      return check.power == Power::unplugged && check.opens == catalogue::Opens::nothing && bears(value);
    });
    if (gentle != values.end()) best = gentle;
  }
  if (best != values.end()) return step_of(*checks.checks[best->check], best->found, plugged_in);
  for (const std::size_t r : sequence.repairs) {
    const std::size_t repair = looked[r].inspection ? looked[r].inspection->repair : r;
    const auto inspection = inspection_before(looked[r], checks.options, belief);
    if (inspection && relevance(checks.options[*inspection], belief) >= settings.bearing)
      return check_step(checks, *inspection, belief, repairs, settings.plan, plugged_in);
    if (ends_if_done(repairs.options[repair], belief) >= settings.bearing / 2)
      return repair_step(repairs, repair, belief, plugged_in);
  }
  return std::nullopt;
}

/// The plain rule: the look or repair with most chance per minute to lead to something. Nothing only where nothing that
/// is left promises anything at all.
std::optional<BenchStep> plain_step(const Offer& checks, const RepairOffer& repairs, const OneCause& belief,
                                    bool plugged_in) {
  std::optional<BenchStep> best;
  double most = kTiny;
  for (std::size_t i = 0; i < checks.options.size(); ++i) {
    const double shows = relevance(checks.options[i], belief);
    if (shows / checks.options[i].cost <= most) continue;
    most = shows / checks.options[i].cost;
    best = step_of(*checks.checks[i], shows, plugged_in);
  }
  for (std::size_t i = 0; i < repairs.options.size(); ++i) {
    const double ends = ends_if_done(repairs.options[i], belief);
    if (ends / repairs.options[i].cost <= most) continue;
    most = ends / repairs.options[i].cost;
    best = repair_step(repairs, i, belief, plugged_in);
  }
  return best;
}

bool clears(const std::vector<Gate>& gates, const Check* check) {
  return check != nullptr && waits_for(gates, check->id);
}

/// Takes out the checks that are worth least: they rarely rise to the top while a list is written.
void keep_best(Offer& checks, const OneCause& belief, const RepairOffer& repairs, const std::vector<Gate>& gates,
               const PlanSettings& settings) {
  constexpr std::size_t kKept = 40;
  const auto values = screen(belief, checks.options, repairs.options, settings);
  Offer best;
  for (const CheckValue& value : values) {
    if (best.checks.size() >= kKept && !clears(gates, checks.checks[value.check])) continue;
    best.checks.push_back(checks.checks[value.check]);
    best.options.push_back(std::move(checks.options[value.check]));
  }
  checks = std::move(best);
}

using catalogue::Opens;

/// A check that clears a gate, if it opens no more than `most`. Nothing powered can be done until then, so those that
/// open little come before all others; those that open much wait until nothing gentler is left to do.
const Check* clearing(const Offer& checks, const std::vector<Gate>& gates, Opens most) {
  for (const Gate& gate : gates)
    if (!gate.cleared)
      for (const std::string& id : gate.left) {
        const auto found = std::ranges::find(checks.checks, id, [](const Check* c) { return c->id; });
        if (found != checks.checks.end() && (*found)->opens <= most) return *found;
      }
  return nullptr;
}

std::optional<BenchStep> clearing_step(const Advice& advice, const Offer& checks, const OneCause& belief,
                                       const RepairOffer& repairs, const PlanSettings& settings, bool plugged_in,
                                       Opens most) {
  const Check* clear = clearing(checks, advice.gates, most);
  if (clear == nullptr) return std::nullopt;
  const auto at = static_cast<std::size_t>(std::ranges::find(checks.checks, clear) - checks.checks.begin());
  return check_step(checks, at, belief, repairs, settings, plugged_in);
}

/// The line after the first: what clears a gate, what the screening says, and before any repair, which ends under
/// power, all that still clears a gate.
std::optional<BenchStep> next_line(const Advice& advice, const Offer& checks, const OneCause& belief,
                                   const RepairOffer& repairs, const AdviceSettings& settings, bool plugged_in) {
  const auto clears = [&](Opens most) {
    return clearing_step(advice, checks, belief, repairs, settings.plan, plugged_in, most);
  };
  if (auto step = clears(Opens::cover)) return step;
  if (withheld(advice.gates) >= Withheld::everything) return clears(Opens::press);
  constexpr std::size_t kGentleLines = 3;
  auto step = rough_next(belief, checks, repairs, settings, plugged_in, advice.list.size() < kGentleLines);
  if (!step || step->repair != nullptr)
    if (auto clear = clears(Opens::press)) return clear;
  return step;
}

void fill_list(Advice& advice, Offer checks, RepairOffer repairs, OneCause belief, const AdviceSettings& settings) {
  constexpr double kWorthALine = 0.02;  // chance below which a step is not printed
  std::optional<BenchStep> step = advice.next;
  Setup setup = settings.setup;
  while (step && advice.list.size() < settings.longest_list) {
    advice.list.push_back(*step);
    setup = setup_after(*step, setup);
    carry_on(*step, checks, repairs, belief);
    set_costs(checks, repairs, settings.costs, setup);
    if (advice.list.size() == 1) keep_best(checks, belief, repairs, advice.gates, settings.plan);
    step = next_line(advice, checks, belief, repairs, settings, setup.plugged_in);
    if (step && step->chance < kWorthALine && !clears(advice.gates, step->check)) break;
  }
}

/// Takes the checks out that a gate withholds, and names those of them that promised most.
void withhold(Advice& advice, Offer& checks, const OneCause& belief, const RepairOffer& repairs,
              const PlanSettings& settings) {
  if (withheld(advice.gates) == Withheld::no) return;
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

}  // namespace

Advice advise(const Belief& belief, const Observations& observations, const AdviceSettings& settings) {
  Advice advice;
  advice.gates = gates(belief.network->catalogue(), observations);
  Offer checks = offer_checks(belief, observations, settings.declined);
  RepairOffer repairs = offer_repairs(belief, advice.gates, observations, settings.declined);
  const bool plugged_in = settings.setup.plugged_in;
  set_costs(checks, repairs, settings.costs, settings.setup);
  const OneCause rough = one_cause(belief.posterior, belief.none_present);
  withhold(advice, checks, rough, repairs, settings.plan);

  const Offer bearing = bearing_checks(checks, belief.posterior, settings.bearing);
  const NextStep next = next_step(*belief.trellis, bearing.options, repairs.options, settings.plan);
  advice.expected_minutes = next.cost;
  advice.repair_only_minutes = next.repairs.cost;
  for (const std::size_t r : next.repairs.repairs) advice.repairs.push_back(repairs.repairs[r]);
  advice.next = clearing_step(advice, checks, rough, repairs, settings.plan, plugged_in,
                              withheld(advice.gates) >= Withheld::everything ? Opens::press : Opens::cover);
  if (advice.next) {
    fill_list(advice, checks, repairs, rough, settings);
    return advice;
  }
  if (withheld(advice.gates) >= Withheld::everything) return advice;
  if (next.check) {
    advice.next = check_step(bearing, *next.check, rough, repairs, settings.plan, plugged_in);
  } else if (!next.looked.repairs.empty()) {
    const std::size_t first = next.looked.repairs.front();
    advice.next = repair_step(repairs, first, rough, plugged_in);
    advice.next->chance = removes_something(repairs.options[first], belief.posterior);
  }
  // What still clears a gate comes before any repair, which ends under power, and before giving up.
  if (!advice.next || advice.next->repair != nullptr)
    if (auto clear = clearing_step(advice, checks, rough, repairs, settings.plan, plugged_in, Opens::press))
      advice.next = std::move(clear);
  advice.hand_on = !advice.next;
  if (!advice.next) advice.next = plain_step(checks, repairs, rough, plugged_in);
  fill_list(advice, checks, repairs, rough, settings);
  return advice;
}

}  // namespace wheeltapper::plan
