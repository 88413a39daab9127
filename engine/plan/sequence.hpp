#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "engine/plan/actions.hpp"

namespace wheeltapper::plan {

/// Repairs one after the other, each followed by a retest, until it passes; then handing on.
struct Sequence {
  std::vector<std::size_t> repairs;    ///< indices into the options
  std::vector<double> failing_before;  ///< chance that the trouble is still there when repair k starts; first 1
  double failing_after = 1;            ///< chance that it is still there after the last
  double cost = 0;                     ///< expected, in minutes
};

/// The repairs worth a place in a sequence, in the order of chance per minute, each given that those before it did not
/// help; and the sets of them whose chance of leaving nothing must be known.
struct RepairSets {
  std::vector<std::size_t> order;
  std::size_t permuted = 0;                    ///< first repairs, of which every order is tried
  std::vector<std::vector<std::size_t>> sets;  ///< subset b of the first ones at index b; then longer prefixes

  std::size_t full() const { return (std::size_t{1} << permuted) - 1; }  ///< index of the set of all the first ones
};
RepairSets repair_sets(const std::vector<double>& posterior, const std::vector<RepairOption>& repairs,
                       const PlanSettings& settings);

/// The outcome that some results of a check stay away: a factor a cause, and the chance with no cause at all.
struct Silence {
  std::vector<double> factor;
  double alone = 1;
};

/// P(nothing left after each set, silence | evidence), for one silence after the other.
std::vector<double> nothing_left(const belief::Trellis& trellis, const RepairSets& sets,
                                 std::span<const Silence* const> silences, const std::vector<RepairOption>& repairs);

/// From the chances that nothing is left after each set: the best order, and where to stop.
/// \param cost_of  of each repair, by its index among the options
Sequence choose(const RepairSets& sets, const std::vector<double>& nothing_left, const std::vector<double>& cost_of,
                double refer_cost);

std::vector<double> expected_costs(const std::vector<RepairOption>& repairs, const std::vector<double>& chance);

/// The sequence of repairs with the least expected cost that the search finds, given the evidence in the trellis.
/// With a set S repaired the trouble is still there with chance 1 - P(no cause left | evidence), where a cause in S is
/// left with 1 - its chance to be cured and one outside S if it is present, and an unlisted cause always: one forward
/// pass a set, exact with several causes at once. Repairs are first put in the order of chance per minute, each given
/// that those before it did not help; of the first `permuted` the best order is taken from a table over all their
/// subsets; a sequence ends where handing on is cheaper.
Sequence best_sequence(const belief::Trellis& trellis, const std::vector<RepairOption>& repairs,
                       const PlanSettings& settings = {});

}  // namespace wheeltapper::plan
