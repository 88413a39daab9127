#pragma once
#include <cstddef>
#include <optional>
#include <vector>

#include "engine/plan/actions.hpp"

namespace wheeltapper::plan {

/// What a repair is expected to cost, by the chances of the causes: an inspection, and the work as often as it shows
/// something. With several causes at once it is approximate where there is an inspection.
double expected_cost(const RepairOption& repair, const std::vector<double>& chance);

/// The repairs, and behind them those that an inspection makes cheaper for its chance, once more with that inspection.
/// Who finds nothing by it can still repair all the same.
std::vector<RepairOption> with_inspections(const std::vector<RepairOption>& repairs,
                                           const std::vector<CheckOption>& checks, const std::vector<double>& chance);

/// A result that shows a cause with less than this chance is no inspection for it.
inline constexpr double kShows = 0.3;
/// True if the check, done, would have shown that the repair is needed with at least the chance kLooked.
inline constexpr double kLooked = 0.5;
bool is_inspection(const CheckOption& check, const RepairOption& repair, const std::vector<double>& chance);

/// Chance that a cause which the check shows is there and is shown, one cause at a time; false alarms don't count.
double relevance(const CheckOption& check, const std::vector<double>& chance);

/// The check that should come before a repair: its inspection, or for one that is not to be done untested the most
/// telling inspection there is, unless its causes are there with a chance of kSureEnough or more. Nothing: do the
/// repair.
inline constexpr double kSureEnough = 0.95;
std::optional<std::size_t> inspection_before(const RepairOption& repair, const std::vector<CheckOption>& checks,
                                             const std::vector<double>& chance);

}  // namespace wheeltapper::plan
