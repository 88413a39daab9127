#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/drive_runs.hpp"
#include "engine/bench/session.hpp"

namespace wheeltapper::bench {

/// What the runs of a drive are held against.
enum class Against { nothing, healthy, usual, limits, other_direction, first_minutes };

/// Of a test that warms up, the first minutes or the last; runs without a minute belong to the first.
enum class Warm { first, last };

/// Minutes of running that count as one: a test at two volts takes that long.
inline constexpr double kSameMinutes = 3;

/// The first minute among the loaded runs of a direction.
std::optional<double> first_minute(const std::vector<Run>& runs, Direction direction);
/// The last minute among them, where there is a clearly earlier one too.
std::optional<double> last_minute(const std::vector<Run>& runs, Direction direction);

/// What runs are brought to before they are compared: the loop of the baseline, and its train.
struct LoopAndTrain {
  std::optional<double> loop;  ///< m
  std::optional<int> cars;
};

/// Of the first loaded run with volts, amps and laps.
LoopAndTrain loop_and_train_of(const std::vector<Run>& runs);

/// Loaded runs with volts, amps and laps, of the train and brought to the loop that they are to be compared with;
/// neutral and motor-only amps beside them.
DriveRuns drive_runs(const std::vector<Run>& runs, Direction direction, Warm warm = Warm::first,
                     const LoopAndTrain& same = {});

/// Healthy figures for a direction.
struct KnownBase {
  Baseline baseline{};
  Against against = Against::nothing;
  std::string words{};  ///< "the healthy figures"
  LoopAndTrain same{};
};

/// Session::healthy; else the usual values; else the limits, taken as 112 % of the healthy amps and 94 % of the healthy
/// laps (house figures, common practice; the healthy figure then known to 12 and 8 %, elicited judgement).
std::optional<KnownBase> base_of(const Session& session, Direction way);

}  // namespace wheeltapper::bench
