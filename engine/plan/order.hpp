#pragma once
#include <cstddef>
#include <span>
#include <vector>

namespace wheeltapper::plan {

struct RepairChance {
  double minutes;  ///< above 0
  double chance;   ///< probability, 0 to 1, that this repair alone ends the trouble
};

/// Expected minutes of repairing in `order` until the trouble ends, when at most one repair can end it:
/// sum over i of minutes_i * (1 - sum of the chances before i).
/// J. B. Kadane and H. A. Simon, SIAM J. Control Optim. 15 (1977); Heckerman, Breese and Rommelse, CACM 38(3), 1995.
double expected_minutes(std::span<const RepairChance> repairs, std::span<const std::size_t> order);

/// The order with the least expected_minutes: falling chance / minutes. Chance 0 last, ties as given.
/// With several causes at once sequence.hpp only starts from the same rule.
/// \throws std::domain_error  for minutes not above 0 or a chance outside [0, 1]
std::vector<std::size_t> order_by_chance_per_minute(std::span<const RepairChance> repairs);

/// A part that is looked at first and repaired only when found at fault.
struct Inspection {
  double look;    ///< minutes, above 0
  double repair;  ///< minutes, at least 0
  double chance;  ///< that this is the part at fault; at most one is
};

/// sum over i of look_i * (1 - chances before i) + chance_i * repair_i (Heckerman, Breese and Rommelse 1995).
double expected_minutes(std::span<const Inspection> inspections, std::span<const std::size_t> order);

/// The order with the least expected minutes: falling chance / look. The minutes of the repair do not matter.
std::vector<std::size_t> order_by_chance_per_look(std::span<const Inspection> inspections);

/// Expected least cost when one of several plans is chosen after an observation: the sum over outcomes of
/// chance * least cost among the plans. \param cost  cost[outcome][plan]; as many rows as chances, each not empty
double expected_least(std::span<const double> chance, const std::vector<std::vector<double>>& cost);

}  // namespace wheeltapper::plan
