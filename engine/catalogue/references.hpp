#pragma once
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::catalogue {

/// Everything that neither a field nor a card can tell by itself: ids that are used twice in one kind, references that
/// do not resolve, a plainer finding that refines a finer one in turn, a result that no cause brings about. All
/// problems in one pass; empty when the items fit together.
std::vector<input::Problem> check_together(const Items& items);

/// Only the ids that are used twice in one kind.
std::vector<input::Problem> used_twice(const Items& items);

}  // namespace wheeltapper::catalogue
