#pragma once
#include <cstdint>
#include <vector>

#include "engine/belief/finding_node.hpp"
#include "engine/plan/next_step.hpp"

namespace wheeltapper::tests {

/// A small troubleshooting problem with few causes, perfect enough to be solved by exhaustive search.
struct SmallBench {
  std::vector<double> prior;
  std::vector<belief::FindingNode> seen;  ///< the complaint
  std::vector<plan::CheckOption> checks;  ///< each with one or two results
  std::vector<plan::RepairOption> repairs;
  plan::PlanSettings settings;
};
SmallBench small_bench(std::uint32_t seed, std::size_t causes, std::size_t checks);

/// Expected minutes from now on of: the true optimum over all policies (exhaustive search over what may be done after
/// what was seen), the best fixed order of repairs, the order by chance per minute, and the look-ahead policy carried
/// through to the end.
struct SmallCosts {
  double optimum;
  double best_order;
  double chance_per_minute;
  double policy;
};
SmallCosts solve(const SmallBench& bench);

}  // namespace wheeltapper::tests
