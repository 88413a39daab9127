#pragma once
#include "engine/bench/analysis.hpp"

namespace wheeltapper::bench {

/// What each series of readings shows: laps, places in the lap, swings with the wheels, drift.
void add_series(const Session& session, BenchAnalysis& out);

}  // namespace wheeltapper::bench
