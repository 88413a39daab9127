#pragma once
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "engine/learn/learn.hpp"
#include "engine/log/log.hpp"

namespace wheeltapper::log {

/// All closed jobs, in the order in which they were closed.
std::vector<job::Summary> summaries(Log& log);

/// What the log keeps of a lesson.
struct Lesson {
  std::vector<learn::Parameter> parameters;
  std::string at;         ///< UTC
  std::string knowledge;  ///< learn::fingerprint() of what it goes on from
  std::size_t jobs = 0;   ///< that counted
  nlohmann::json report;  ///< of the scores (cli: learn)
};
/// Replaces the lesson before it.
void keep(Log& log, const Lesson& lesson);
/// Nothing if nothing was learned.
std::optional<Lesson> lesson(Log& log);
/// Goes back to the knowledge as it was shipped. True if there was a lesson.
bool forget(Log& log);
/// False if the numbers that the log keeps are not those that were learned: it is damaged.
bool lesson_is_whole(Log& log);
/// Jobs closed since the lesson; all if there is none.
std::size_t closed_since_lesson(Log& log);

}  // namespace wheeltapper::log
