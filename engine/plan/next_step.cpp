#include "engine/plan/next_step.hpp"

#include <algorithm>
#include <cmath>

#include "engine/plan/inspection.hpp"
#include "engine/plan/order.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Trellis;

constexpr double kTiny = 1e-9;

/// Adds a repair to the chances that causes are cured. A cause that no repair reaches keeps 0: under the hypothesis "no
/// cause left" a present cause has the chance of its cure as weight.
void allow(std::vector<double>& factor, const RepairOption& repair) {
  for (const auto& cure : repair.cures) factor[cure.cause] = 1 - (1 - factor[cure.cause]) * (1 - cure.chance);
}

/// Chance of ending something for a minute, as if causes were independent.
double chance_per_minute(const RepairOption& repair, const std::vector<double>& left) {
  double nothing = 1;
  for (const auto& cure : repair.cures) nothing *= 1 - left[cure.cause] * cure.chance;
  return 1 - nothing < kTiny ? 0 : (1 - nothing) / expected_cost(repair, left);
}

/// The repairs worth a place in a sequence: always the one with the most chance for a minute next, given that those
/// before it did not help. Only those are in question that are best at first: what did not help leaves less for all.
std::vector<std::size_t> candidates(const std::vector<double>& posterior, const std::vector<RepairOption>& repairs,
                                    const PlanSettings& settings) {
  constexpr std::size_t kInQuestion = 4;  // for each place
  std::vector<std::pair<double, std::size_t>> best;
  for (std::size_t r = 0; r < repairs.size(); ++r)
    if (const double ratio = chance_per_minute(repairs[r], posterior); ratio > 0) best.emplace_back(-ratio, r);
  const std::size_t kept = std::min(best.size(), kInQuestion * settings.longest);
  std::ranges::partial_sort(best, best.begin() + static_cast<std::ptrdiff_t>(kept));
  best.resize(kept);
  std::vector<double> left = posterior;
  std::vector<std::size_t> order;
  while (order.size() < settings.longest) {
    std::size_t next = repairs.size();
    double most = 0;
    for (const auto& [unused, r] : best) {
      const double ratio = chance_per_minute(repairs[r], left);
      if (ratio <= most || std::ranges::find(order, r) != order.end()) continue;
      most = ratio;
      next = r;
    }
    if (next == repairs.size()) break;
    order.push_back(next);
    for (const auto& cure : repairs[next].cures) left[cure.cause] *= 1 - cure.chance;
  }
  return order;
}

/// Sets of repairs whose chance of leaving nothing must be known: all subsets of the first ones, then the prefixes.
struct Sets {
  std::size_t permuted;                        // repairs in the table of subsets
  std::vector<std::vector<std::size_t>> sets;  // subset b of the first ones at index b; then longer prefixes
};

Sets sets_of(const std::vector<std::size_t>& order, std::size_t permuted) {
  Sets result{std::min(permuted, order.size()), {}};
  for (std::size_t bits = 0; bits < (std::size_t{1} << result.permuted); ++bits) {
    std::vector<std::size_t> set;
    for (std::size_t k = 0; k < result.permuted; ++k)
      if ((bits >> k & 1U) != 0) set.push_back(order[k]);
    result.sets.push_back(std::move(set));
  }
  for (std::size_t end = result.permuted + 1; end <= order.size(); ++end)
    result.sets.emplace_back(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(end));
  return result;
}

/// From the chances that nothing is left after each set: the best order, and where to stop.
/// Least cost from a subset on: v(b) = min over r outside b of failing(b) * cost_r + v(b + r).
Sequence choose(const std::vector<std::size_t>& order, const Sets& sets, const std::vector<double>& nothing_left,
                const std::vector<double>& cost_of, double refer_cost) {
  const auto failing = [&](std::size_t set) { return std::clamp(1 - nothing_left[set], 0.0, 1.0); };
  const std::size_t full = (std::size_t{1} << sets.permuted) - 1;
  // The tail beyond the table, from its end backwards: go on, or hand on where that is cheaper.
  const std::size_t tail = order.size() - sets.permuted;
  std::vector<double> tail_cost(tail + 1);
  std::vector<bool> goes_on(tail + 1, false);
  const auto set_after = [&](std::size_t k) { return k == 0 ? full : full + k; };
  tail_cost[tail] = failing(set_after(tail)) * refer_cost;
  for (std::size_t k = tail; k-- > 0;) {
    const double on = failing(set_after(k)) * cost_of[order[sets.permuted + k]] + tail_cost[k + 1];
    const double stop = failing(set_after(k)) * refer_cost;
    goes_on[k] = on < stop;
    tail_cost[k] = std::min(on, stop);
  }
  std::vector<double> least(full + 1);
  std::vector<std::size_t> pick(full + 1, sets.permuted);
  least[full] = tail_cost[0];
  for (std::size_t bits = full; bits-- > 0;) {
    const double now = bits == 0 ? 1.0 : failing(bits);
    least[bits] = now * refer_cost;  // hand on at once
    for (std::size_t k = 0; k < sets.permuted; ++k) {
      if ((bits >> k & 1U) != 0) continue;
      const double cost = now * cost_of[order[k]] + least[bits | (std::size_t{1} << k)];
      if (cost < least[bits]) {
        least[bits] = cost;
        pick[bits] = k;
      }
    }
  }
  Sequence sequence;
  sequence.cost = least[0];
  std::size_t bits = 0;
  while (bits != full && pick[bits] < sets.permuted) {
    sequence.failing_before.push_back(bits == 0 ? 1.0 : failing(bits));
    sequence.repairs.push_back(order[pick[bits]]);
    bits |= std::size_t{1} << pick[bits];
  }
  sequence.failing_after = bits == 0 ? 1.0 : failing(bits);
  if (bits != full) return sequence;
  for (std::size_t k = 0; k < tail && goes_on[k]; ++k) {
    sequence.failing_before.push_back(sequence.failing_after);
    sequence.repairs.push_back(order[sets.permuted + k]);
    sequence.failing_after = failing(set_after(k + 1));
  }
  return sequence;
}

std::vector<double> expected_costs(const std::vector<RepairOption>& repairs, const std::vector<double>& chance) {
  std::vector<double> costs;
  costs.reserve(repairs.size());
  for (const RepairOption& each : repairs) costs.push_back(expected_cost(each, chance));
  return costs;
}

/// A negative outcome of the first results of a check: a factor a cause, and the chance with no cause at all.
struct Silence {
  std::vector<double> factor;
  double alone = 1;
};

std::vector<Silence> silences(std::size_t causes, const CheckOption& check) {
  std::vector<Silence> all{{std::vector<double>(causes, 1.0), 1.0}};
  for (const ResultOption& result : check.results) {
    Silence next = all.back();
    next.alone *= result.silent_alone;
    for (const auto& each : result.silent) next.factor[each.cause] *= each.factor;
    all.push_back(std::move(next));
  }
  return all;
}

/// For each silence: P(silence | e) and the joint posteriors with it.
struct Joint {
  std::vector<double> chance;
  std::vector<std::vector<double>> posterior;  // P(cause present, silence | e)
};

Joint joint_of(const Trellis& trellis, const std::vector<Silence>& all) {
  const std::size_t n = trellis.causes();
  Joint joint;
  joint.chance.push_back(1);
  joint.posterior.push_back(trellis.posterior());
  std::vector<double> factors;
  for (std::size_t j = 1; j < all.size(); ++j)
    factors.insert(factors.end(), all[j].factor.begin(), all[j].factor.end());
  std::vector<double> shares;
  const auto posterior = trellis.joint_posteriors(factors, shares);
  for (std::size_t j = 1; j < all.size(); ++j) {
    joint.chance.push_back(shares[j - 1] * all[j].alone);
    std::vector<double> row(n);
    for (std::size_t i = 0; i < n; ++i) row[i] = posterior[(j - 1) * n + i] * all[j].alone;
    joint.posterior.push_back(std::move(row));
  }
  return joint;
}

/// P(nothing left after each set, silence | e), for one silence after the other.
std::vector<double> nothing_left_with(const Trellis& trellis, const Sets& sets,
                                      std::initializer_list<const Silence*> silences,
                                      const std::vector<RepairOption>& repairs) {
  const std::size_t n = trellis.causes();
  std::vector<double> factors;
  factors.reserve(silences.size() * sets.sets.size() * n);
  std::vector<double> factor(n);
  for (const Silence* silence : silences)
    for (const auto& set : sets.sets) {
      std::ranges::fill(factor, 0.0);
      for (const std::size_t r : set) allow(factor, repairs[r]);
      for (std::size_t i = 0; i < n; ++i) factor[i] *= silence->factor[i];
      factors.insert(factors.end(), factor.begin(), factor.end());
    }
  auto shares = trellis.shares(factors);
  // A cause that is not listed is cured by no repair here: the configuration without a listed one stays failing.
  const double unlisted = trellis.none_present();
  std::size_t at = 0;
  for (const Silence* silence : silences)
    for (std::size_t s = 0; s < sets.sets.size(); ++s, ++at)
      shares[at] = std::max(0.0, shares[at] - unlisted) * silence->alone;
  return shares;
}

class LookAhead {
 public:
  /// \param plain  the repairs; `ways` the same and behind them those with an inspection
  LookAhead(const Trellis& trellis, const std::vector<RepairOption>& plain, const std::vector<RepairOption>& ways,
            const PlanSettings& settings)
      : trellis_(trellis), plain_(plain), ways_(ways), settings_(settings) {}

  CheckValue value(std::size_t index, const CheckOption& check) const {
    const auto all = silences(trellis_.causes(), check);
    const Joint joint = joint_of(trellis_, all);
    CheckValue result{index, check.cost, 0, 0, {}};
    const std::size_t last = all.size() - 1;
    std::vector<std::vector<double>> cost;
    for (std::size_t j = 1; j <= last; ++j) {
      const double chance = std::max(0.0, joint.chance[j - 1] - joint.chance[j]);
      result.outcome.push_back(chance);
      result.found += chance;
      cost.push_back({chance < kTiny ? 0 : cost_after(joint, j, &all[j - 1], &all[j], chance)});
    }
    const double none = std::max(0.0, joint.chance[last]);
    result.outcome.push_back(none);
    cost.push_back({none < kTiny ? 0 : cost_after(joint, last, &all[last], nullptr, none)});
    result.cost += expected_least(result.outcome, cost);
    return result;
  }

 private:
  /// Cost of the best sequence given the outcome "first silence but not second" (or the first alone).
  double cost_after(const Joint& joint, std::size_t j, const Silence* with, const Silence* without,
                    double chance) const {
    const std::size_t n = trellis_.causes();
    std::vector<double> posterior(n);
    for (std::size_t i = 0; i < n; ++i) {
      const double both =
          without == nullptr ? joint.posterior[j][i] : joint.posterior[j - 1][i] - joint.posterior[j][i];
      posterior[i] = std::clamp(both / chance, 0.0, 1.0);
    }
    const double plain = cost_with(plain_, posterior, with, without, chance);
    return ways_.size() == plain_.size() ? plain : std::min(plain, cost_with(ways_, posterior, with, without, chance));
  }

  double cost_with(const std::vector<RepairOption>& repairs, const std::vector<double>& posterior, const Silence* with,
                   const Silence* without, double chance) const {
    const auto order = candidates(posterior, repairs, settings_);
    const Sets sets = sets_of(order, settings_.permuted);
    const std::size_t count = sets.sets.size();
    auto nothing_left = without == nullptr ? nothing_left_with(trellis_, sets, {with}, repairs)
                                           : nothing_left_with(trellis_, sets, {with, without}, repairs);
    if (without != nullptr)
      for (std::size_t s = 0; s < count; ++s) nothing_left[s] -= nothing_left[count + s];
    nothing_left.resize(count);
    for (double& each : nothing_left) each = std::clamp(each / chance, 0.0, 1.0);
    return choose(order, sets, nothing_left, expected_costs(repairs, posterior), settings_.refer_cost).cost;
  }

  const Trellis& trellis_;
  const std::vector<RepairOption>& plain_;
  const std::vector<RepairOption>& ways_;
  const PlanSettings& settings_;
};

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
    if (chance * settings.refer_cost <= rough.cost[r]) continue;
    if (const auto& inspection =
            repairs[r].inspection) {  // it stands in for the same repair without an inspection, or not at all
      const auto same = std::ranges::find(rough.order, inspection->repair);
      if (same != rough.order.end()) {
        if (rough.ratio[r] <= rough.ratio[*same]) continue;
        rough.order.erase(same);
      }
    }
    if (rough.order.size() == settings.longest) {
      if (rough.ratio[r] <= rough.ratio[rough.order.back()]) continue;
      rough.order.pop_back();
    }
    const auto at = std::ranges::upper_bound(rough.order, rough.ratio[r], std::greater<>(),
                                             [&](std::size_t other) { return rough.ratio[other]; });
    rough.order.insert(at, r);
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

/// Sorts by saving, given the cost of repairing without any check.
void rank(std::vector<CheckValue>& values, const std::vector<CheckOption>& checks, double repair_only) {
  for (CheckValue& value : values) {
    const double own = checks[value.check].cost;
    value.saving = (repair_only - (value.cost - own)) / own;
  }
  std::ranges::stable_sort(values, std::greater<>(), &CheckValue::saving);
}

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

Sequence best_sequence(const Trellis& trellis, const std::vector<RepairOption>& repairs, const PlanSettings& settings) {
  const auto order = candidates(trellis.posterior(), repairs, settings);
  const Sets sets = sets_of(order, settings.permuted);
  const Silence nothing_said{std::vector<double>(trellis.causes(), 1.0), 1.0};
  return choose(order, sets, nothing_left_with(trellis, sets, {&nothing_said}, repairs),
                expected_costs(repairs, trellis.posterior()), settings.refer_cost);
}

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

NextStep next_step(const Trellis& trellis, const std::vector<CheckOption>& checks,
                   const std::vector<RepairOption>& repairs, const PlanSettings& settings) {
  NextStep next;
  const OneCause rough = one_cause(trellis.posterior(), trellis.none_present());
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
    std::rotate(next.checks.begin(), next.checks.begin() + static_cast<std::ptrdiff_t>(*first),
                next.checks.begin() + static_cast<std::ptrdiff_t>(*first) + 1);
    next.check = next.checks.front().check;
    next.cost = next.checks.front().cost;
  } else if (!next.looked.repairs.empty()) {
    next.check = inspection_before(looked[next.looked.repairs.front()], checks, rough);
  }
  return next;
}

}  // namespace wheeltapper::plan
