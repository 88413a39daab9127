#pragma once
#include <string>

#include "engine/measure/measurement.hpp"

namespace wheeltapper::measure {

/// A meter as its data sheet describes it. The parts of the accuracy statement add up to bounds +-a, all places
/// alike, so u = a / sqrt(3) (JCGM 100:2008, 4.3.7):
///   a = percent_of_reading * |y| / 100 + percent_of_range * range / 100 + counts * step
/// A digital meter that states counts has its rounding in them; one that states none gets step / sqrt(12) as
/// well (F.2.2.1). An analogue meter is read to `read_to` of a division: bounds division * read_to.
struct Meter {
  std::string name;
  Unit unit;                      ///< of range, step and division
  double percent_of_reading = 0;  ///< >= 0
  double percent_of_range = 0;    ///< >= 0; needs `range`
  double range = 0;               ///< full scale
  double counts = 0;              ///< >= 0, in steps of the last digit
  double step = 0;                ///< what the last digit is worth; 0 for an analogue meter
  double division = 0;            ///< of an analogue scale; 0 for a digital meter
  double read_to = 0.5;           ///< part of a division that the eye splits
};

/// Bounds +-a of the accuracy statement at a reading in the meter's unit.
double accuracy_bounds(const Meter& meter, double reading);

/// Standard uncertainty of one reading in the meter's unit: accuracy and reading-off combined.
double standard_uncertainty(const Meter& meter, double reading);

}  // namespace wheeltapper::measure
