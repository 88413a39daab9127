#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/cases/diagnose.hpp"
#include "engine/catalogue/catalogue.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// "amps, with the cars, forward". \param neutral  how the family says that no motor runs (MotorFacts::neutral)
std::string what_was_read(const catalogue::Catalogue& catalogue, const bench::Limit& limit, bench::Direction direction,
                          std::string_view neutral);
/// "at most 2.0 A", "at least 9.0/min".
std::string allowed_text(const measure::Limits& limits);
std::string_view call_text(measure::Call call);
/// "8 min, plug out".
std::string work_text(double minutes, catalogue::Power power, catalogue::Skill skill);
/// Up to the first full stop, with it.
std::string_view first_sentence(std::string_view text);
/// The cautions, most severe first, each ahead of what it guards. `whole`: with all their sentences.
void put_cautions(Page& page, const catalogue::Catalogue& catalogue, const std::vector<std::string>& ids,
                  std::size_t indent, bool whole);
void put_steps(Page& page, const std::vector<std::string>& steps, std::size_t indent);
void put_verdicts(Page& page, const catalogue::Catalogue& catalogue, const cases::Case& the_case,
                  const std::vector<bench::LimitVerdict>& verdicts, bool all);

}  // namespace wheeltapper::report
