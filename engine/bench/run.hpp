#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/measure/measurement.hpp"
#include "engine/measure/verdict.hpp"

namespace wheeltapper::bench {

/// What the locomotive did during a run: stood with the motor off, ran on a stand, ran alone on the loop, pulled
/// the test train, or stood although it was told to go.
enum class RunKind { neutral, motor_only, light, loaded, standing };
enum class Direction { any, forward, reverse };

/// "loaded", "motor-only", ...: as in the case file and the knowledge. The other way: nothing if unknown.
std::string_view name(RunKind kind);
std::string_view name(Direction direction);
std::optional<RunKind> run_kind(std::string_view text);
std::optional<Direction> direction(std::string_view text);

/// One measured quantity of one run.
struct Reading {
  measure::Measurement value;   ///< mean of the repeats, with its whole doubt
  double repeatable = 0;        ///< part of the doubt of one run that repeats average away, in the unit
  double fixed = 0;             ///< part that all repeats share (the meter), in the unit
  std::vector<double> repeats;  ///< the single readings, in the unit, when there were several
  bool assumed_doubt = false;   ///< true when neither meter nor doubt was told: a usual doubt was taken
};

/// Under what the run was made, or under what a limit holds. What was not told is empty.
struct Conditions {
  std::optional<int> cars;
  std::optional<measure::Measurement> loop;  ///< length once round
  std::optional<double> rail_volts;          ///< V, as set for the test
  std::optional<double> laps_a_minute;       ///< for which a limit on amps holds
};

struct Run {
  std::string name;
  RunKind kind = RunKind::loaded;
  Direction direction = Direction::any;
  bool completed = true;  ///< false: it did not finish the laps; what was not seen then is not a "no"
  Conditions conditions;
  std::map<std::string, Reading, std::less<>> readings;  ///< by quantity id; "lap-rate" from laps and time
};

/// What is allowed, and when.
struct Limit {
  std::string quantity;
  RunKind run = RunKind::loaded;
  Direction direction = Direction::any;
  measure::Limits bounds;
  Conditions holds_for;
};

/// What a sound locomotive of the kind shows, or this one showed when it was healthy.
struct Usual {
  std::string quantity;
  RunKind run = RunKind::loaded;
  Direction direction = Direction::any;
  double value = 0;  ///< in the quantity's unit
};

/// Everything that was measured at the bench in one session.
struct Session {
  std::vector<Limit> limits;
  std::vector<Usual> usual;
  std::vector<Run> runs;
};

/// Laps a minute from counted laps and their time: 60 n / t, u = rate * u(t) / t; the count is exact.
/// \throws std::domain_error  unless laps >= 1, the unit is one of time and the time is above 0
measure::Measurement lap_rate(int laps, const measure::Measurement& time);

/// Speed over the track in m/s: laps a minute times length once round.
/// \throws std::domain_error  if the units are not of frequency and length
measure::Measurement track_speed(const measure::Measurement& laps_a_minute, const measure::Measurement& loop);

}  // namespace wheeltapper::bench
