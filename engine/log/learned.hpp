#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/learn/lesson.hpp"
#include "engine/log/log.hpp"

namespace wheeltapper::log {

/// All closed jobs, in the order in which they were closed.
std::vector<job::Summary> summaries(Log& log);

/// Replaces the lesson before it.
void keep(Log& log, const learn::Lesson& lesson);
/// Nothing if nothing was learned.
std::optional<learn::Lesson> lesson(Log& log);
/// Goes back to the knowledge as it was shipped. True if there was a lesson.
bool forget(Log& log);
/// False if the numbers that the log keeps are not those that were learned: it is damaged.
bool lesson_is_whole(Log& log);
/// Jobs closed since the lesson; all if there is none.
std::size_t closed_since_lesson(Log& log);

}  // namespace wheeltapper::log
