// The look-ahead policy against the true optimum by exhaustive search.
#include <algorithm>
#include <catch2/catch.hpp>
#include <numeric>
#include <random>

#include "engine/plan/order.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/small_bench.hpp"

using namespace wheeltapper;

TEST_CASE("no order takes fewer expected minutes than chance per minute, with one cause", "[plan][property]") {
  const std::uint32_t seed = GENERATE(range(0U, 200U));
  CAPTURE(seed);
  std::mt19937 engine(seed);
  std::vector<plan::RepairChance> repairs;
  double left = 1;
  for (std::size_t i = 0; i < 6; ++i) {
    const double chance = left * std::uniform_real_distribution<>(0, 0.5)(engine);
    left -= chance;
    repairs.push_back({std::uniform_real_distribution<>(1, 60)(engine), chance});
  }
  std::vector<std::size_t> rival(6);
  std::iota(rival.begin(), rival.end(), std::size_t{0});
  double least = plan::expected_minutes(repairs, rival);
  while (std::next_permutation(rival.begin(), rival.end()))
    least = std::min(least, plan::expected_minutes(repairs, rival));
  CHECK(plan::expected_minutes(repairs, plan::order_by_chance_per_minute(repairs)) == Approx(least).epsilon(1e-12));
}

TEST_CASE("the policy is near the true optimum and no worse than the order it starts from", "[plan][property][many]") {
  // Up to 6 causes and 5 checks; the numbers of the check are printed with the result.
  double excess = 0;
  double to_best_order = 0;
  double worst = 0;
  constexpr auto kInstances = tests::times<std::uint32_t>(24, 4);
  for (std::uint32_t seed = 0; seed < kInstances; ++seed) {
    CAPTURE(seed);
    const auto bench = tests::small_bench(seed, 3 + seed % 4, seed % 4 == 0 ? 5 : seed % 4 == 3 ? 1 + seed % 2 : 2);
    const auto costs = tests::solve(bench);
    CAPTURE(costs.optimum, costs.best_order, costs.chance_per_minute, costs.policy);
    CHECK(costs.policy >= costs.optimum * (1 - 1e-9));
    // It decides anew after each retest, so it need not keep to the order that it starts from.
    CHECK(costs.policy <= costs.chance_per_minute * 1.02);
    excess += costs.policy / costs.optimum - 1;
    worst = std::max(worst, costs.policy / costs.optimum - 1);
    to_best_order += costs.policy / costs.best_order - 1;
  }
  excess /= kInstances;
  to_best_order /= kInstances;
  WARN("mean excess over the optimum " << 100 * excess << " %, worst " << 100 * worst
                                       << " %; against the best fixed order of repairs " << 100 * to_best_order
                                       << " %");
  CHECK(excess <= 0.02);
  CHECK(worst <= 0.08);
}
