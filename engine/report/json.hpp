#pragma once
#include <nlohmann/json.hpp>
#include <vector>

#include "engine/cases/diagnose.hpp"

namespace wheeltapper::report {

/// The verdicts of a case (schema/output.schema.json).
nlohmann::ordered_json assessment_json(const cases::Case& the_case, const std::vector<bench::LimitVerdict>& verdicts,
                                       const bench::BenchAnalysis& analysis);

/// The whole diagnosis (schema/output.schema.json): every cause of the family, likeliest first.
nlohmann::ordered_json diagnosis_json(const cases::Case& the_case, const cases::Diagnosis& diagnosis);

/// Cautions by id, with signal word and text.
nlohmann::ordered_json cautions_json(const catalogue::Catalogue& catalogue, const std::vector<std::string>& ids);
/// A check or repair with its own power state, cautions and steps.
nlohmann::ordered_json step_json(const catalogue::Catalogue& catalogue, const plan::BenchStep& step);

}  // namespace wheeltapper::report
