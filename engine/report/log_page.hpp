#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "engine/learn/learn.hpp"
#include "engine/learn/score.hpp"
#include "engine/log/cures.hpp"
#include "engine/log/learned.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// The cure table, with what its columns mean.
std::string cures_text(const catalogue::Catalogue& catalogue, const log::CuresOf& of,
                       const std::vector<log::CureRow>& rows, const Style& style);
nlohmann::ordered_json cures_json(const log::CuresOf& of, const std::vector<log::CureRow>& rows);
/// The same rows as CSV (RFC 4180).
std::string cures_csv(const std::vector<log::CureRow>& rows);

/// The visits of one locomotive and its readings over time, each drawn against its limit; drift in plain words.
std::string history_text(const catalogue::Catalogue& catalogue, const log::History& history, const Style& style);
nlohmann::ordered_json history_json(const log::History& history);

/// What was learned: whether it helps, what moved most.
std::string lesson_text(const catalogue::Catalogue& catalogue, const log::Lesson& lesson, const Style& style);
nlohmann::ordered_json lesson_json(const log::Lesson& lesson);

/// A score as it is kept with a lesson, and back.
nlohmann::json score_json(const learn::Score& score, double factor);

}  // namespace wheeltapper::report
