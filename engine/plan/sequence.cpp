#include "engine/plan/sequence.hpp"

#include <algorithm>

#include "engine/plan/inspection.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Trellis;

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

constexpr std::size_t kInQuestion = 4;  // for each place

/// Those that are best at first: what did not help leaves less for all.
std::vector<std::size_t> in_question(const std::vector<double>& posterior, const std::vector<RepairOption>& repairs,
                                     const PlanSettings& settings) {
  std::vector<std::pair<double, std::size_t>> best;
  for (std::size_t r = 0; r < repairs.size(); ++r)
    if (const double ratio = chance_per_minute(repairs[r], posterior); ratio > 0) best.emplace_back(-ratio, r);
  const std::size_t kept = std::min(best.size(), kInQuestion * settings.longest);
  std::ranges::partial_sort(best, best.begin() + static_cast<std::ptrdiff_t>(kept));
  std::vector<std::size_t> out;
  for (std::size_t k = 0; k < kept; ++k) out.push_back(best[k].second);
  return out;
}

/// Always the one with the most chance for a minute next, given that those before it did not help.
std::vector<std::size_t> candidates(const std::vector<double>& posterior, const std::vector<RepairOption>& repairs,
                                    const PlanSettings& settings) {
  std::vector<std::size_t> open = in_question(posterior, repairs, settings);
  std::vector<double> left = posterior;
  std::vector<std::size_t> order;
  while (order.size() < settings.longest && !open.empty()) {
    const auto next =
        std::ranges::max_element(open, {}, [&](std::size_t r) { return chance_per_minute(repairs[r], left); });
    if (chance_per_minute(repairs[*next], left) <= 0) break;
    order.push_back(*next);
    for (const auto& cure : repairs[*next].cures) left[cure.cause] *= 1 - cure.chance;
    open.erase(next);
  }
  return order;
}

/// What choose() works on.
struct Choice {
  const RepairSets& sets;
  const std::vector<double>& nothing_left;
  const std::vector<double>& cost_of;
  double refer_cost;

  double failing(std::size_t set) const { return set == 0 ? 1.0 : std::clamp(1 - nothing_left[set], 0.0, 1.0); }
  std::size_t tail() const { return sets.order.size() - sets.permuted; }
  std::size_t tail_repair(std::size_t k) const { return sets.order[sets.permuted + k]; }
  /// The set when k repairs of the tail are done.
  std::size_t after_tail(std::size_t k) const { return sets.full() + k; }
};

/// The tail beyond the table of subsets, from its end backwards: go on, or hand on where that is cheaper.
struct Tail {
  double cost = 0;
  std::vector<bool> goes_on;  ///< at its repair k
};

Tail tail_of(const Choice& choice) {
  Tail tail{choice.failing(choice.after_tail(choice.tail())) * choice.refer_cost,
            std::vector<bool>(choice.tail(), false)};
  for (std::size_t k = choice.tail(); k-- > 0;) {
    const double failing = choice.failing(choice.after_tail(k));
    const double on = failing * choice.cost_of[choice.tail_repair(k)] + tail.cost;
    const double stop = failing * choice.refer_cost;
    tail.goes_on[k] = on < stop;
    tail.cost = std::min(on, stop);
  }
  return tail;
}

/// Least cost from a subset on: v(b) = min over r outside b of failing(b) * cost_r + v(b + r).
struct Subsets {
  std::vector<double> least;
  std::vector<std::size_t> pick;  ///< the repair to do next; `permuted` where handing on is cheaper
};

Subsets subsets_of(const Choice& choice, double tail_cost) {
  const std::size_t full = choice.sets.full();
  Subsets table{std::vector<double>(full + 1), std::vector<std::size_t>(full + 1, choice.sets.permuted)};
  table.least[full] = tail_cost;
  for (std::size_t bits = full; bits-- > 0;) {
    const double now = choice.failing(bits);
    table.least[bits] = now * choice.refer_cost;  // hand on at once
    for (std::size_t k = 0; k < choice.sets.permuted; ++k) {
      if ((bits >> k & 1U) != 0) continue;
      const double cost = now * choice.cost_of[choice.sets.order[k]] + table.least[bits | (std::size_t{1} << k)];
      if (cost >= table.least[bits]) continue;
      table.least[bits] = cost;
      table.pick[bits] = k;
    }
  }
  return table;
}

void add(std::size_t repair, double failing_after, Sequence& sequence) {
  sequence.failing_before.push_back(sequence.failing_after);
  sequence.repairs.push_back(repair);
  sequence.failing_after = failing_after;
}

}  // namespace

RepairSets repair_sets(const std::vector<double>& posterior, const std::vector<RepairOption>& repairs,
                       const PlanSettings& settings) {
  RepairSets result{candidates(posterior, repairs, settings), 0, {}};
  const auto& order = result.order;
  result.permuted = std::min(settings.permuted, order.size());
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

std::vector<double> nothing_left(const Trellis& trellis, const RepairSets& sets,
                                 std::span<const Silence* const> silences, const std::vector<RepairOption>& repairs) {
  const std::size_t n = trellis.causes();
  std::vector<double> factors;
  factors.reserve(silences.size() * sets.sets.size() * n);
  for (const Silence* silence : silences)
    for (const auto& set : sets.sets) {
      std::vector<double> factor(n, 1.0);  // what is gone already is no longer in the way
      std::fill_n(factor.begin(), trellis.current(), 0.0);
      for (const std::size_t r : set) allow(factor, repairs[r]);
      for (std::size_t i = 0; i < n; ++i) factors.push_back(factor[i] * silence->factor[i]);
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

Sequence choose(const RepairSets& sets, const std::vector<double>& nothing_left, const std::vector<double>& cost_of,
                double refer_cost) {
  const Choice choice{sets, nothing_left, cost_of, refer_cost};
  const Tail tail = tail_of(choice);
  const Subsets table = subsets_of(choice, tail.cost);
  Sequence sequence;
  sequence.cost = table.least[0];
  std::size_t bits = 0;
  while (bits != sets.full() && table.pick[bits] < sets.permuted) {
    const std::size_t k = table.pick[bits];
    bits |= std::size_t{1} << k;
    add(sets.order[k], choice.failing(bits), sequence);
  }
  if (bits != sets.full()) return sequence;
  for (std::size_t k = 0; k < tail.goes_on.size() && tail.goes_on[k]; ++k)
    add(choice.tail_repair(k), choice.failing(choice.after_tail(k + 1)), sequence);
  return sequence;
}

std::vector<double> expected_costs(const std::vector<RepairOption>& repairs, const std::vector<double>& chance) {
  std::vector<double> costs;
  costs.reserve(repairs.size());
  for (const RepairOption& each : repairs) costs.push_back(expected_cost(each, chance));
  return costs;
}

Sequence best_sequence(const Trellis& trellis, const std::vector<RepairOption>& repairs, const PlanSettings& settings) {
  const std::vector<double> posterior = trellis.current_posterior();
  const RepairSets sets = repair_sets(posterior, repairs, settings);
  const Silence nothing_said{std::vector<double>(trellis.causes(), 1.0), 1.0};
  const Silence* only = &nothing_said;
  return choose(sets, nothing_left(trellis, sets, {&only, 1}, repairs), expected_costs(repairs, posterior),
                settings.refer_cost);
}

}  // namespace wheeltapper::plan
