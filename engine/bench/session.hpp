#pragma once
#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/drive.hpp"
#include "engine/bench/series.hpp"
#include "engine/bench/wire.hpp"
#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"
#include "engine/measure/verdict.hpp"

namespace wheeltapper::bench {

/// What the locomotive did during a run: stood with the motor off, ran on a stand, ran alone on the loop, pulled
/// the test train, or stood although it was told to go.
enum class RunKind { neutral, motor_only, light, loaded, standing };
enum class Direction { any, forward, reverse };

/// The words of the case file and the knowledge for each value, in its order.
inline constexpr std::array<std::string_view, 5> kRunKindWords{"neutral", "motor-only", "light", "loaded", "standing"};
inline constexpr std::array<std::string_view, 3> kDirectionWords{"any", "forward", "reverse"};

/// "loaded", "motor-only", ...: as in the case file and the knowledge. The other way: nothing if unknown.
std::string_view name(RunKind kind);
std::string_view name(Direction direction);
std::optional<RunKind> run_kind(std::string_view text);
std::optional<Direction> direction(std::string_view text);

/// One measured quantity of one run.
struct Reading {
  measure::Measurement value;   ///< mean of the repeats, with its whole uncertainty
  double repeatable = 0;        ///< part of the uncertainty of one run that repeats average away, in the unit
  double fixed = 0;             ///< part that all repeats share (the meter), in the unit
  std::vector<double> repeats;  ///< the single readings, in the unit, when there were several
  bool assumed_uncertainty =
      false;            ///< true when neither meter nor uncertainty was told: a typical uncertainty was taken
  std::string meter{};  ///< its name; empty: none was told
};

/// Of a meter's fixed uncertainty, what is new with each reading (elicited judgement).
inline constexpr double kNewEachReading = 0.2;

/// First less second, in the unit of the first. On one meter (the same name, or none told for either) the fixed
/// uncertainties cancel all but a fifth (elicited judgement); the scatter of repeats never does.
measure::Measurement difference_of(const Reading& first, const Reading& second);

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
  std::optional<double> minute;                          ///< min of running before it, for drift with warmth
  std::optional<Series> series;                          ///< readings of the meter one after the other
};

/// What is allowed, and when.
struct Limit {
  std::string quantity;
  RunKind run = RunKind::loaded;
  Direction direction = Direction::any;
  measure::Limits bounds;
  Conditions holds_for;
};

/// False where a run was made under conditions from which no sum leads to the limit's: another number of cars, or volts
/// at the rail that are more than kOtherVolts off. What was not told counts as alike.
bool comparable(const Limit& limit, const Run& run);
inline constexpr double kOtherVolts = 0.15;
/// Volts that differ by less, in proportion, count as alike (common practice, no source).
inline constexpr double kSameVolts = 0.03;

/// What a sound locomotive of the kind shows, or this one showed when it was healthy.
struct Usual {
  std::string quantity;
  RunKind run = RunKind::loaded;
  Direction direction = Direction::any;
  double value = 0;  ///< in the quantity's unit
};

/// Runs of the same locomotive when it was sound, or of its class card.
struct Healthy {
  std::vector<Run> runs;
  bool same_meters = false;
  std::string from;  ///< in words: "class card", "its own run of last spring"
};

/// A value with the two parts of its standard uncertainty: its own, and the one that it shares with every other value
/// that was read on the same meter (fully, in proportion to each one's `shared`).
struct UncertainValue {
  double value = 0;
  double own = 0;
  double shared = 0;
};

/// What is known of the motor beforehand.
struct MotorFacts {
  Motor::Kind kind = Motor::Kind::series_ac;
  UncertainValue brush_volts{1.0, 0.3, 0};   ///< V (elicited judgement: carbon on copper, both brushes)
  std::optional<UncertainValue> resistance;  ///< Ohm, warm and sound, all in the motor's path
  double reactance = 0;                      ///< Ohm; 0: `resistance` is an effective figure that has it inside
  std::optional<double> saturation;          ///< A, see Motor
  std::string neutral = {};  ///< how its family says that power is on and no motor runs: "in neutral"; empty: it can't
};

/// What is known of the rig without a reading.
struct Rig {
  std::optional<Leads> leads;
  std::optional<double> ammeter_ohms;
};

/// Ohms of a winding cold and just after a run.
struct WindingReadings {
  measure::Measurement cold_ohms, hot_ohms, cold, room;
  std::string insulation = "A";  ///< thermal class
};

/// Everything that was measured at the bench in one session.
struct Session {
  std::vector<Limit> limits;
  std::vector<Usual> usual;
  std::vector<Run> runs;
  std::optional<Healthy> healthy;
  MotorFacts motor;
  std::optional<double> wheel_diameter;  ///< m, of a driving wheel over the tread
  Rig rig;
  std::optional<WindingReadings> winding;
};

/// Laps a minute from counted laps and their time: 60 n / t, u = rate * u(t) / t; the count is exact.
/// \throws input::DomainError  unless laps >= 1, the unit is one of time and the time is above 0
measure::Measurement lap_rate(int laps, const measure::Measurement& time);

/// Speed over the track in m/s: laps a minute times length once round.
/// \throws input::DomainError  if the units are not of frequency and length
measure::Measurement track_speed(const measure::Measurement& laps_a_minute, const measure::Measurement& loop);

}  // namespace wheeltapper::bench
