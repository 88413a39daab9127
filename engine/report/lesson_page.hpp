#pragma once
#include <nlohmann/json.hpp>
#include <string>

#include "engine/catalogue/catalogue.hpp"
#include "engine/learn/lesson.hpp"
#include "engine/learn/score.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// What was learned: whether it helps, what moved most.
std::string lesson_text(const catalogue::Catalogue& catalogue, const learn::Lesson& lesson, const Style& style);
nlohmann::ordered_json lesson_json(const learn::Lesson& lesson);

/// A score as it is kept with a lesson, and back.
nlohmann::json score_json(const learn::Score& score, double factor);

}  // namespace wheeltapper::report
