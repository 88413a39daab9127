#include "engine/plan/look_ahead.hpp"

#include <algorithm>
#include <array>
#include <span>

#include "engine/plan/order.hpp"
#include "engine/plan/sequence.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Trellis;

/// That the first j results of a check stay away, for j from 0 to all.
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
  joint.posterior.push_back(trellis.current_posterior());
  std::vector<double> factors;
  for (std::size_t j = 1; j < all.size(); ++j)
    factors.insert(factors.end(), all[j].factor.begin(), all[j].factor.end());
  std::vector<double> shares;
  const auto posterior = trellis.joint_posteriors(factors, shares);
  for (std::size_t j = 1; j < all.size(); ++j) {
    joint.chance.push_back(shares[j - 1] * all[j].alone);
    std::vector<double> row(trellis.current());
    for (std::size_t i = 0; i < row.size(); ++i) row[i] = posterior[(j - 1) * n + i] * all[j].alone;
    joint.posterior.push_back(std::move(row));
  }
  return joint;
}

}  // namespace

/// "One silence but not the other", or a silence alone.
struct LookAhead::Outcome {
  const Silence* with;
  const Silence* without;  ///< nullptr: none
  double chance;
  std::vector<double> posterior;
};

CheckValue LookAhead::value(std::size_t index, const CheckOption& check) const {
  const auto all = silences(trellis_.causes(), check);
  const Joint joint = joint_of(trellis_, all);
  CheckValue result{index, check.cost, 0, 0, {}};
  std::vector<std::vector<double>> cost;
  for (std::size_t j = 1; j <= all.size(); ++j) {
    const bool none = j == all.size();  // of the results
    Outcome outcome{&all[j - 1], none ? nullptr : &all[j], 0, joint.posterior[j - 1]};
    outcome.chance = std::max(0.0, joint.chance[j - 1] - (none ? 0 : joint.chance[j]));
    if (outcome.chance >= kTiny)
      for (std::size_t i = 0; i < outcome.posterior.size(); ++i) {
        const double both = outcome.posterior[i] - (none ? 0 : joint.posterior[j][i]);
        outcome.posterior[i] = std::clamp(both / outcome.chance, 0.0, 1.0);
      }
    result.outcome.push_back(outcome.chance);
    if (!none) result.found += outcome.chance;
    cost.push_back({outcome.chance < kTiny ? 0 : cost_after(outcome)});
  }
  result.cost += expected_least(result.outcome, cost);
  return result;
}

/// Cost of the best sequence after an outcome.
double LookAhead::cost_after(const Outcome& outcome) const {
  const double plain = cost_with(plain_, outcome);
  return ways_.size() == plain_.size() ? plain : std::min(plain, cost_with(ways_, outcome));
}

double LookAhead::cost_with(const std::vector<RepairOption>& repairs, const Outcome& outcome) const {
  const RepairSets sets = repair_sets(outcome.posterior, repairs, settings_);
  const std::size_t count = sets.sets.size();
  const std::array both{outcome.with, outcome.without};
  auto left = nothing_left(trellis_, sets, std::span(both).first(outcome.without == nullptr ? 1 : 2), repairs);
  if (outcome.without != nullptr)
    for (std::size_t s = 0; s < count; ++s) left[s] -= left[count + s];
  left.resize(count);
  for (double& each : left) each = std::clamp(each / outcome.chance, 0.0, 1.0);
  return choose(sets, left, expected_costs(repairs, outcome.posterior), settings_.refer_cost).cost;
}

}  // namespace wheeltapper::plan
