#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {

/// Standard annealed copper (IEC 60028): 1/58 Ohm mm2/m at 20 C, 0.00393 a degree from there.
inline constexpr double kCopperOhmMetre = 1e-6 / 58;
inline constexpr double kCopperAlpha20 = 0.00393;

/// Diameter of a gauge in m: 0.005 in * 92^((36 - n) / 39) (ASTM B258). 0 is 1/0, -1 is 2/0, and so on.
double awg_diameter(double gauge);
/// Cross-section of a gauge, m2.
double awg_area(double gauge);

struct Wire {
  double area = 0;    ///< m2, above 0
  std::string shown;  ///< as typed, tidied: "18 AWG", "0.75 mm2"
};

/// "18 AWG", "awg 18", "18 gauge", "0.75 mm2", "0.8 mm" (diameter of a solid wire).
/// \throws input::InputError  with a plain message
Wire parse_wire(std::string_view text);

/// Ohms of one metre of a single wire at that temperature.
double ohms_a_metre(const Wire& wire, double celsius = 20);

/// A conductor's resistance at another temperature: R (1 + alpha (t - t0)), alpha taken at t0.
double ohms_at(double ohms, double alpha, double from_celsius, double to_celsius);

/// A pair of leads from the supply to the track, and the joints in it.
struct Leads {
  Wire wire;
  double length = 0;    ///< m, one way: the current goes there and back
  double celsius = 20;  ///< of the copper
  int joints = 0;       ///< clips, screws, plugs, both ways together
  double joint_ohms = kGoodJoint;
  /// A clean, tight joint (elicited judgement: a few thousandths of an ohm).
  static constexpr double kGoodJoint = 0.005;
};

double lead_ohms(const Leads& leads);
/// Volts lost in the pair at those amps.
double lead_drop(const Leads& leads, double amps);

/// The thinnest even gauge, 10 to 30, of which the pair loses at most `most_volts`; nothing if 10 AWG loses more.
/// \throws input::DomainError  unless amps, length and volts are above 0
std::optional<int> gauge_for(double amps, double length, double most_volts, double celsius = 20);

}  // namespace wheeltapper::bench
