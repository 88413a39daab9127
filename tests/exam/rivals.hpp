#pragma once
#include <vector>

#include "tests/exam/play.hpp"

namespace wheeltapper::exam {

/// The program, and ways of working to hold it against. All see the program's posterior; none does what a hazard
/// forbids.
///   plain      look or repair, whichever has most chance per minute
///   per-cost   repairs alone, by chance over cost
///   likeliest  the repair that most probably removes something
///   fixed      a manual's order: every look that there is, what opens least and is done soonest first; what was seen
///              is repaired at once, and when all was looked at, repairs by chance over cost
///   random     whatever comes
std::vector<Policy> policies();

}  // namespace wheeltapper::exam
