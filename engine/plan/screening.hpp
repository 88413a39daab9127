#pragma once
#include <vector>

#include "engine/plan/actions.hpp"
#include "engine/plan/sequence.hpp"

namespace wheeltapper::plan {

/// A belief boiled down to one cause at a time: the chance that each cause is THE cause. They sum to at most 1; what is
/// missing is a cause that no repair here removes. Rough where two causes matter, and cheap: it screens checks for
/// next_step(), which then weighs them exactly, and prints a whole list.
using OneCause = std::vector<double>;
OneCause one_cause(const std::vector<double>& posterior, double none_present);
/// The checks' values under that simplification, the one most worth its minutes first.
std::vector<CheckValue> screen(const OneCause& belief, const std::vector<CheckOption>& checks,
                               const std::vector<RepairOption>& repairs, const PlanSettings& settings);
/// The best sequence of repairs under it: by chance per minute, until handing on is cheaper.
Sequence rough_sequence(const OneCause& belief, const std::vector<RepairOption>& repairs, const PlanSettings& settings);
/// The belief after a check showed nothing, and after a repair did not help.
OneCause after_nothing(const OneCause& belief, const CheckOption& check);
OneCause after_failing(const OneCause& belief, const RepairOption& repair);

/// Sorts by saving, given the cost of repairing without any check.
void rank(std::vector<CheckValue>& values, const std::vector<CheckOption>& checks, double repair_only);

}  // namespace wheeltapper::plan
