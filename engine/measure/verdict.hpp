#pragma once
#include <optional>

#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"

namespace wheeltapper::measure {

/// Bounds of what is allowed, in one unit; at least one is there.
struct Limits {
  std::optional<double> at_least;
  std::optional<double> at_most;
  Unit unit;
};

enum class Call { within, outside, too_close };

/// What a reading says about a limit.
struct Verdict {
  Call call;
  double conforms;  ///< probability, 0 to 1, that the true value is within the limits
};

/// Probability that the true value lies within the limits (JCGM 106:2012, clause 7): for an upper limit
/// Phi((limit - y) / u), with Student's t in place of the normal distribution where the degrees of freedom of u
/// are finite. \throws input::DomainError  if the units don't convert, no bound is given, one is not a number, or the
/// lower is above the upper
double conformance(const Measurement& reading, const Limits& limits);

/// Within limits when the chance of conforming is at least `demand`, outside when it is at most 1 - `demand`,
/// else too close to call. `demand` lies in [0.5, 1); the default demands 95 % either way.
Verdict judge(const Measurement& reading, const Limits& limits, double demand = 0.95);

/// What would settle a reading that is too close to call.
struct Settling {
  /// Runs in all, more than were made, each repeated from the start, after which the mean decides if it stays where it
  /// is; nothing when no number of runs up to 20 does, because the meter's own uncertainty is too large.
  std::optional<int> runs;
  /// Standard uncertainty that the meter may have at most, if the scatter were nothing.
  double meter_uncertainty;
};

/// \param repeatable  the part of the standard uncertainty of ONE run that repeating averages away
/// \param fixed       the part that all runs share (meter, loop length)
/// Both in the unit of `reading`, at least 0. The reading stays where it is: only its uncertainty shrinks, and with it
/// the chances of both limits (normal distribution: the scatter of one run counts as known). A reading exactly on a
/// limit is settled by nothing: runs is empty and meter_uncertainty 0. \param made  runs that the reading is the mean
/// of, at least 1
Settling what_settles(const Measurement& reading, const Limits& limits, double repeatable, double fixed,
                      double demand = 0.95, int made = 1);

}  // namespace wheeltapper::measure
