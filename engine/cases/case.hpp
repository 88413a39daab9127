#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "engine/belief/evidence.hpp"
#include "engine/belief/network.hpp"
#include "engine/bench/session.hpp"
#include "engine/catalogue/catalogue.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/text_file.hpp"

namespace wheeltapper::cases {

/// Everything told about one locomotive's visit: the limits, the runs, the answers, what is known beforehand.
struct Case {
  std::string title;
  std::string locomotive;  ///< its name or number; may be empty
  std::string family;      ///< id; of a case that was read never empty
  std::string complaint;   ///< in the owner's words; not read by the engine
  bench::Session session;
  belief::Background background;
  belief::Observations observations;  ///< `readings` in it, also of the past, are not set: diagnose() does that
  std::vector<bench::Session> past;   ///< of a job: the sessions of its earlier stages, in step with observations.past
};

/// A case of that family of which nothing else is told.
Case case_of_family(const catalogue::Family& family);

/// Reads a case file (cases/schema/case.schema.json describes it).
/// \param file    its name, for messages
/// \param beside  hands over the series that it names; without it none can be read
/// \throws input::BadInput  with every mistake: form, units, and ids that the catalogue does not have, with the
///         nearest one that it has
Case read_case(std::string_view text, const std::string& file, const catalogue::Catalogue& catalogue,
               const input::Beside& beside = {});

/// The same from JSON that was parsed already; a series stands in it as {"name", "text"}.
Case case_from(const nlohmann::json& value, const std::string& file, const catalogue::Catalogue& catalogue);

/// The level that a word means for a finding: "no" is 0, "yes" nothing (some level), a level's name that
/// level. \throws input::InputError  for another word, naming those that are allowed
std::optional<std::size_t> level_of(const catalogue::Finding& finding, std::string_view word);

/// Of a list of signs that was read: not among those that were named. Nobody looked for it.
inline constexpr std::string_view kNotNoticed = "not noticed";

/// True for the words that say that something was not observed: "unsure", "not seen", "skipped", "not noticed".
bool is_not_observed(std::string_view word);

}  // namespace wheeltapper::cases
