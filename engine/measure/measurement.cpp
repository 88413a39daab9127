#include "engine/measure/measurement.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <charconv>
#include <cmath>
#include <stdexcept>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {
namespace {

constexpr std::size_t kLongestTyped = 100;

using input::demand;

std::string_view trim(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

/// Takes a number off the front of `text`.
double take_number(std::string_view& text) {
  text = trim(text);
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error == std::errc::result_out_of_range) throw input::InputError("the number is too large or too small");
  if (error != std::errc() || !std::isfinite(value)) throw input::InputError("does not start with a number");
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  if (text.starts_with(',')) throw input::InputError("write the decimal point as a point, not a comma");
  return value;
}

struct Uncertainty {
  std::string_view before;  // the text ahead of the mark
  std::string_view after;
  bool bounds;  // +-: bounds; u: standard uncertainty
};

std::optional<Uncertainty> split_at_doubt(std::string_view text) {
  for (const std::string_view mark : {"+/-", "+-", "±"})
    if (const auto at = text.find(mark); at != std::string_view::npos)
      return Uncertainty{text.substr(0, at), text.substr(at + mark.size()), true};
  for (const std::string_view mark : {" u=", " u "})
    if (const auto at = text.find(mark); at != std::string_view::npos)
      return Uncertainty{text.substr(0, at), text.substr(at + mark.size()), false};
  return std::nullopt;
}

Unit demand_unit(std::string_view text) {
  text = trim(text);
  if (text.empty()) throw input::InputError("has no unit");
  if (auto found = find_unit(text)) return *found;
  throw input::InputError(fmt::format("has the unknown unit '{}'", text));
}

constexpr double kFinest = 1e-5;  // below it six places do not hold the digits

double expanded_uncertainty(const Measurement& what) {
  return what.uncertainty() * coverage_factor(0.95, what.degrees_of_freedom());
}

std::string with_unit(const std::string& number, const Measurement& what) {
  const auto shown = what.unit().shown;
  return fmt::format("{}{}{}", number, shown.empty() || shown == "/min" ? "" : " ", shown);
}

/// Decimal places for two digits of an uncertainty that starts with 1 or 2, one digit of any other.
int places(double uncertainty) {
  const double exponent = std::floor(std::log10(uncertainty));
  const double leading = uncertainty / std::pow(10, exponent);
  return std::clamp((leading < 2.95 ? 1 : 0) - static_cast<int>(exponent), 0, 6);
}

}  // namespace

Measurement::Measurement(double value, double uncertainty, Unit unit, double degrees_of_freedom)
    : value_(value), uncertainty_(uncertainty), unit_(unit), degrees_of_freedom_(degrees_of_freedom) {
  demand(std::isfinite(value), "a measured value must be finite");
  demand(std::isfinite(uncertainty) && uncertainty > 0, "a standard uncertainty must be finite and above 0");
  demand(degrees_of_freedom > 0, "degrees of freedom must be above 0");
}

Measurement Measurement::in(const Unit& other) const {
  return {convert(value_, unit_, other), convert_difference(uncertainty_, unit_, other), other, degrees_of_freedom_};
}

double rectangular(double half_width) { return half_width / std::sqrt(3.0); }
double triangular(double half_width) { return half_width / std::sqrt(6.0); }
double from_resolution(double step) { return step / std::sqrt(12.0); }

double from_coverage(double half_width, double coverage) {
  return half_width / coverage_factor(coverage, std::numeric_limits<double>::infinity());
}

Repeats repeats(std::span<const double> readings) {
  demand(readings.size() >= 2, "repeats need at least two readings");
  const auto n = static_cast<double>(readings.size());
  double sum = 0;
  for (const double each : readings) {
    demand(std::isfinite(each), "a reading must be finite");
    sum += each;
  }
  const double mean = sum / n;
  double squares = 0;
  for (const double each : readings) squares += (each - mean) * (each - mean);
  const double deviation = std::sqrt(squares / (n - 1));
  return {mean, deviation, deviation / std::sqrt(n), n - 1};
}

double combined_uncertainty(std::span<const double> terms) {
  double squares = 0;
  for (const double each : terms) squares += each * each;
  return std::sqrt(squares);
}

double effective_degrees_of_freedom(std::span<const Part> parts) {
  double largest = 0;  // what is raised to the fourth power is a share of it, so that nothing vanishes
  for (const Part& part : parts) largest = std::max(largest, part.uncertainty);
  double squares = 0;
  double weighted = 0;
  for (const Part& part : parts) {
    demand(part.degrees_of_freedom > 0, "degrees of freedom must be above 0");
    const double share = largest > 0 ? part.uncertainty / largest : 0;
    squares += share * share;
    if (std::isfinite(part.degrees_of_freedom)) weighted += std::pow(share, 4) / part.degrees_of_freedom;
  }
  return weighted > 0 ? squares * squares / weighted : std::numeric_limits<double>::infinity();
}

double coverage_factor(double coverage, double degrees_of_freedom) {
  demand(coverage > 0 && coverage < 1, "a coverage probability must lie between 0 and 1");
  demand(degrees_of_freedom > 0, "degrees of freedom must be above 0");
  const double upper = (1 + coverage) / 2;
  // A coverage that rounds to all of the distribution has the factor infinity, not an error.
  using namespace boost::math::policies;
  using Policy = policy<overflow_error<ignore_error>>;
  if (!std::isfinite(degrees_of_freedom))
    return boost::math::quantile(boost::math::normal_distribution<double, Policy>(), upper);
  return boost::math::quantile(boost::math::students_t_distribution<double, Policy>(degrees_of_freedom), upper);
}

double standard_cdf(double x, double degrees_of_freedom) {
  if (!std::isfinite(degrees_of_freedom)) return 0.5 * std::erfc(-x / std::sqrt(2.0));
  return boost::math::cdf(boost::math::students_t(degrees_of_freedom), x);
}

Typed parse_typed(std::string_view text) {
  if (text.size() > kLongestTyped) throw input::InputError("is too long for a reading");
  const auto uncertainty = split_at_doubt(text);
  std::string_view rest = uncertainty ? uncertainty->before : text;
  Typed typed{.value = take_number(rest), .unit = unit("1")};
  rest = trim(rest);
  std::string_view after;
  if (uncertainty) {
    after = uncertainty->after;
    const double width = take_number(after);
    if (width <= 0) throw input::InputError("the uncertainty must be above 0");
    typed.uncertainty = uncertainty->bounds ? rectangular(width) : width;
    after = trim(after);
  }
  if (rest.empty() && !after.empty()) std::swap(rest, after);  // "2.3 +- 0.1 A"
  typed.unit = demand_unit(rest);
  if (!after.empty()) {
    const Unit doubt_unit = demand_unit(after);
    if (doubt_unit.dimension != typed.unit.dimension)
      throw input::InputError(
          fmt::format("has its uncertainty in {}, but its value in {}", doubt_unit.code, typed.unit.code));
    typed.uncertainty = convert_difference(typed.uncertainty, doubt_unit, typed.unit);
  }
  return typed;
}

std::string show(const Measurement& what) {
  const double expanded = expanded_uncertainty(what);
  return with_unit(
      expanded < kFinest ? fmt::format("{:.9g}", what.value()) : fmt::format("{:.{}f}", what.value(), places(expanded)),
      what);
}

std::string show_with_uncertainty(const Measurement& what) {
  const double expanded = expanded_uncertainty(what);
  const int digits = places(expanded);
  return with_unit(expanded < kFinest ? fmt::format("{:.9g} ± {:.1e}", what.value(), expanded)
                                      : fmt::format("{:.{}f} ± {:.{}f}", what.value(), digits, expanded, digits),
                   what);
}

}  // namespace wheeltapper::measure
