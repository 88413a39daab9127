#pragma once
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"

namespace wheeltapper::bench {

/// Ohms inside a supply: its sag under a load, over the load. \throws input::DomainError  for other units or no load
measure::Measurement supply_ohms(const measure::Measurement& sag, const measure::Measurement& amps);

/// What supply wave a meter sees.
enum class Wave { pure_dc, full_wave, half_wave };
/// Factor from the reading of a meter calibrated for the effective value of a sine to the mean (NEM 630, edition 1982:
/// 1, 0.90, 0.64): 2 sqrt(2) / pi and 2 / pi. The half-wave figure takes the reading as that of a true effective-value
/// meter on its alternating range.
double mean_factor(Wave wave);

/// What an average-reading meter, calibrated in effective value for a full sine, shows of a full-wave phase-chopped
/// sine, over the true effective value. With the firing angle a in each half wave, peak 1:
///   mean = (1 + cos a) / pi,  effective = sqrt((pi - a + sin(2a) / 2) / (2 pi)),  shown = mean * pi / (2 sqrt 2).
/// 1 at full throttle, 0.71 at half a wave, falling from there. \param firing_angle  rad, 0 up to below pi
double average_meter_share(double firing_angle);

/// One kind of track piece in a loop.
struct Section {
  std::optional<double> radius;  ///< m, of the centre line; nothing: a straight
  double degrees = 0;            ///< of a curve piece
  std::optional<double> length;  ///< m, of a straight; of a curve piece where radius and degrees are not known
  int count = 1;
};
struct LoopLength {
  double metres = 0;
  double curve_share = 0;  ///< of its length, in curves
  double turned = 0;       ///< degrees in all: 360 in a plain loop
};
/// \throws input::DomainError  for a piece without a length
LoopLength loop_length(std::span<const Section> sections);

/// Rolling drag as a share of the weight from the slope on which a car just keeps rolling: rise / run.
/// \throws input::DomainError  unless 0 < rise < run
double drag_share_from_tilt(double rise, double run);
/// The pull in N of something that heavy on that slope: m g sin(angle).
double drag_from_tilt(double kilograms, double rise, double run);

/// Speed of the prototype in miles an hour for a model's speed in m/s at a scale of 1 to `ratio`.
double scale_miles_an_hour(double metres_a_second, double ratio);
double scale_km_an_hour(double metres_a_second, double ratio);

/// Nominal track volts on direct current for a gauge in mm (NEM 630, edition 1982).
double nominal_dc_volts(double gauge_mm);
/// Alternating current with a reversing unit (NEM 640, edition 1988).
inline constexpr double kNominalAcVolts = 16;
inline constexpr double kAcReversingPulseVolts = 24;
inline constexpr double kAcReversingPulseLeast = 0.1;  // s
inline constexpr double kAcReversingPulseMost = 3;     // s

/// Extra-low voltage, V: alternating (effective) and ripple-free direct.
struct LowVoltage {
  double ac;
  double dc;
};
inline constexpr LowVoltage kExtraLow{50, 120};            ///< the band's upper end (IEC 61558-1:2005, 3.7.16)
inline constexpr LowVoltage kUntouchedDryIndoors{25, 60};  ///< no protection against touch needed (EN 60204, PELV)
inline constexpr double kToyVolts = 24;                    ///< toys and their parts (Directive 2009/48/EC)

}  // namespace wheeltapper::bench
