#include "engine/plan/screening.hpp"

#include <algorithm>
#include <functional>

#include "engine/plan/inspection.hpp"

namespace wheeltapper::plan {
namespace {

/// Room for the screening, reused from check to check.
struct Rough {
  OneCause now, quiet, loud;
  std::vector<double> ratio, cost;  // by repair
  std::vector<std::size_t> order;
};

/// Bayes for one cause at a time, to `quiet`. Returns the chance of silence.
double silenced(const OneCause& belief, const ResultOption& result, OneCause& quiet) {
  quiet.resize(belief.size());
  for (std::size_t i = 0; i < belief.size(); ++i) quiet[i] = belief[i] * result.silent_alone;
  double less = 0;
  for (const auto& each : result.silent) {
    less += quiet[each.cause] * (1 - each.factor);
    quiet[each.cause] *= each.factor;
  }
  // An unlisted cause, the rest to 1, brings no result about.
  return result.silent_alone - less;
}

/// Puts a repair into the order by its ratio. One with an inspection stands in for the same repair without it, or not
/// at all; a full order gives up its last.
void put_in_order(std::size_t r, const std::vector<RepairOption>& repairs, std::size_t longest, Rough& rough) {
  const auto& ratio = rough.ratio;
  if (const auto& inspection = repairs[r].inspection) {
    const auto same = std::ranges::find(rough.order, inspection->repair);
    if (same != rough.order.end()) {
      if (ratio[r] <= ratio[*same]) return;
      rough.order.erase(same);
    }
  }
  if (rough.order.size() == longest) {
    if (ratio[r] <= ratio[rough.order.back()]) return;
    rough.order.pop_back();
  }
  const auto at = std::ranges::upper_bound(rough.order, ratio[r], std::greater<>(),
                                           [&](std::size_t other) { return ratio[other]; });
  rough.order.insert(at, r);
}

/// The best repairs by chance per minute, each once, to rough.order, as many as a sequence may hold; rough.ratio by
/// repair.
void pick_repairs(const OneCause& belief, const std::vector<RepairOption>& repairs, const PlanSettings& settings,
                  Rough& rough) {
  rough.ratio.resize(repairs.size());
  rough.cost.resize(repairs.size());
  rough.order.clear();
  if (settings.longest == 0) return;
  for (std::size_t r = 0; r < repairs.size(); ++r) {
    double chance = 0;
    for (const auto& cure : repairs[r].cures) chance += belief[cure.cause] * cure.chance;
    rough.cost[r] = expected_cost(repairs[r], belief);
    rough.ratio[r] = chance / rough.cost[r];
    // Worth doing while its chance times the cost of handing on is more than it costs.
    if (chance * settings.refer_cost > rough.cost[r]) put_in_order(r, repairs, settings.longest, rough);
  }
}

/// Cost of the sequence picked.
double rough_cost(const OneCause& belief, const std::vector<RepairOption>& repairs, const PlanSettings& settings,
                  Rough& rough) {
  pick_repairs(belief, repairs, settings, rough);
  double failing = 1;
  double cost = 0;
  for (const std::size_t r : rough.order) {
    cost += failing * rough.cost[r];
    failing = std::max(0.0, failing - rough.ratio[r] * rough.cost[r]);
  }
  return cost + failing * settings.refer_cost;
}

/// The value of a check, one cause at a time.
CheckValue rough_value(std::size_t index, const OneCause& belief, const CheckOption& check,
                       const std::vector<RepairOption>& repairs, const PlanSettings& settings, Rough& rough) {
  CheckValue value{index, check.cost, 0, 0, {}};
  rough.now = belief;
  double chance = 1;
  for (const ResultOption& result : check.results) {
    const double silent = silenced(rough.now, result, rough.quiet);
    const double seen = 1 - silent;
    if (seen > kTiny) {
      rough.loud.resize(rough.now.size());
      for (std::size_t i = 0; i < rough.loud.size(); ++i)
        rough.loud[i] = std::max(0.0, rough.now[i] - rough.quiet[i]) / seen;
      value.cost += chance * seen * rough_cost(rough.loud, repairs, settings, rough);
    }
    value.outcome.push_back(chance * seen);
    value.found += chance * seen;
    chance *= silent;
    for (double& w : rough.quiet) w /= std::max(kTiny, silent);
    std::swap(rough.now, rough.quiet);
  }
  value.outcome.push_back(chance);
  value.cost += chance * rough_cost(rough.now, repairs, settings, rough);
  return value;
}

}  // namespace

OneCause one_cause(const std::vector<double>& posterior, double none_present) {
  double sum = 0;
  for (const double p : posterior) sum += p;
  OneCause belief(posterior);
  for (double& w : belief) w *= sum > 0 ? (1 - none_present) / sum : 0;
  return belief;
}

Sequence rough_sequence(const OneCause& belief, const std::vector<RepairOption>& repairs,
                        const PlanSettings& settings) {
  Rough rough;
  pick_repairs(belief, repairs, settings, rough);
  Sequence sequence;
  for (const std::size_t r : rough.order) {
    sequence.failing_before.push_back(sequence.failing_after);
    sequence.repairs.push_back(r);
    sequence.cost += sequence.failing_after * rough.cost[r];
    sequence.failing_after = std::max(0.0, sequence.failing_after - rough.ratio[r] * rough.cost[r]);
  }
  sequence.cost += sequence.failing_after * settings.refer_cost;
  return sequence;
}

OneCause after_nothing(const OneCause& belief, const CheckOption& check) {
  OneCause now = belief;
  OneCause quiet;
  for (const ResultOption& result : check.results) {
    const double silent = silenced(now, result, quiet);
    for (double& w : quiet) w /= std::max(kTiny, silent);
    std::swap(now, quiet);
  }
  return now;
}

OneCause after_failing(const OneCause& belief, const RepairOption& repair) {
  OneCause now = belief;
  double failing = 1;
  for (const auto& cure : repair.cures) {
    failing -= now[cure.cause] * cure.chance;
    now[cure.cause] *= 1 - cure.chance;
  }
  for (double& w : now) w /= std::max(kTiny, failing);
  return now;
}

std::vector<CheckValue> screen(const OneCause& belief, const std::vector<CheckOption>& checks,
                               const std::vector<RepairOption>& repairs, const PlanSettings& settings) {
  std::vector<CheckValue> values;
  values.reserve(checks.size());
  Rough rough;
  for (std::size_t c = 0; c < checks.size(); ++c)
    values.push_back(rough_value(c, belief, checks[c], repairs, settings, rough));
  rank(values, checks, rough_sequence(belief, repairs, settings).cost);
  return values;
}

void rank(std::vector<CheckValue>& values, const std::vector<CheckOption>& checks, double repair_only) {
  for (CheckValue& value : values) {
    const double own = checks[value.check].cost;
    value.saving = (repair_only - (value.cost - own)) / own;
  }
  std::ranges::stable_sort(values, std::greater<>(), &CheckValue::saving);
}

}  // namespace wheeltapper::plan
