// Worked tables of the two-volt line, the volts-to-amps ratio and the droop. Common practice, no source: the figures
// are one model's, printed to a digit or two, and follow from two cards: series-wound 12 V, 1.60 A (2.15 less
// 0.55), 9.6 laps, 2.8 Ohm, 1.0 V of brushes; permanent magnet 12 V, 0.45 A, 8.0 laps, 8 Ohm, 0.3 V.
#include <catch2/catch.hpp>
#include <cmath>

#include "engine/bench/infer_drive.hpp"

namespace {

using Catch::WithinAbs;
using namespace wheeltapper::bench;

struct Card {
  Motor motor;
  double amps;
};

/// Speeds in laps a minute, so flux in V/(A laps/min).
Card series_card() {
  Motor motor{.kind = Motor::Kind::series_dc, .resistance = 2.8, .flux = 1, .brush_volts = 1.0};
  motor.flux = back_volts(motor, 12, 1.60) / (1.60 * 9.6);
  return {motor, 1.60};
}
Card magnet_card() {
  Motor motor{.kind = Motor::Kind::permanent_magnet, .resistance = 8, .flux = 1, .brush_volts = 0.3};
  motor.flux = back_volts(motor, 12, 0.45) / 8.0;
  return {motor, 0.45};
}

struct Fault {
  double drag = 1, ohms = 0, flux = 1;
};

/// What the bench shows of a card with a fault: amps, laps at 12 V, and the line from 9 and 12 V by infer().
struct Shown {
  double amps, laps, slope, flux_figure, ohms;
};
Shown show(const Card& card, const Fault& fault) {
  Motor motor = card.motor;
  motor.resistance += fault.ohms;
  motor.flux *= fault.flux;
  const double amps = amps_for_torque(motor, torque_at(card.motor, card.amps) * fault.drag);
  DriveRuns runs{.points = {}, .neutral = UncertainValue{0, 1e-9, 0}, .alone = {}};
  for (const double volts : {9.0, 12.0})
    runs.points.push_back({{volts, 0.01 * volts, 0}, {amps, 0.02 * amps, 0}, {speed_for(motor, volts, amps), 0.01, 0}});
  const MotorFacts facts{
      .kind = motor.kind, .brush_volts = {motor.brush_volts, 1e-9, 0}, .resistance = {}, .saturation = {}};
  const auto inferred = infer(facts, runs, nullptr);
  REQUIRE(inferred.indexes);
  const double slope = 3 / (runs.points[1].rate.value - runs.points[0].rate.value);
  return {amps, runs.points[1].rate.value, slope, inferred.indexes->flux_figure->value,
          inferred.indexes->resistance->value};
}

/// Half a unit of the last printed digit, and a little for figures that were rounded on the way.
void compare(const Shown& got, const Shown& printed) {
  CHECK_THAT(got.amps, WithinAbs(printed.amps, 0.006));
  CHECK_THAT(got.laps, WithinAbs(printed.laps, 0.06));
  CHECK_THAT(got.slope, WithinAbs(printed.slope, 0.0075));
  CHECK_THAT(got.flux_figure, WithinAbs(printed.flux_figure, 0.006));
  CHECK_THAT(got.ohms, WithinAbs(printed.ohms, 0.05));
}

TEST_CASE("The two-volt line of a series-wound motor", "[published][indexes]") {
  const Card card = series_card();
  compare(show(card, {}), {1.60, 9.6, 0.68, 0.425, 2.8});
  compare(show(card, {.drag = 1.45}), {1.93, 6.9, 0.82, 0.425, 2.8});
  compare(show(card, {.ohms = 0.9}), {1.60, 7.5, 0.68, 0.425, 3.7});
  compare(show(card, {.flux = 0.8}), {1.79, 9.9, 0.61, 0.34, 2.8});
  compare(show(card, {.drag = 1.3, .flux = 0.9}), {1.92, 7.6, 0.73, 0.38, 2.8});
}

TEST_CASE("The two-volt line of a permanent-magnet motor", "[published][indexes]") {
  const Card card = magnet_card();
  compare(show(card, {}), {0.45, 8.0, 1.01, 1.01, 8});
  compare(show(card, {.drag = 1.4}), {0.63, 6.6, 1.01, 1.01, 8});
  compare(show(card, {.ohms = 6}), {0.45, 5.3, 1.01, 1.01, 14});
  compare(show(card, {.flux = 0.55}), {0.82, 9.3, 0.56, 0.56, 8});
}

TEST_CASE("The uncertainty of the line", "[published][indexes]") {
  // Volts to 1 %, ten laps to 0.3 s, amps to 2 %: the notes expect the slope to about 5 % and the ohms to about 10 %.
  // With readings that err each on its own the sum over all of them gives 11 % for the ohms, and 10 % for the flux
  // figure: twice the slope's 5 %, because the amps of each run count too, where the notes take one figure for both.
  // With one meter for both, whose error is shared, it is 3 %.
  const Card card = series_card();
  for (const bool shared : {false, true}) {
    DriveRuns runs{.points = {}, .neutral = UncertainValue{0, 1e-9, 0}, .alone = {}};
    for (const double volts : {9.0, 12.0}) {
      const double laps = speed_for(card.motor, volts, 1.6);
      const double u = 0.01 * volts;
      runs.points.push_back({{volts, shared ? 0.2 * u : u, shared ? u : 0},
                             {1.6, shared ? 0.005 : 0.032, shared ? 0.032 : 0},
                             {laps, laps * 0.3 / (600 / laps), 0}});
    }
    const auto inferred =
        infer({.kind = Motor::Kind::series_dc, .brush_volts = {1, 1e-9, 0}, .resistance = {}, .saturation = {}}, runs,
              nullptr);
    REQUIRE(inferred.indexes);
    const double flux = inferred.indexes->flux_figure->uncertainty / inferred.indexes->flux_figure->value;
    const double ohms = inferred.indexes->resistance->uncertainty / inferred.indexes->resistance->value;
    INFO("shared " << shared << " flux " << flux << " ohms " << ohms);
    CHECK_THAT(flux, WithinAbs(shared ? 0.03 : 0.10, 0.005));
    CHECK_THAT(ohms, WithinAbs(shared ? 0.03 : 0.11, 0.005));
  }
}

TEST_CASE("Volts over amps at a fixed lap rate", "[published][indexes]") {
  // Extra drag leaves the ratio of a series-wound motor alone and lowers that of a magnet motor (26 to 21); extra ohms
  // raise both by just those ohms; a weak field lowers both.
  const auto ratio = [](const Card& card, const Fault& fault, double laps) {
    Motor motor = card.motor;
    motor.resistance += fault.ohms;
    motor.flux *= fault.flux;
    const double amps = amps_for_torque(motor, torque_at(card.motor, card.amps) * fault.drag);
    return (volts_for(motor, amps, laps) - motor.brush_volts) / amps;
  };
  const Card a = series_card();
  const Card b = magnet_card();
  CHECK_THAT(ratio(a, {.drag = 1.45}, 9.6), WithinAbs(ratio(a, {}, 9.6), 1e-12));
  CHECK_THAT(ratio(b, {}, 8), WithinAbs(26, 0.5));
  CHECK_THAT(ratio(b, {.drag = 1.4}, 8), WithinAbs(21, 0.5));
  for (const Card& card : {a, b}) {
    CHECK_THAT(ratio(card, {.ohms = 0.9}, 8) - ratio(card, {}, 8), WithinAbs(0.9, 1e-12));
    CHECK(ratio(card, {.flux = 0.8}, 8) < ratio(card, {}, 8));
  }
}

TEST_CASE("Droop from light to loaded at the same volts", "[published][indexes]") {
  // Reference B: 9.2 light to 8.0 loaded; with the magnet at 55 %: 13.2 to 9.3. The light run's drag is the one that
  // makes 9.2 laps of it.
  const Card card = magnet_card();
  const double light = (12 - 0.3 - 9.2 * card.motor.flux) / 8;  // A
  const auto laps = [&](double flux, double torque_amps) {
    Motor motor = card.motor;
    motor.flux *= flux;
    return speed_for(motor, 12, amps_for_torque(motor, card.motor.flux * torque_amps));
  };
  CHECK_THAT(laps(1, light), WithinAbs(9.2, 1e-9));
  CHECK_THAT(laps(1, 0.45), WithinAbs(8.0, 1e-9));
  CHECK_THAT(laps(0.55, light), WithinAbs(13.2, 0.25));
  CHECK_THAT(laps(0.55, 0.45), WithinAbs(9.3, 0.05));
  CHECK_THAT(100 * (1 - laps(1, 0.45) / laps(1, light)), WithinAbs(13, 0.5));
  CHECK_THAT(100 * (1 - laps(0.55, 0.45) / laps(0.55, light)), WithinAbs(30, 0.5));
}

}  // namespace
