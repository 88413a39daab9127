#pragma once
#include <string>
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::catalogue {

/// Questions that no schema asks and that a catalogue may fail and still load:
/// - every cause can be found by some check and removed by some repair of its family, and shows in some finding;
/// - every check that needs power has cautions, the one for low voltage among them; every one that starts unplugged
///   says so; every repair starts unplugged;
/// - no two causes are linked alike to every finding and every check result, so that nothing could tell them apart;
/// - every question ends in a question mark and every place has a cause;
/// - a cause that a finer finding speaks for is not sunk by the plainer one above it: the plainer links to it too.
/// Empty when nothing is found. The order is that of the items.
std::vector<input::Problem> lint(const Catalogue& catalogue);

}  // namespace wheeltapper::catalogue
