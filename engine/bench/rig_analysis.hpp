#pragma once
#include "engine/bench/analysis.hpp"

namespace wheeltapper::bench {

/// Volts lost in the supply, the leads, the track and the meter: as read, and by gauge and length.
void add_losses(const Session& session, BenchAnalysis& out);

}  // namespace wheeltapper::bench
