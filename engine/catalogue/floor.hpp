#pragma once
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::catalogue {

/// Where items laid over others would make a person less safe. An overlay may add to what protects and make it
/// stricter, never weaken it:
/// - a rule keeps its findings, its checks and its cautions, may withhold more, and stays cleared by nothing where
///   nothing clears it; its sentence holds the sentence below it;
/// - a caution keeps its signal word or gets a graver one, and its text holds the text below it;
/// - a check or repair keeps its power state, opens no less, and keeps its cautions (work that differs in that is other
///   work and wants another id); a check that a rule waits for keeps its results and steps, and each one
///   those that look for a hazard;
/// - a finding that fires a rule keeps its name, its levels, its words and its reading (it applies to all families).
/// One problem for each point, at its place in the overlay; empty when nothing is weakened.
std::vector<input::Problem> weakenings(const Items& base, const Items& over);

}  // namespace wheeltapper::catalogue
