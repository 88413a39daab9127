#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {

/// What a unit measures. Two units convert into each other exactly when their dimensions are equal.
enum class Dimension { current, voltage, resistance, time, length, temperature, force, frequency, speed, mass, ratio };

/// A unit of the Unified Code for Units of Measure (UCUM). Value in the base unit of its dimension
/// (A, V, Ohm, s, m, K, N, Hz, m/s, kg, 1) = value * factor + offset; the offset is not 0 only for temperatures
/// that start elsewhere than the kelvin. A frequency of laps is written `/min`.
struct Unit {
  std::string_view code;   ///< UCUM, case-sensitive, e.g. "A", "[in_i]", "Cel"
  std::string_view shown;  ///< what a person reads, e.g. "A", "in", "°C"
  Dimension dimension;
  double factor;
  double offset;
  friend bool operator==(const Unit& a, const Unit& b) noexcept { return a.code == b.code; }
};

/// The unit for a UCUM code or for one of the spellings that people type ("amps", "in", "ohm", "C", "F",
/// "laps/min"); nothing if there is none. Spellings are looked up without regard to case after the exact
/// codes, so that `mA` and `MA` are not mixed up: a code wins, and no spelling clashes with another.
std::optional<Unit> find_unit(std::string_view text);

/// As find_unit, for codes known at compile time.
/// \throws std::logic_error  if there is no such unit: a mistake of ours
Unit unit(std::string_view code);

/// Converts a value. Temperatures take their offset along.
/// \throws input::DomainError  if the dimensions differ
double convert(double value, const Unit& from, const Unit& to);

/// Converts a difference or an uncertainty: as convert, without any offset.
/// \throws input::DomainError  if the dimensions differ
double convert_difference(double value, const Unit& from, const Unit& to);

/// All spellings of one dimension, for a message: "A, mA, uA".
std::string spellings(Dimension dimension);

}  // namespace wheeltapper::measure
