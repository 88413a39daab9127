#pragma once
#include "engine/bench/analysis.hpp"

namespace wheeltapper::bench {

/// The indexes of the runs against the healthy figures, one direction against the other, and the last minutes against
/// the first.
void add_drives(const Session& session, BenchAnalysis& out);

}  // namespace wheeltapper::bench
