#pragma once
#include <cstddef>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "engine/plan/actions.hpp"

namespace wheeltapper::plan {

/// What a check is worth exactly, one step ahead: its cost plus, over its outcomes, their chance times the expected
/// cost of the best sequence of repairs after it. Outcomes: none of the results, or result j first: each is a
/// difference of two silences, so that one pass of the trellis a silence serves all of them.
class LookAhead {
 public:
  /// \param plain  the repairs; `ways` the same and behind them those with an inspection
  LookAhead(const belief::Trellis& trellis, const std::vector<RepairOption>& plain,
            const std::vector<RepairOption>& ways, const PlanSettings& settings)
      : trellis_(trellis), plain_(plain), ways_(ways), settings_(settings) {}

  /// \param index  of the check among the options, for CheckValue::check
  CheckValue value(std::size_t index, const CheckOption& check) const;

 private:
  struct Outcome;
  double cost_after(const Outcome& outcome) const;
  double cost_with(const std::vector<RepairOption>& repairs, const Outcome& outcome) const;

  const belief::Trellis& trellis_;
  const std::vector<RepairOption>& plain_;
  const std::vector<RepairOption>& ways_;
  const PlanSettings& settings_;
};

}  // namespace wheeltapper::plan
