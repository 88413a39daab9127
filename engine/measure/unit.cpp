#include "engine/measure/unit.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <stdexcept>

#include "engine/input/input_error.hpp"
#include "engine/input/words.hpp"

namespace wheeltapper::measure {
namespace {

using enum Dimension;

constexpr double kInch = 0.0254;
constexpr double kPound = 0.45359237;
constexpr double kGravity = 9.80665;

// Factors are exact by definition: inch and pound (1959 agreement), standard gravity (3rd CGPM).
constexpr std::array kUnits{
    Unit{"A", "A", current, 1, 0},
    Unit{"mA", "mA", current, 1e-3, 0},
    Unit{"uA", "uA", current, 1e-6, 0},
    Unit{"V", "V", voltage, 1, 0},
    Unit{"mV", "mV", voltage, 1e-3, 0},
    Unit{"Ohm", "ohm", resistance, 1, 0},
    Unit{"mOhm", "mohm", resistance, 1e-3, 0},
    Unit{"kOhm", "kohm", resistance, 1e3, 0},
    Unit{"MOhm", "Mohm", resistance, 1e6, 0},
    Unit{"s", "s", time, 1, 0},
    Unit{"min", "min", time, 60, 0},
    Unit{"h", "h", time, 3600, 0},
    Unit{"m", "m", length, 1, 0},
    Unit{"cm", "cm", length, 1e-2, 0},
    Unit{"mm", "mm", length, 1e-3, 0},
    Unit{"[in_i]", "in", length, kInch, 0},
    Unit{"[ft_i]", "ft", length, 12 * kInch, 0},
    Unit{"K", "K", temperature, 1, 0},
    Unit{"Cel", "°C", temperature, 1, 273.15},
    Unit{"[degF]", "°F", temperature, 5.0 / 9.0, 459.67 * 5.0 / 9.0},
    Unit{"N", "N", force, 1, 0},
    Unit{"mN", "mN", force, 1e-3, 0},
    Unit{"gf", "gf", force, kGravity * 1e-3, 0},
    Unit{"[ozf_av]", "ozf", force, kPound* kGravity / 16, 0},
    Unit{"Hz", "Hz", frequency, 1, 0},
    Unit{"/min", "/min", frequency, 1.0 / 60.0, 0},
    Unit{"m/s", "m/s", speed, 1, 0},
    Unit{"[in_i]/s", "in/s", speed, kInch, 0},
    Unit{"kg", "kg", mass, 1, 0},
    Unit{"g", "g", mass, 1e-3, 0},
    Unit{"[oz_av]", "oz", mass, kPound / 16, 0},
    Unit{"1", "", ratio, 1, 0},
    Unit{"%", "%", ratio, 1e-2, 0},
};

struct Spelling {
  std::string_view text;  // lower case
  std::string_view code;
};

constexpr std::array kSpellings{
    Spelling{"amp", "A"},
    Spelling{"amps", "A"},
    Spelling{"ampere", "A"},
    Spelling{"amperes", "A"},
    Spelling{"a", "A"},
    Spelling{"milliamps", "mA"},
    Spelling{"milliamp", "mA"},
    Spelling{"ma", "mA"},
    Spelling{"volt", "V"},
    Spelling{"volts", "V"},
    Spelling{"v", "V"},
    Spelling{"mv", "mV"},
    Spelling{"millivolts", "mV"},
    Spelling{"ohm", "Ohm"},
    Spelling{"ohms", "Ohm"},
    Spelling{"Ω", "Ohm"},
    Spelling{"kohm", "kOhm"},
    Spelling{"mohm", "mOhm"},
    Spelling{"sec", "s"},
    Spelling{"secs", "s"},
    Spelling{"second", "s"},
    Spelling{"seconds", "s"},
    Spelling{"minute", "min"},
    Spelling{"minutes", "min"},
    Spelling{"mins", "min"},
    Spelling{"hour", "h"},
    Spelling{"hours", "h"},
    Spelling{"in", "[in_i]"},
    Spelling{"inch", "[in_i]"},
    Spelling{"inches", "[in_i]"},
    Spelling{"\"", "[in_i]"},
    Spelling{"ft", "[ft_i]"},
    Spelling{"foot", "[ft_i]"},
    Spelling{"feet", "[ft_i]"},
    Spelling{"metre", "m"},
    Spelling{"metres", "m"},
    Spelling{"meter", "m"},
    Spelling{"meters", "m"},
    Spelling{"c", "Cel"},
    Spelling{"°c", "Cel"},
    Spelling{"degc", "Cel"},
    Spelling{"celsius", "Cel"},
    Spelling{"f", "[degF]"},
    Spelling{"°f", "[degF]"},
    Spelling{"degf", "[degF]"},
    Spelling{"fahrenheit", "[degF]"},
    Spelling{"kelvin", "K"},
    Spelling{"newton", "N"},
    Spelling{"grams-force", "gf"},
    Spelling{"ozf", "[ozf_av]"},
    Spelling{"hertz", "Hz"},
    Spelling{"hz", "Hz"},
    Spelling{"1/min", "/min"},
    Spelling{"laps/min", "/min"},
    Spelling{"lap/min", "/min"},
    Spelling{"per minute", "/min"},
    Spelling{"lpm", "/min"},
    Spelling{"in/s", "[in_i]/s"},
    Spelling{"gram", "g"},
    Spelling{"grams", "g"},
    Spelling{"oz", "[oz_av]"},
    Spelling{"ounce", "[oz_av]"},
    Spelling{"ounces", "[oz_av]"},
    Spelling{"percent", "%"},
};

std::optional<Unit> by_code(std::string_view code) {
  const auto* found = std::ranges::find(kUnits, code, &Unit::code);
  return found == kUnits.end() ? std::nullopt : std::optional(*found);
}

void demand_same_dimension(const Unit& from, const Unit& to) {
  if (from.dimension != to.dimension)
    throw input::InputError("cannot turn " + std::string(from.code) + " into " + std::string(to.code));
}

}  // namespace

std::optional<Unit> find_unit(std::string_view text) {
  if (auto exact = by_code(text)) return exact;
  if (text == "Mohm") return by_code("MOhm");
  // The prefixes milli and mega differ by case alone: "MA" is no spelling of mA.
  if (text.starts_with('M') && (text == "MA" || text == "MV" || text == "MOHM")) return std::nullopt;
  std::string lower(text);
  std::ranges::transform(lower, lower.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  const auto* found = std::ranges::find(kSpellings, std::string_view(lower), &Spelling::text);
  if (found != kSpellings.end()) return by_code(found->code);
  const auto* typed = std::ranges::find(kSpellings, text, &Spelling::text);
  return typed == kSpellings.end() ? std::nullopt : by_code(typed->code);
}

Unit unit(std::string_view code) {
  if (auto found = by_code(code)) return *found;
  throw std::logic_error("no unit " + std::string(code));
}

double convert(double value, const Unit& from, const Unit& to) {
  demand_same_dimension(from, to);
  if (from == to) return value;
  return (value * from.factor + from.offset - to.offset) / to.factor;
}

double convert_difference(double value, const Unit& from, const Unit& to) {
  demand_same_dimension(from, to);
  return from == to ? value : value * from.factor / to.factor;
}

std::string spellings(Dimension dimension) {
  std::string all;
  for (const Unit& each : kUnits)
    if (each.dimension == dimension) input::join_to(all, each.code);
  return all;
}

}  // namespace wheeltapper::measure
