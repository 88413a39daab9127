#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "engine/belief/evidence.hpp"
#include "engine/belief/network.hpp"
#include "engine/bench/session.hpp"
#include "engine/catalogue/catalogue.hpp"
#include "engine/measure/meter.hpp"

namespace wheeltapper::job {

/// Everything told about one locomotive's visit: the limits, the runs, the answers, what is known beforehand.
struct Case {
  std::string title;
  std::string locomotive;  ///< its name or number; may be empty
  std::string family = "ac-series";
  std::string complaint;  ///< in the owner's words; not read by the engine
  bench::Session session;
  belief::Background background;
  belief::Observations observations;  ///< `session` in it is not set: diagnose() does that
};

/// Reads a case file (cases/schema/case.schema.json describes it).
/// \param file  its name, for messages
/// \throws catalogue::BadInput  with every mistake: form, units, and ids that the catalogue does not have, with the
///         nearest one that it has
Case read_case(std::string_view text, const std::string& file, const catalogue::Catalogue& catalogue);

/// The same from JSON that was parsed already; a series stands in it as {"name", "text"}.
Case case_from(const nlohmann::json& value, const std::string& file, const catalogue::Catalogue& catalogue);

/// The same from a path. Series of readings that it names stand in the same folder.
Case load_case(const std::string& path, const catalogue::Catalogue& catalogue);

/// A reading with its doubt: typed values (at least one), from a meter if there is one, else with the quantity's usual
/// doubt. Repeats add the scatter of their mean (Type A, JCGM 100:2008 4.2) to what all share.
/// \throws std::invalid_argument  with a plain message: no value, a unit of another kind, a negative doubt
bench::Reading make_reading(const catalogue::Quantity& quantity, const std::vector<std::string>& typed,
                            const measure::Meter* meter);

/// Laps a minute from the time of `laps` laps, once or several times.
/// \throws std::invalid_argument  as make_reading, or for laps below 1 or a time not above 0
bench::Reading make_lap_rate(const catalogue::Quantity& lap_time, int laps, const std::vector<std::string>& times,
                             const measure::Meter* watch);

/// A reading from the mean of a series: its Type A doubt, and the meter's, or the quantity's usual one, as the rest.
bench::Reading make_series_reading(const catalogue::Quantity& quantity, const bench::SeriesMean& mean,
                                   const measure::Meter* meter);

/// The level that a word means for a finding: "no" is 0, "yes" nothing (some level), a level's name that
/// level. \throws std::invalid_argument  for another word, naming those that are allowed
std::optional<std::size_t> level_of(const catalogue::Finding& finding, std::string_view word);

/// True for the words that say that something was not observed: "unsure", "not seen", "skipped".
bool is_not_observed(std::string_view word);

}  // namespace wheeltapper::job
