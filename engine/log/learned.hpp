#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/learn/learned_numbers.hpp"
#include "engine/log/log.hpp"

namespace wheeltapper::log {

/// All closed jobs, in the order in which they were closed.
std::vector<job::Summary> summaries(Log& log);

/// Replaces those before them.
void keep(Log& log, const learn::LearnedNumbers& numbers);
/// Nothing if nothing was learned.
std::optional<learn::LearnedNumbers> learned_numbers(Log& log);
/// Goes back to the knowledge as it was shipped. True if there were any.
bool forget(Log& log);
/// False if the numbers that the log keeps are not those that were learned: it is damaged.
bool learned_is_whole(Log& log);
/// Jobs closed since then; all if there is none.
std::size_t closed_since_learning(Log& log);

}  // namespace wheeltapper::log
