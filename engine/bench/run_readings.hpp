#pragma once
#include <optional>
#include <string_view>
#include <vector>

#include "engine/bench/drive_runs.hpp"
#include "engine/bench/session.hpp"

namespace wheeltapper::bench {

/// The reading of a quantity in a run; nullptr: not read.
const Reading* reading_of(const Run& run, std::string_view quantity);

/// A reading with its uncertainty split into what is new in each reading and what the meter shares among all.
UncertainValue uncertain_value(const Reading& reading);

/// True where one direction may stand for the other: equal, or either is any.
bool fits(Direction wanted, Direction had);

/// Volts, amps and laps of a completed run, all above 0; nothing where one is missing.
std::optional<DrivePoint> point_of(const Run& run);

/// Amps of the first run of that kind in that direction.
std::optional<UncertainValue> amps_of(const std::vector<Run>& runs, RunKind kind, Direction direction);

}  // namespace wheeltapper::bench
