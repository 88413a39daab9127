#include "engine/bench/drive.hpp"

#include <catch2/catch.hpp>
#include <random>

#include "engine/input/input_error.hpp"

using namespace wheeltapper::bench;

namespace {

Drive some_drive(Motor::Kind kind) {
  Drive drive;
  drive.motor = {.kind = kind, .resistance = 2.8, .flux = 0.012, .brush_volts = 1.0};
  if (kind == Motor::Kind::series_ac) drive.motor.reactance = 1.5;
  if (kind == Motor::Kind::permanent_magnet) drive.motor.flux = 0.02;
  drive.mechanism = {.gearing = 20, .wheel_diameter = 0.038, .efficiency = 0.6, .friction = 0.006, .viscous = 1e-5};
  drive.train = {.straight = 0.8, .curve = 0.5, .curve_share = 0.75};
  drive.parallel = {{0.2, 12}, {0.35, 12}};
  return drive;
}

}  // namespace

TEST_CASE("running at a speed and running at its volts are one and the same", "[drive]") {
  for (const auto kind : {Motor::Kind::series_dc, Motor::Kind::series_ac, Motor::Kind::permanent_magnet}) {
    const Drive drive = some_drive(kind);
    for (const double speed : {0.1, 0.3, 0.6}) {
      const Steady there = steady_at_speed(drive, speed);
      const Steady back = steady_at_volts(drive, there.volts);
      CHECK(back.track_speed == Approx(speed));
      CHECK(back.motor_amps == Approx(there.motor_amps));
      CHECK(back.torque == Approx(load_torque(drive, back.motor_speed)));
      CHECK(back.total_amps - back.motor_amps == Approx(0.55 * there.volts / 12));
      CHECK(amps_for(drive.motor, there.volts, there.motor_speed) == Approx(there.motor_amps));
      // What the motor gives at its shaft is what it takes less what it burns.
      CHECK(back.torque * back.motor_speed == Approx(back.back_volts * back.motor_amps));
    }
  }
}

TEST_CASE("a drive that can't pull its load stands and draws the stall amps", "[drive]") {
  Drive drive = some_drive(Motor::Kind::series_dc);
  drive.train.straight = 500;
  const Steady stalled = steady_at_volts(drive, 12);
  CHECK(stalled.motor_speed == 0);
  CHECK(stalled.motor_amps == Approx((12 - 1) / 2.8));
}

TEST_CASE("more drag, more ohms and a weaker field each do what the bench says", "[drive]") {
  for (const auto kind : {Motor::Kind::series_dc, Motor::Kind::series_ac, Motor::Kind::permanent_magnet}) {
    const Drive sound = some_drive(kind);
    const Steady base = steady_at_volts(sound, 12);
    Drive draggy = sound;
    draggy.train.straight *= 2;
    CHECK(steady_at_volts(draggy, 12).motor_amps > base.motor_amps);
    CHECK(steady_at_volts(draggy, 12).track_speed < base.track_speed);
    Drive resistive = sound;
    resistive.motor.resistance += 1;
    CHECK(steady_at_volts(resistive, 12).motor_amps == Approx(base.motor_amps).epsilon(0.03));
    CHECK(steady_at_volts(resistive, 12).track_speed < base.track_speed);
    Drive weak = sound;
    weak.motor.flux *= 0.8;
    CHECK(steady_at_volts(weak, 12).motor_amps > base.motor_amps);
    // Curves cost amps.
    Drive straight = sound;
    straight.train.curve_share = 0;
    CHECK(steady_at_volts(straight, 12).motor_amps < base.motor_amps);
  }
}

TEST_CASE("saturated iron gives less torque for its amps, and back again", "[drive]") {
  const Motor plain{.kind = Motor::Kind::series_dc, .resistance = 1, .flux = 0.01};
  Motor iron = plain;
  iron.saturation = 2.0;
  for (const double amps : {0.1, 1.0, 4.0}) {
    CHECK(torque_at(iron, amps) < torque_at(plain, amps));
    CHECK(amps_for_torque(iron, torque_at(iron, amps)) == Approx(amps));
    CHECK(amps_for_torque(plain, torque_at(plain, amps)) == Approx(amps));
  }
  CHECK(linkage(iron, 2.0) == Approx(linkage(plain, 2.0) / 2));
}

TEST_CASE("drives that make no sense are refused", "[drive]") {
  Drive drive = some_drive(Motor::Kind::series_dc);
  drive.mechanism.efficiency = 0;
  CHECK_THROWS_AS(steady_at_volts(drive, 12), wheeltapper::input::DomainError);
  CHECK_THROWS_AS(speed_for(some_drive(Motor::Kind::series_dc).motor, 12, 0), wheeltapper::input::DomainError);
  CHECK_THROWS_AS(back_volts({.kind = Motor::Kind::series_ac, .resistance = 1, .reactance = 10, .flux = 1}, 12, 2),
                  wheeltapper::input::DomainError);
  CHECK_THROWS_AS(linkage_of_winding(0, 2, 100, 0.01), wheeltapper::input::DomainError);
}
