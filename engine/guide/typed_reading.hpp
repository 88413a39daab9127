#pragma once
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>

#include "engine/cases/case.hpp"
#include "engine/input/input_error.hpp"

namespace wheeltapper::guide {

/// How far a reading, as reading_body() makes it, lies from its limit, where that is so far that a unit or a point may
/// have slipped (bench::far_from_limit()); such a reading has to be said twice.
std::optional<std::string> far_from_limit(const catalogue::Catalogue& catalogue, const cases::Case& the_case,
                                          const nlohmann::json& body);

/// What a reading answers to, for `interpret` and for single commands: amps and the like, or laps.
/// \throws input::InputError  with a plain sentence
nlohmann::json reading_body(const catalogue::Catalogue& catalogue, const std::string& quantity, std::string_view typed);

/// True for digits, point, sign and exponent alone: a number without its unit.
bool bare_number(std::string_view text);

}  // namespace wheeltapper::guide
