#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/log/log.hpp"
#include "engine/measure/proportion.hpp"

namespace wheeltapper::log {

/// Of which jobs to count the repairs.
struct CuresOf {
  enum class By { everything, finding, cause, locomotive } by = By::everything;
  std::string id;  ///< of the finding or cause, or the locomotive's name
};

/// How long cures lasted.
struct Lasting {
  std::size_t followed = 0;     ///< cures of locomotives with a name
  std::size_t came_back = 0;    ///< of them within kSoon days
  std::optional<double> holds;  ///< chance to hold longer than kSoon days (Kaplan-Meier), from kEnough followed
  std::optional<double> error;  ///< its standard error (Greenwood)
};
inline constexpr double kSoon = 90;
inline constexpr std::size_t kEnough = 5;

/// What one repair did.
struct CureRow {
  std::string repair;
  std::size_t done = 0;            ///< in closed jobs
  std::size_t tried = 0;           ///< with a retest that tells
  std::size_t cured = 0;           ///< the retest passed
  measure::Interval wilson{0, 1};  ///< of cured / tried, 95 %; 0 to 1 without any
  /// With what is known beforehand: for a cause the knowledge's chance, worth kKnownFor trials; else Jeffreys.
  measure::BetaPosterior beta{0.5, 0, 0.5, {0, 1}};
  std::optional<double> median_minutes;
  Lasting lasting;
};
inline constexpr double kKnownFor = 4;

/// The cure table, the repairs done most first. A cure came back when a later job of the same locomotive has the same
/// finding or cause (as asked), or, for everything and for a locomotive, any cause in common or no cause said.
/// \param until  UTC: how far the log was looked at
std::vector<CureRow> cures(Log& log, const catalogue::Catalogue& catalogue, const CuresOf& of,
                           const std::string& until);

/// One reading of a visit, as it came or as it left.
struct PastReading {
  std::string job, at;
  bool left = false;  ///< after the last repair; else as it came
  std::string quantity;
  bench::RunKind run;
  bench::Direction direction;
  measure::Measurement value;
  std::optional<measure::Limits> limits;
  bench::Conditions conditions;  ///< of its run; only what was read under the same is compared
};

/// How a quantity moved over the visits, from what the locomotive left with.
struct Drift {
  std::string quantity;
  bench::RunKind run;
  bench::Direction direction;
  double a_year;       ///< in the quantity's unit
  double uncertainty;  ///< of it; scatter that the readings' own doubt does not explain widens it
  double rose;         ///< probability that it rises
  std::size_t visits;
  double coverage;  ///< factor on `uncertainty` for 95 %
};

struct Visit {
  std::string job, opened, closed, title;
  std::optional<job::Outcome> outcome;
  bool proven = false;
  std::vector<std::string> causes, repairs;
};

struct History {
  std::string locomotive;
  std::vector<Visit> visits;  ///< the first first
  std::vector<PastReading> readings;
  std::vector<Drift> drifts;  ///< at least three visits over 30 days or more with as many cars on the same loop
};

/// The visits of one locomotive, by its name. Runs that were not finished count as what they read.
History history(Log& log, const catalogue::Catalogue& catalogue, const std::string& locomotive);

/// The names of locomotives in the log.
std::vector<std::string> locomotives(Log& log);

}  // namespace wheeltapper::log
