#include "engine/bench/wire.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {
namespace {

constexpr double kInch = 0.0254;

double circle(double diameter) { return std::numbers::pi * diameter * diameter / 4; }

/// The text in lower case, without blanks.
std::string squeezed(std::string_view text) {
  std::string out;
  for (const char c : text)
    if (std::isspace(static_cast<unsigned char>(c)) == 0)
      out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

std::optional<double> number(std::string_view text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

/// The number before a unit, or behind it.
std::optional<double> beside(const std::string& text, std::string_view unit) {
  if (text.ends_with(unit)) return number(std::string_view(text).substr(0, text.size() - unit.size()));
  if (text.starts_with(unit)) return number(std::string_view(text).substr(unit.size()));
  return std::nullopt;
}

}  // namespace

double awg_diameter(double gauge) { return 0.005 * kInch * std::pow(92.0, (36 - gauge) / 39); }
double awg_area(double gauge) { return circle(awg_diameter(gauge)); }

Wire parse_wire(std::string_view text) {
  const std::string word = squeezed(text);
  for (const std::string_view unit : {"awg", "gauge", "ga"})
    if (const auto gauge = beside(word, unit)) {
      if (*gauge < -3 || *gauge > 40 || *gauge != std::floor(*gauge))
        throw input::InputError("is no wire gauge; 0 to 40 AWG");
      return {awg_area(*gauge), fmt::format("{:.0f} AWG", *gauge)};
    }
  for (const std::string_view unit : {"mm2", "mm²", "qmm", "sqmm"})
    if (const auto area = beside(word, unit)) {
      if (!(*area >= 0.005 && *area <= 100)) throw input::InputError("is no lead; 0.005 to 100 mm2");
      return {*area * 1e-6, fmt::format("{:g} mm2", *area)};
    }
  if (const auto diameter = beside(word, "mm")) {
    if (!(*diameter >= 0.05 && *diameter <= 12)) throw input::InputError("is no wire; 0.05 to 12 mm across");
    return {circle(*diameter * 1e-3), fmt::format("{:g} mm", *diameter)};
  }
  throw input::InputError("is no wire; say it like \"18 AWG\", \"0.75 mm2\" or \"0.8 mm\" (across)");
}

double ohms_at(double ohms, double alpha, double from_celsius, double to_celsius) {
  return ohms * (1 + alpha * (to_celsius - from_celsius));
}

double ohms_a_metre(const Wire& wire, double celsius) {
  return ohms_at(kCopperOhmMetre / wire.area, kCopperAlpha20, 20, celsius);
}

double lead_ohms(const Leads& leads) {
  return 2 * leads.length * ohms_a_metre(leads.wire, leads.celsius) + leads.joints * leads.joint_ohms;
}

double lead_drop(const Leads& leads, double amps) { return amps * lead_ohms(leads); }

std::optional<int> gauge_for(double amps, double length, double most_volts, double celsius) {
  if (!(amps > 0 && length > 0 && most_volts > 0)) throw input::DomainError("amps, length and volts must be above 0");
  for (int gauge = 30; gauge >= 10; gauge -= 2)
    if (lead_drop({.wire = {awg_area(gauge), {}}, .length = length, .celsius = celsius}, amps) <= most_volts)
      return gauge;
  return std::nullopt;
}

}  // namespace wheeltapper::bench
