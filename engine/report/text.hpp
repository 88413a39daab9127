#pragma once
#include <string>

#include "engine/cases/diagnose.hpp"
#include "engine/catalogue/catalogue.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// The verdicts of a case's runs: limit by limit, what was read, what is allowed, the call and its probability, what
/// would settle a close one, what is missing.
std::string assessment_text(const catalogue::Catalogue& catalogue, const cases::Case& the_case,
                            const std::vector<bench::LimitVerdict>& verdicts, const bench::BenchAnalysis& analysis,
                            const Style& style);

/// The diagnosis: hazards first, verdicts, places with their causes and what speaks for and against them, the next
/// step with its cautions ahead of it, and what follows. One screen unless style.all.
std::string diagnosis_text(const cases::Case& the_case, const cases::Diagnosis& diagnosis, const Style& style);

/// One item of the knowledge in plain words.
std::string explain_cause(const catalogue::Catalogue& catalogue, const catalogue::Cause& cause, const Style& style);
std::string explain_finding(const catalogue::Catalogue& catalogue, const catalogue::Finding& finding,
                            const Style& style);
std::string explain_check(const catalogue::Catalogue& catalogue, const catalogue::Check& check, const Style& style);
std::string explain_repair(const catalogue::Catalogue& catalogue, const catalogue::Repair& repair, const Style& style);
std::string explain_caution(const catalogue::Caution& caution, const Style& style);
std::string explain_context(const catalogue::Catalogue& catalogue, const catalogue::Context& context,
                            const Style& style);
std::string explain_place(const catalogue::Catalogue& catalogue, const catalogue::Place& place, const Style& style);

}  // namespace wheeltapper::report
