#include "tests/support/small_bench.hpp"

#include <algorithm>
#include <optional>
#include <random>

#include "engine/plan/order.hpp"
#include "tests/support/random_network.hpp"

namespace wheeltapper::tests {
namespace {

/// Everything by plain enumeration over sets of causes: no trellis in here but for the policy itself.
class World {
 public:
  explicit World(const SmallBench& bench) : bench_(bench) {
    start_ = enumerate(bench.prior, bench.seen, 0.0).set_probability;  // something is wrong
  }

  /// Weights of the sets of causes that are left, and what may still be done.
  struct State {
    std::vector<double> weight;  // not normalised: its sum is the chance of getting here
    std::uint32_t checks_left;
    std::uint32_t repairs_left;
    std::vector<std::pair<std::size_t, std::size_t>> outcomes;  // check, result (results.size(): none)
    std::vector<std::size_t> done;                              // repairs, in order
  };

  State start() const { return {start_, (1U << bench_.checks.size()) - 1, (1U << bench_.repairs.size()) - 1, {}, {}}; }

  /// The weights after a check showed result `r` first, or none.
  State after(const State& state, std::size_t check, std::size_t r) const {
    State next = state;
    const auto& results = bench_.checks[check].results;
    for (std::size_t bits = 0; bits < next.weight.size(); ++bits) {
      double chance = 1;
      for (std::size_t k = 0; k < std::min(r + 1, results.size()); ++k) {
        double silent = results[k].silent_alone;
        for (const auto& each : results[k].silent)
          if ((bits >> each.cause & 1U) != 0) silent *= each.factor;
        chance *= k == r ? 1 - silent : silent;
      }
      next.weight[bits] *= chance;
    }
    next.checks_left &= ~(1U << check);
    next.outcomes.emplace_back(check, r);
    return next;
  }

  /// The weights after a repair whose retest failed: something is left.
  State after(const State& state, std::size_t repair) const {
    State next = state;
    next.weight.assign(state.weight.size(), 0);
    for (std::size_t bits = 0; bits < state.weight.size(); ++bits)
      spread(bits, 0, repair, state.weight[bits], next.weight);
    next.weight[0] = 0;
    next.repairs_left &= ~(1U << repair);
    next.done.push_back(repair);
    return next;
  }

  static double mass(const State& state) {
    double sum = 0;
    for (const double w : state.weight) sum += w;
    return sum;
  }

  double optimum(const State& state) const {
    const double here = mass(state);
    if (here < 1e-14) return 0;
    double least = here * bench_.settings.refer_cost;
    for (std::size_t r = 0; r < bench_.repairs.size(); ++r)
      if ((state.repairs_left >> r & 1U) != 0)
        least = std::min(least, here * bench_.repairs[r].cost + optimum(after(state, r)));
    for (std::size_t c = 0; c < bench_.checks.size(); ++c) {
      if ((state.checks_left >> c & 1U) == 0) continue;
      double cost = here * bench_.checks[c].cost;
      for (std::size_t r = 0; r <= bench_.checks[c].results.size() && cost < least; ++r)
        cost += optimum(after(state, c, r));
      least = std::min(least, cost);
    }
    return least;
  }

  double best_order(const State& state) const {
    const double here = mass(state);
    double least = here * bench_.settings.refer_cost;
    for (std::size_t r = 0; r < bench_.repairs.size(); ++r)
      if ((state.repairs_left >> r & 1U) != 0)
        least = std::min(least, here * bench_.repairs[r].cost + best_order(after(state, r)));
    return least;
  }

  double fixed_order(const std::vector<std::size_t>& order) const {
    State state = start();
    double cost = 0;
    for (const std::size_t r : order) {
      const double here = mass(state);
      if (bench_.repairs[r].cost >= bench_.settings.refer_cost) break;
      cost += here * bench_.repairs[r].cost;
      state = after(state, r);
    }
    return cost + mass(state) * bench_.settings.refer_cost;
  }

  /// The policy: a check whenever one lowers the expected cost, else the advised sequence of repairs to its end: a
  /// failed retest alone does not change it.
  double policy(const State& state, const std::vector<std::size_t>& advised) const {
    const double here = mass(state);
    if (here < 1e-14) return 0;
    const Step step = advised.empty() ? advice(state) : Step{std::nullopt, advised};
    if (step.check) {
      double cost = here * bench_.checks[*step.check].cost;
      for (std::size_t r = 0; r <= bench_.checks[*step.check].results.size(); ++r)
        cost += policy(after(state, *step.check, r), {});
      return cost;
    }
    if (step.repairs.empty()) return here * bench_.settings.refer_cost;
    const std::size_t repair = step.repairs.front();
    const std::vector<std::size_t> rest(step.repairs.begin() + 1, step.repairs.end());
    return here * bench_.repairs[repair].cost + policy(after(state, repair), rest);
  }

 private:
  struct Step {
    std::optional<std::size_t> check;
    std::vector<std::size_t> repairs;
  };

  /// What the engine advises in a state. The engine knows causes as independent beforehand, so a state is given to it
  /// as its evidence: the complaint, the checks' outcomes, and priors lowered by the repairs done in vain.
  Step advice(const State& state) const {
    std::vector<double> prior = bench_.prior;
    for (const std::size_t r : state.done)
      for (const auto& cure : bench_.repairs[r].cures) {
        double& p = prior[cure.cause];
        p = p * (1 - cure.chance) / (1 - p * cure.chance);
      }
    std::vector<belief::FindingNode> nodes = bench_.seen;
    for (const auto& [check, shown] : state.outcomes)
      for (std::size_t k = 0; k < std::min(shown + 1, bench_.checks[check].results.size()); ++k)
        nodes.push_back(node_of(bench_.checks[check].results[k], k == shown));
    const belief::Trellis trellis(prior, nodes, {}, 0.0);
    std::vector<plan::CheckOption> checks;
    std::vector<std::size_t> check_at;
    for (std::size_t c = 0; c < bench_.checks.size(); ++c)
      if ((state.checks_left >> c & 1U) != 0) {
        checks.push_back(bench_.checks[c]);
        check_at.push_back(c);
      }
    std::vector<plan::RepairOption> repairs;
    std::vector<std::size_t> repair_at;
    for (std::size_t r = 0; r < bench_.repairs.size(); ++r)
      if ((state.repairs_left >> r & 1U) != 0) {
        repairs.push_back(bench_.repairs[r]);
        repair_at.push_back(r);
      }
    const plan::NextStep next = plan::next_step(trellis, checks, repairs, bench_.settings);
    Step step;
    if (next.check) step.check = check_at[*next.check];
    for (const std::size_t r : next.repairs.repairs) step.repairs.push_back(repair_at[r]);
    return step;
  }

  static belief::FindingNode node_of(const plan::ResultOption& result, bool seen) {
    belief::FindingNode node{.id = result.id, .links = {}, .blocks = {}};
    node.leak[0] = 1 - result.silent_alone;
    for (const auto& each : result.silent) node.links.push_back({each.cause, {1 - each.factor}});
    node.likelihood = {seen ? 0.0 : 1.0, seen ? 1.0 : 0.0};
    node.likelihood_blocked = node.likelihood[0];
    return node;
  }

  /// Each cured cause goes with its chance, one after the other.
  void spread(std::size_t bits, std::size_t at, std::size_t repair, double weight, std::vector<double>& into) const {
    const auto& cures = bench_.repairs[repair].cures;
    if (at == cures.size()) {
      into[bits] += weight;
      return;
    }
    const std::size_t bit = std::size_t{1} << cures[at].cause;
    if ((bits & bit) == 0) {
      spread(bits, at + 1, repair, weight, into);
      return;
    }
    spread(bits & ~bit, at + 1, repair, weight * cures[at].chance, into);
    spread(bits, at + 1, repair, weight * (1 - cures[at].chance), into);
  }

  const SmallBench& bench_;
  std::vector<double> start_;
};

}  // namespace

SmallBench small_bench(std::uint32_t seed, std::size_t causes, std::size_t checks) {
  std::mt19937 engine(seed);
  const auto within = [&](double low, double high) { return std::uniform_real_distribution<>(low, high)(engine); };
  SmallBench bench;
  bench.settings.refer_cost = within(150, 400);
  for (std::size_t i = 0; i < causes; ++i) bench.prior.push_back(within(0.01, 0.12));
  for (std::size_t f = 0; f < 2; ++f) {
    belief::FindingNode node{.id = "complaint", .links = {}, .blocks = {}};
    node.leak[0] = within(0.02, 0.15);
    for (std::size_t i = 0; i < causes; ++i)
      if (within(0, 1) < 0.7) node.links.push_back({i, {within(0.2, 0.9)}});
    node.likelihood = {0.0, 1.0};
    bench.seen.push_back(std::move(node));
  }
  for (std::size_t c = 0; c < checks; ++c) {
    plan::CheckOption check{"check-" + std::to_string(c), within(2, 15), {}};
    const std::size_t results = 1 + engine() % 2;
    for (std::size_t r = 0; r < results; ++r) {
      plan::ResultOption result{check.id + "/" + std::to_string(r), 1 - within(0.02, 0.15), {}};
      const std::size_t first = engine() % causes;
      for (std::size_t k = 0; k < 1 + engine() % 3; ++k)
        if (first + k < causes) result.silent.push_back({first + k, 1 - within(0.6, 0.95)});
      check.results.push_back(std::move(result));
    }
    bench.checks.push_back(std::move(check));
  }
  for (std::size_t i = 0; i < causes; ++i) {
    plan::RepairOption repair{"repair-" + std::to_string(i), within(10, 60), {{i, within(0.7, 0.98)}}};
    if (engine() % 4 == 0 && i + 1 < causes) repair.cures.push_back({i + 1, within(0.5, 0.9)});
    bench.repairs.push_back(std::move(repair));
  }
  return bench;
}

SmallCosts solve(const SmallBench& bench) {
  const World world(bench);
  const auto start = world.start();
  const belief::Trellis trellis(bench.prior, bench.seen, {}, 0.0);
  const auto posterior = trellis.posterior();
  std::vector<plan::RepairChance> chances;
  for (const auto& repair : bench.repairs) {
    double nothing = 1;
    for (const auto& cure : repair.cures) nothing *= 1 - posterior[cure.cause] * cure.chance;
    chances.push_back({repair.cost, 1 - nothing});
  }
  return {world.optimum(start), world.best_order(start), world.fixed_order(plan::order_by_chance_per_minute(chances)),
          world.policy(start, {})};
}

}  // namespace wheeltapper::tests
