#pragma once
#include <nlohmann/json.hpp>
#include <string>

#include "engine/catalogue/catalogue.hpp"
#include "engine/learn/learned_numbers.hpp"
#include "engine/learn/score.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// What was learned: whether it helps, what moved most.
std::string learned_text(const catalogue::Catalogue& catalogue, const learn::LearnedNumbers& numbers,
                         const Style& style);
nlohmann::ordered_json learned_json(const learn::LearnedNumbers& numbers);

/// A score as it is kept with the numbers, and back.
nlohmann::json score_json(const learn::Score& score, double factor);

}  // namespace wheeltapper::report
