#pragma once
#include <string>
#include <string_view>

#include "engine/bench/series.hpp"

namespace wheeltapper::cases {

/// Readings of a meter as text, one line a time, parted by commas, semicolons or tabs. The first line names the
/// columns: `time` (seconds, or minutes:seconds) and `amps` must be there, `volts` and `lap` may; a unit in brackets is
/// read for amps and volts: "amps (mA)". `lap` says with anything but nothing or 0 that the start of the loop was
/// passed at that time. Lines that start with # are left out. At most kMostRows rows. \throws input::BadInput  with
/// every line that can't be used, at most forty named: file and line
bench::Series read_series(std::string_view text, const std::string& file);

inline constexpr std::size_t kMostRows = 50000;

}  // namespace wheeltapper::cases
