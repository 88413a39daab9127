#pragma once
#include <optional>
#include <vector>

#include "engine/bench/session.hpp"

namespace wheeltapper::bench {

/// One steady run: volts at the rail, amps in all, laps a minute.
struct DrivePoint {
  UncertainValue volts;
  UncertainValue amps;
  UncertainValue rate;
};

/// Runs that belong together, made at one visit.
struct DriveRuns {
  std::vector<DrivePoint> points;         ///< the same train in one direction, at different volts, or light and loaded
  std::optional<UncertainValue> neutral;  ///< A that never enter the motor; nothing: not read
  std::optional<UncertainValue>
      alone;  ///< A in all with the wheels off the track (motor-only), at the volts of `neutral`
  /// V at the rail when the neutral amps were read; nothing: those of the first run.
  std::optional<double> neutral_volts = std::nullopt;
};

/// What the indexes of these runs are held against.
struct Baseline {
  DriveRuns runs;
  bool same_meters = false;  ///< then shared uncertainties cancel between now and then
  /// Relative standard uncertainty of the drag of one and the same train from then to now: a few per cent from day to
  /// day, hardly any within one test.
  double drag_uncertainty = 0;
};

/// The runs with those at about the same volts (kSameVolts) and amps (10 %) drawn together into their mean: shared
/// uncertainties stay, own ones fall with the number.
DriveRuns drawn_together(const DriveRuns& runs);

}  // namespace wheeltapper::bench
