#pragma once
#include <optional>
#include <string_view>
#include <vector>

#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"

namespace wheeltapper::bench {

/// The k of IEC 60034-1, 8.6.2: minus the temperature at which the resistance would vanish, C.
inline constexpr double kCopperIntercept = 235;
inline constexpr double kAluminiumIntercept = 225;

/// k for a temperature coefficient that is given at some temperature: 1 / alpha - t. A coefficient means nothing
/// without the temperature that it is taken at: 0.0043 at 0 C and at 20 C differ by a twentieth in the rise.
double intercept_of(double alpha, double at_celsius);

/// Rise of a winding over the room from its cold and hot resistance (IEC 60034-1, 8.6.2):
///   (R2 - R1) / R1 * (k + t1) + t1 - ta
/// \param cold_celsius  of the winding when R1 was read   \param room_celsius  at the end of the run
double winding_rise(double cold_ohms, double hot_ohms, double cold_celsius, double room_celsius,
                    double k = kCopperIntercept);

/// The same with uncertainty, in Cel as a temperature DIFFERENCE in K. Both ohms are read on one meter: its shared
/// error cancels in their ratio, so only the given uncertainties count.
/// \throws input::DomainError  for other units or ohms not above 0
measure::Measurement winding_rise(const measure::Measurement& cold_ohms, const measure::Measurement& hot_ohms,
                                  const measure::Measurement& cold, const measure::Measurement& room,
                                  double k = kCopperIntercept);

/// A thermal class of insulation (IEC 60085).
struct ThermalClass {
  std::string_view letter;  ///< "Y" ... "H", then the figure alone
  double celsius;           ///< what it stands for long
};
const std::vector<ThermalClass>& thermal_classes();
std::optional<ThermalClass> thermal_class(std::string_view letter);
/// The lowest class that stands that temperature; nothing above 250 C.
std::optional<ThermalClass> class_for(double celsius);

/// How long a hot surface may be touched without a burn (ISO 13732-1): up to 0.5 s below 65 C; 1 min 51 C; 10 min 48 C;
/// 8 h and longer 43 C, any material. The rows between, by material, are not held here.
/// \returns the longest of those times in s that is still harmless; 0: not even half a second is sure to be
double harmless_touch(double celsius);

}  // namespace wheeltapper::bench
