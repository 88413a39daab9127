#include "engine/measure/meter.hpp"

#include <array>
#include <cmath>

namespace wheeltapper::measure {

double accuracy_bounds(const Meter& meter, double reading) {
  return meter.percent_of_reading / 100 * std::abs(reading) + meter.percent_of_range / 100 * meter.range +
         meter.counts * meter.step;
}

double standard_uncertainty(const Meter& meter, double reading) {
  const double rounding = meter.counts > 0 ? 0 : from_resolution(meter.step);
  return combined_uncertainty(
      std::array{rectangular(accuracy_bounds(meter, reading)), rounding, rectangular(meter.division * meter.read_to)});
}

}  // namespace wheeltapper::measure
