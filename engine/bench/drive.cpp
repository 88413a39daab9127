#include "engine/bench/drive.hpp"

#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <stdexcept>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {
namespace {

using MotorKind = Motor::Kind;

using input::demand;

double reactance_of(const Motor& motor) { return motor.kind == MotorKind::series_ac ? motor.reactance : 0.0; }

/// The root of a rising function between two points where it changes sign.
template <typename F>
double root_between(F&& f, double low, double high) {
  const double at_low = f(low);
  const double at_high = f(high);
  if (at_low == 0) return low;
  if (at_high == 0) return high;
  std::uintmax_t steps = 200;
  const auto [a, b] = boost::math::tools::toms748_solve(f, low, high, at_low, at_high,
                                                        boost::math::tools::eps_tolerance<double>(50), steps);
  return (a + b) / 2;
}

/// As root_between from 0 on, the upper end found by doubling.
template <typename F>
double rising_root(F&& f, double first) {
  double high = first;
  for (int doubled = 0; f(high) < 0; ++doubled) {
    demand(doubled < 200, "the drive has no steady running there");
    high *= 2;
  }
  return root_between(f, 0.0, high);
}

void demand_sound(const Drive& drive) {
  demand(drive.motor.flux > 0 && drive.motor.resistance >= 0, "a motor needs flux above 0 and no negative resistance");
  demand(drive.mechanism.gearing > 0 && drive.mechanism.wheel_diameter > 0 && drive.mechanism.efficiency > 0 &&
             drive.mechanism.efficiency <= 1,
         "gearing and wheels must be above 0, the efficiency up to 1");
}

Steady settled(const Drive& drive, double volts, double amps, double speed) {
  return {volts,
          amps,
          amps + parallel_amps(drive, volts),
          speed,
          track_speed_of(drive.mechanism, speed),
          torque_at(drive.motor, amps),
          linkage(drive.motor, amps) * speed};
}

}  // namespace

double linkage(const Motor& motor, double amps) {
  demand(amps >= 0, "amps below 0");
  if (motor.kind == MotorKind::permanent_magnet) return motor.flux;
  return motor.flux * amps / (motor.saturation ? 1 + amps / *motor.saturation : 1.0);
}

double torque_at(const Motor& motor, double amps) { return linkage(motor, amps) * amps; }

double amps_for_torque(const Motor& motor, double torque) {
  demand(torque >= 0, "a torque below 0");
  const double share = torque / motor.flux;
  if (motor.kind == MotorKind::permanent_magnet) return share;
  if (!motor.saturation) return std::sqrt(share);
  // I^2 / (1 + I/s) = share: the positive root of I^2 - (share/s) I - share = 0.
  const double b = share / *motor.saturation;
  return (b + std::sqrt(b * b + 4 * share)) / 2;
}

double back_volts(const Motor& motor, double volts, double amps) {
  const double across = amps * reactance_of(motor);
  demand(across <= volts, "the reactance alone would take more volts than there are");
  return std::sqrt(volts * volts - across * across) - motor.brush_volts - amps * motor.resistance;
}

double volts_for(const Motor& motor, double amps, double speed) {
  const double along = motor.brush_volts + amps * motor.resistance + linkage(motor, amps) * speed;
  return std::hypot(along, amps * reactance_of(motor));
}

double speed_for(const Motor& motor, double volts, double amps) {
  demand(amps > 0, "a motor without amps has no speed of its own");
  return back_volts(motor, volts, amps) / linkage(motor, amps);
}

double amps_for(const Motor& motor, double volts, double speed) {
  if (volts_for(motor, 0, speed) >= volts) return 0;
  return rising_root([&](double amps) { return volts_for(motor, amps, speed) - volts; }, 1.0);
}

double stall_amps(const Motor& motor, double volts) {
  demand(motor.resistance > 0 || reactance_of(motor) > 0, "a motor without resistance has no stall amps");
  return amps_for(motor, volts, 0);
}

double linkage_of_winding(int poles, int paths, int conductors, double weber) {
  demand(poles > 0 && paths > 0 && conductors > 0 && weber > 0, "a winding needs poles, paths, conductors and flux");
  return poles * weber * conductors / (2 * std::numbers::pi * paths);
}

double parallel_amps(const Drive& drive, double volts) {
  double sum = 0;
  for (const ParallelLoad& load : drive.parallel) sum += load.amps * volts / load.at_volts;
  return sum;
}

double load_torque(const Drive& drive, double speed) {
  const Mechanism& mechanism = drive.mechanism;
  return mechanism.friction + mechanism.viscous * speed +
         drive.train.mean() * mechanism.wheel_diameter / 2 / (mechanism.gearing * mechanism.efficiency);
}

double track_speed_of(const Mechanism& mechanism, double motor_speed) {
  return motor_speed / mechanism.gearing * mechanism.wheel_diameter / 2;
}

double motor_speed_of(const Mechanism& mechanism, double track_speed) {
  return track_speed * mechanism.gearing * 2 / mechanism.wheel_diameter;
}

Steady steady_at_volts(const Drive& drive, double volts) {
  demand_sound(drive);
  const auto needed = [&](double speed) {
    return volts_for(drive.motor, amps_for_torque(drive.motor, load_torque(drive, speed)), speed);
  };
  if (needed(0) >= volts) return settled(drive, volts, stall_amps(drive.motor, volts), 0);
  const double speed = rising_root([&](double w) { return needed(w) - volts; }, 1.0);
  return settled(drive, volts, amps_for_torque(drive.motor, load_torque(drive, speed)), speed);
}

Steady steady_at_speed(const Drive& drive, double track_speed) {
  demand_sound(drive);
  const double speed = motor_speed_of(drive.mechanism, track_speed);
  const double amps = amps_for_torque(drive.motor, load_torque(drive, speed));
  return settled(drive, volts_for(drive.motor, amps, speed), amps, speed);
}

}  // namespace wheeltapper::bench
