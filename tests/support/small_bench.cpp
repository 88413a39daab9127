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
    struct Outcome {
      std::size_t check, result;  // results.size(): none
      std::size_t stage;          // repairs done before
    };
    std::vector<Outcome> outcomes;
    std::vector<std::size_t> done;  // repairs, in order
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
    next.outcomes.push_back({check, r, state.done.size()});
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
      double sum = here * bench_.checks[c].cost;
      for (std::size_t r = 0; r <= bench_.checks[c].results.size() && sum < least; ++r)
        sum += optimum(after(state, c, r));
      least = std::min(least, sum);
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
    double sum = 0;
    for (const std::size_t r : order) {
      const double here = mass(state);
      if (bench_.repairs[r].cost >= bench_.settings.refer_cost) break;
      sum += here * bench_.repairs[r].cost;
      state = after(state, r);
    }
    return sum + mass(state) * bench_.settings.refer_cost;
  }

  /// The policy: what the engine advises in each state, and handing on where it says that this costs less.
  double policy(const State& state) const {
    const double here = mass(state);
    if (here < 1e-14) return 0;
    const Step step = advice(state);
    if (step.check) {
      double sum = here * bench_.checks[*step.check].cost;
      for (std::size_t r = 0; r <= bench_.checks[*step.check].results.size(); ++r)
        sum += policy(after(state, *step.check, r));
      return sum;
    }
    if (!step.repair) return here * bench_.settings.refer_cost;
    return here * bench_.repairs[*step.repair].cost + policy(after(state, *step.repair));
  }

 private:
  struct Step {
    std::optional<std::size_t> check, repair;
  };

  /// Causes that were there and are gone, as alternatives to those that are there still.
  struct Gone {
    std::vector<double> prior;            // of the causes, then of what is gone
    std::vector<std::size_t> instead_of;  // which cause
    std::vector<std::size_t> stage;       // the repair that it went with
  };
  Gone gone_in(const State& state) const {
    Gone gone{bench_.prior, {}, {}};
    for (std::size_t k = 0; k < state.done.size(); ++k)
      for (const auto& cure : bench_.repairs[state.done[k]].cures) {
        gone.prior.push_back(gone.prior[cure.cause] * cure.chance);
        gone.prior[cure.cause] *= 1 - cure.chance;
        gone.instead_of.push_back(cure.cause);
        gone.stage.push_back(k);
      }
    return gone;
  }

  /// The same node with what was still there at a stage.
  static belief::FindingNode at_stage(belief::FindingNode node, const Gone& gone, std::size_t stage,
                                      std::size_t causes) {
    const auto links = node.links;
    for (std::size_t k = 0; k < gone.instead_of.size(); ++k)
      for (const auto& link : links)
        if (link.cause == gone.instead_of[k] && gone.stage[k] >= stage) node.links.push_back({causes + k, link.reach});
    return node;
  }

  /// What the engine advises in a state, which is given to it as its evidence: the complaint, the checks' outcomes, the
  /// repairs, and that something is still wrong.
  Step advice(const State& state) const {
    const std::size_t n = bench_.prior.size();
    const Gone gone = gone_in(state);
    std::vector<belief::FindingNode> nodes;
    for (const auto& node : bench_.seen) nodes.push_back(at_stage(node, gone, 0, n));
    for (const auto& [check, shown, stage] : state.outcomes)
      for (std::size_t k = 0; k < std::min(shown + 1, bench_.checks[check].results.size()); ++k)
        nodes.push_back(at_stage(node_of(bench_.checks[check].results[k], k == shown), gone, stage, n));
    if (!state.done.empty()) {
      belief::FindingNode wrong{.id = "still wrong", .links = {}, .blocks = {}};
      for (std::size_t i = 0; i < n; ++i) wrong.links.push_back({i, belief::Reach{1}});
      wrong.likelihood = {0, 1};
      nodes.push_back(std::move(wrong));
    }
    const belief::Trellis trellis(gone.prior, nodes, {}, 0.0, gone.instead_of);
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
    if (!next.repairs.repairs.empty()) step.repair = repair_at[next.repairs.repairs.front()];
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
          world.policy(start)};
}

}  // namespace wheeltapper::tests
