#pragma once
#include <limits>
#include <span>
#include <string>
#include <string_view>

#include "engine/input/input_error.hpp"
#include "engine/measure/unit.hpp"

namespace wheeltapper::measure {

/// A value and its standard uncertainty (one standard deviation; JCGM 100:2008, 2.3.1) in one unit.
/// Invariant, held by the constructor: the value is finite, the uncertainty is finite and above 0, the degrees
/// of freedom are above 0 (infinite unless a scatter of few repeats is part of it). What is known exactly is a
/// plain number, not a Measurement.
class Measurement {
 public:
  /// \throws input::DomainError  if the invariant would not hold
  Measurement(double value, double uncertainty, Unit unit,
              double degrees_of_freedom = std::numeric_limits<double>::infinity());

  double value() const noexcept { return value_; }
  double uncertainty() const noexcept { return uncertainty_; }
  const Unit& unit() const noexcept { return unit_; }
  /// Effective degrees of freedom of the uncertainty (JCGM 100:2008, G.4); infinity when it is well known.
  double degrees_of_freedom() const noexcept { return degrees_of_freedom_; }

  /// The same measurement in another unit of its dimension.
  /// \throws input::DomainError  if the dimensions differ
  Measurement in(const Unit& other) const;

 private:
  double value_;
  double uncertainty_;
  Unit unit_;
  double degrees_of_freedom_;
};

/// Standard uncertainty of a value known to lie within +-`half_width`, all places alike (rectangular):
/// half_width / sqrt(3). JCGM 100:2008, 4.3.7.
double rectangular(double half_width);

/// As rectangular, when the middle is likelier than the ends (triangular): half_width / sqrt(6).
/// JCGM 100:2008, 4.3.9.
double triangular(double half_width);

/// Standard uncertainty of a digital reading whose last digit is worth `step`: step / sqrt(12).
/// JCGM 100:2008, F.2.2.1.
double from_resolution(double step);

/// Standard uncertainty from an interval +-`half_width` that is said to hold with probability `coverage` of a
/// normal distribution (JCGM 100:2008, 4.3.4). \throws input::DomainError unless 0 < coverage < 1
double from_coverage(double half_width, double coverage);

/// Mean of repeated readings, their experimental standard deviation, and that of the mean (Type A;
/// JCGM 100:2008, 4.2). `n` is at least 2.
struct Repeats {
  double mean;
  double deviation;           ///< s, of a single reading
  double deviation_of_mean;   ///< s / sqrt(n)
  double degrees_of_freedom;  ///< n - 1
};
/// \throws input::DomainError  for fewer than two readings or one that is not finite
Repeats repeats(std::span<const double> readings);

/// Root of the sum of squares of independent terms (JCGM 100:2008, 5.1.2 with sensitivities of 1).
double combined_uncertainty(std::span<const double> terms);

/// One independent part of a combined uncertainty.
struct Part {
  double uncertainty;         ///< at least 0
  double degrees_of_freedom;  ///< above 0, may be infinite
};
/// Effective degrees of freedom by the Welch-Satterthwaite formula (JCGM 100:2008, G.4.1). Parts with infinite
/// degrees of freedom count in the total only. Infinite if all are.
double effective_degrees_of_freedom(std::span<const Part> parts);

/// Two-sided coverage factor k with P(|t| <= k) = `coverage` for Student's t with that many degrees of freedom
/// (JCGM 100:2008, Table G.2); the normal distribution's when they are infinite.
/// Infinite where a coverage next to 1 or very few degrees of freedom leave the range of numbers.
/// \throws input::DomainError  unless 0 < coverage < 1 and the degrees of freedom are above 0
double coverage_factor(double coverage, double degrees_of_freedom);

/// P(X <= x) for a standardised value: Student's t with the given degrees of freedom, normal when infinite.
double standard_cdf(double x, double degrees_of_freedom = std::numeric_limits<double>::infinity());

/// A number with unit and perhaps an uncertainty, as a person types it. "2.3 A", "2.3A", "2.3 A +- 0.05" (bounds:
/// rectangular), "2.3 A u 0.03" (standard uncertainty).
struct Typed {
  double value = 0;
  Unit unit;
  double uncertainty = 0;  ///< in `unit`; 0 when none was typed
};
/// \throws input::InputError  with a plain message of what is wrong with the text
Typed parse_typed(std::string_view text);

/// "2.40 A" with as many places as its expanded uncertainty for 95 % deserves: two digits of that if it starts with 1
/// or 2, else one. The same places as with the uncertainty beside it.
std::string show(const Measurement& what);
/// "2.40 ± 0.05 A" where the part after ± is the expanded uncertainty for 95 %.
std::string show_with_uncertainty(const Measurement& what);

}  // namespace wheeltapper::measure
