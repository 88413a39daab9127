#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/session.hpp"
#include "engine/job/job.hpp"

namespace wheeltapper::statistics {

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
  double uncertainty;  ///< of it; scatter that the readings' own uncertainty does not explain widens it
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

/// The visits of one locomotive. Runs that were not finished count as what they read.
/// \param jobs  all of that locomotive, in any order
/// \throws input::BadInput  for a job that can't be read as a case
History history(const std::string& locomotive, const std::vector<job::Job>& jobs,
                const catalogue::Catalogue& catalogue);

}  // namespace wheeltapper::statistics
