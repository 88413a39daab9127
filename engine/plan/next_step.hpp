#pragma once
#include <cstddef>
#include <optional>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "engine/plan/actions.hpp"
#include "engine/plan/sequence.hpp"

namespace wheeltapper::plan {

struct NextStep {
  Sequence repairs;  ///< the best found without any further check: its cost is exact
  Sequence looked;  ///< the cheapest found, with inspections or without (indices into with_inspections, inspection.hpp)
  std::vector<CheckValue> checks;  ///< looked at exactly: the one to do first, the others by saving
  /// The check to do now. Of those that lower the expected cost and bear on the suspects, the one that saves most for
  /// each minute of its own: a cheap inspection before the long one that would tell more, as the long one can still
  /// follow. If none lowers it, the inspection of the first repair of `looked`. Nothing: do that repair at once.
  std::optional<std::size_t> check;
  double cost = 0;  ///< expected minutes from here when this advice is followed for one step
};

/// One-step look-ahead over all checks and repairs: for every check its cost plus, over its outcomes, their chance
/// times the expected cost of the best sequence after it, in which repairs may have their inspections. Outcomes: none
/// of the results, or result j first. A result whose finding can be blocked counts here as if it could not; the
/// inference after it was seen is exact again.
NextStep next_step(const belief::Trellis& trellis, const std::vector<CheckOption>& checks,
                   const std::vector<RepairOption>& repairs, const PlanSettings& settings = {});

}  // namespace wheeltapper::plan
