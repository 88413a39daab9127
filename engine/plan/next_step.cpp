#include "engine/plan/next_step.hpp"

#include <algorithm>

#include "engine/plan/inspection.hpp"
#include "engine/plan/look_ahead.hpp"
#include "engine/plan/screening.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Trellis;

/// Which of the checks that lower `cost` to do: see NextStep::check. `values` lie with the one most worth its minutes
/// first.
std::optional<std::size_t> first_to_do(const std::vector<CheckValue>& values, const std::vector<CheckOption>& checks,
                                       const OneCause& belief, double cost, const PlanSettings& settings) {
  std::vector<double> bears;
  double most = 0;
  for (const CheckValue& each : values) {
    const bool pays = each.cost < cost * (1 - settings.pays_from) - kTiny;
    bears.push_back(pays ? relevance(checks[each.check], belief) : -1);
    most = std::max(most, bears.back());
  }
  for (std::size_t i = 0; i < values.size(); ++i)
    if (bears[i] >= 0 && bears[i] >= settings.bears_beside * most) return i;
  return std::nullopt;
}

}  // namespace

NextStep next_step(const Trellis& trellis, const std::vector<CheckOption>& checks,
                   const std::vector<RepairOption>& repairs, const PlanSettings& settings) {
  NextStep next;
  const OneCause rough = one_cause(trellis.current_posterior(), trellis.none_present());
  const auto looked = with_inspections(repairs, checks, rough);
  next.repairs = best_sequence(trellis, repairs, settings);
  next.looked = best_sequence(trellis, looked, settings);
  if (next.repairs.cost <= next.looked.cost)
    next.looked = next.repairs;  // the search need not find it among the inspections
  next.cost = next.looked.cost;
  auto screened = screen(rough, checks, looked, settings);
  if (screened.size() > settings.looked_at) screened.resize(settings.looked_at);
  const LookAhead look_ahead(trellis, repairs, looked, settings);
  for (const CheckValue& each : screened) next.checks.push_back(look_ahead.value(each.check, checks[each.check]));
  rank(next.checks, checks, next.looked.cost);
  if (const auto first = first_to_do(next.checks, checks, rough, next.cost, settings)) {
    const auto at = next.checks.begin() + static_cast<std::ptrdiff_t>(*first);
    std::rotate(next.checks.begin(), at, at + 1);
    next.check = next.checks.front().check;
    next.cost = next.checks.front().cost;
  } else if (!next.looked.repairs.empty()) {
    next.check = inspection_before(looked[next.looked.repairs.front()], checks, rough);
  }
  return next;
}

}  // namespace wheeltapper::plan
