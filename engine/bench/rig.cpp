#include "engine/bench/rig.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {
namespace {

constexpr double kGravity = 9.80665;  // m/s2, standard

}  // namespace

measure::Measurement supply_ohms(const measure::Measurement& sag, const measure::Measurement& amps) {
  const measure::Measurement current = amps.in(measure::unit("A"));
  const measure::Measurement lost = sag.in(measure::unit("V"));
  if (!(current.value() > 0)) throw input::DomainError("the supply's ohms need a load");
  const double ohms = lost.value() / current.value();
  return {ohms, std::hypot(lost.uncertainty(), ohms * current.uncertainty()) / current.value(), measure::unit("Ohm")};
}

double mean_factor(Wave wave) {
  switch (wave) {
    case Wave::pure_dc:
      return 1;
    case Wave::full_wave:
      return 2 * std::numbers::sqrt2 / std::numbers::pi;
    case Wave::half_wave:
      return 2 / std::numbers::pi;
  }
  throw input::DomainError("no such wave");
}

double average_meter_share(double a) {
  using std::numbers::pi;
  if (!(a >= 0 && a < pi)) throw input::DomainError("the firing angle lies from 0 to below pi");
  const double mean = (1 + std::cos(a)) / pi;
  const double effective = std::sqrt((pi - a + std::sin(2 * a) / 2) / (2 * pi));
  return mean * pi / (2 * std::numbers::sqrt2) / effective;
}

LoopLength loop_length(std::span<const Section> sections) {
  LoopLength loop;
  double curved = 0;
  for (const Section& each : sections) {
    const double turned = each.degrees * each.count;
    double metres = 0;
    if (each.radius)
      metres = *each.radius * turned * std::numbers::pi / 180;
    else if (each.length)
      metres = *each.length * each.count;
    if (!(metres > 0)) throw input::DomainError("a piece of track without a length");
    loop.metres += metres;
    loop.turned += turned;
    if (turned > 0) curved += metres;
  }
  if (loop.metres > 0) loop.curve_share = curved / loop.metres;
  return loop;
}

double drag_share_from_tilt(double rise, double run) {
  if (!(rise > 0 && run > rise)) throw input::DomainError("a tilt needs a rise above 0 and smaller than its length");
  return rise / run;
}

double drag_from_tilt(double kilograms, double rise, double run) {
  return kilograms * kGravity * std::sin(std::atan(drag_share_from_tilt(rise, run)));
}

double scale_miles_an_hour(double metres_a_second, double ratio) {
  constexpr double kMile = 1609.344;
  return metres_a_second * ratio * 3600 / kMile;
}

double scale_km_an_hour(double metres_a_second, double ratio) { return metres_a_second * ratio * 3.6; }

double nominal_dc_volts(double gauge_mm) {
  if (!(gauge_mm > 0)) throw input::DomainError("a gauge must be above 0");
  if (gauge_mm <= 6.5) return 8;
  return gauge_mm < 32 ? 12 : 16;
}

}  // namespace wheeltapper::bench
