#pragma once
#include <optional>
#include <vector>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {

/// A motor in steady running, in bench units. Derivation and what is assumed:
///   Torque per amp is the flux linkage K: for a permanent magnet K = flux, the same at all amps; for a series-wound
///   motor the field carries the motor's own amps I, so K = flux * I, and with iron that saturates
///   K = flux * I / (1 + I / saturation) (Froelich's form). Torque T = K I; the volts that it generates at the speed w
///   are E = K w: the same K, as both follow from flux times turns and electrical power E I is mechanical power T w.
///   Volts on direct current:       V = brush_volts + I resistance + E.
///   Volts on alternating current:  V^2 = (brush_volts + I resistance + E)^2 + (I reactance)^2, all effective values:
///   field and armature carry one current, so E, like the drop over the resistance, is in phase with it, and only the
///   inductive drop stands at a right angle. Iron loss counts with the friction. The brush drop is taken as constant
///   while current flows (carbon: about 1 V; common practice, no source).
/// Speeds may be in any unit as long as flux goes with it: N m/A with rad/s, or volts a lap a minute with laps a
/// minute (then "torque" is in the matching unit, and only its ratios mean anything).
struct Motor {
  enum class Kind { series_dc, series_ac, permanent_magnet };
  Kind kind = Kind::series_dc;
  double resistance = 0;                            ///< Ohm, at least 0: all that the motor's current passes in series
  double reactance = 0;                             ///< Ohm at the supply's frequency; series_ac only
  double flux = 0;                                  ///< above 0; torque per amp, or per amp squared where series-wound
  std::optional<double> saturation = std::nullopt;  ///< A at which flux per amp has halved; series-wound only
  double brush_volts = 0;                           ///< V, both brushes together
};

/// Torque per amp, and volts per speed, at those amps. \throws input::DomainError  if amps are below 0
double linkage(const Motor& motor, double amps);

double torque_at(const Motor& motor, double amps);
/// The amps that pull that torque. \throws input::DomainError  if it is below 0, or above what the iron lets it reach
double amps_for_torque(const Motor& motor, double torque);

/// Volts generated at those volts and amps: what is left when brushes, resistance and reactance have had theirs.
/// Negative where the amps would need more volts even at a stand. \throws input::DomainError  if I X exceeds V
double back_volts(const Motor& motor, double volts, double amps);
double volts_for(const Motor& motor, double amps, double speed);
/// \throws input::DomainError  if amps are not above 0
double speed_for(const Motor& motor, double volts, double amps);
/// The amps it takes at those volts and that speed; 0 where it would generate more than it is given.
double amps_for(const Motor& motor, double volts, double speed);
/// Held still. \throws input::DomainError  without resistance and reactance
double stall_amps(const Motor& motor, double volts);

/// Flux linkage of a wound armature, N m/A: poles * flux (Wb) * conductors / (2 pi * paths). Textbook form of
/// E = P phi Z n / (60 A). \throws input::DomainError  unless all are above 0
double linkage_of_winding(int poles, int paths, int conductors, double weber);

/// Motor turns to wheel turns, and what the wheels ask.
struct Mechanism {
  double gearing = 1;         ///< motor turns a wheel turn, above 0
  double wheel_diameter = 1;  ///< m over the tread, above 0
  double efficiency = 1;      ///< of the gears, above 0 to 1
  double friction = 0;        ///< N m at the motor, at least 0: bearings, brushes, iron
  double viscous = 0;         ///< N m for each rad/s, at least 0: oil and air
};

/// Pull that the wheel rims must give, N.
struct Train {
  double straight = 0;     ///< on straight and level track: locomotive and cars
  double curve = 0;        ///< more than that in a curve
  double curve_share = 0;  ///< of the loop, 0 to 1
  double mean() const { return straight + curve * curve_share; }
};

/// Something that hangs across the rails beside the motor and takes amps in proportion to the volts: lamp (warm, near
/// its nominal volts), smoke element, coil.
struct ParallelLoad {
  double amps = 0;
  double at_volts = 1;
};

struct Drive {
  Motor motor;
  Mechanism mechanism;
  Train train;
  std::vector<ParallelLoad> parallel;
};

double parallel_amps(const Drive& drive, double volts);
/// Torque at the motor, N m: friction + viscous * speed + pull * wheel radius / (gearing * efficiency).
/// \param speed  of the motor, rad/s
double load_torque(const Drive& drive, double speed);
/// Track speed, m/s, from motor speed, rad/s: wheels that do not slip.
double track_speed_of(const Mechanism& mechanism, double motor_speed);
double motor_speed_of(const Mechanism& mechanism, double track_speed);

/// A run that has settled.
struct Steady {
  double volts;        ///< V at the rail
  double motor_amps;   ///< A through the motor
  double total_amps;   ///< with all that hangs across the rails
  double motor_speed;  ///< rad/s; 0: it stands
  double track_speed;  ///< m/s
  double torque;       ///< N m
  double back_volts;   ///< V
};

/// What the drive does at those volts. It stands, with the stall amps, where it can't pull its load.
/// \throws input::DomainError  for parameters out of range
Steady steady_at_volts(const Drive& drive, double volts);
/// The volts, and all else, at which it runs at that track speed, m/s.
Steady steady_at_speed(const Drive& drive, double track_speed);

}  // namespace wheeltapper::bench
