#include "engine/cases/reading.hpp"

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

#include "engine/input/input_error.hpp"

namespace wheeltapper::cases {
namespace {

using catalogue::Quantity;
using measure::Unit;

/// The typed values in the quantity's unit, and the uncertainty typed with the first of them that has one (0: none).
struct TypedValues {
  std::vector<double> values;
  double uncertainty = 0;
};

/// Slips of the pen: what no meter at a bench shows.
void demand_plausible(double value, const Unit& unit) {
  constexpr double kMost = 1e5;
  constexpr double kColdest = -50;  // C
  constexpr double kHottest = 1000;
  if (unit.code == "Cel") {
    if (value < kColdest || value > kHottest)
      throw input::InputError(fmt::format("is {:.4g} C, which no bench is", value));
    return;
  }
  constexpr double kLeast = 1e-9;
  if (value < 0) throw input::InputError("is below 0");
  if (value > 0 && value < kLeast) throw input::InputError("is too small for a bench");
  if (value > kMost) throw input::InputError("is too large for a bench");
}

void demand_uncertainty(double uncertainty) {
  constexpr double kLeast = 1e-9;
  constexpr double kMost = 1e5;
  if (!(uncertainty >= kLeast && uncertainty <= kMost)) throw input::InputError("has an uncertainty that no meter has");
}

TypedValues typed_values(const Quantity& quantity, const std::vector<std::string>& typed, const Unit& unit) {
  if (typed.empty()) throw input::InputError("has no value");
  TypedValues all;
  for (const std::string& text : typed) {
    const measure::Typed one = measure::parse_typed(text);
    if (one.unit.dimension != unit.dimension)
      throw input::InputError(fmt::format("is in {}, but {} is measured in {}", one.unit.code, quantity.name,
                                          measure::spellings(unit.dimension)));
    all.values.push_back(measure::convert(one.value, one.unit, unit));
    demand_plausible(all.values.back(), unit);
    const double uncertainty = measure::convert_difference(one.uncertainty, one.unit, unit);
    if (uncertainty > 0) demand_uncertainty(uncertainty);
    if (all.uncertainty == 0) all.uncertainty = uncertainty;
  }
  return all;
}

double usual_doubt(const Quantity& quantity, double value) {
  return quantity.uncertainty_percent / 100 * std::abs(value) + quantity.uncertainty_fixed;
}

}  // namespace

bench::Reading make_reading(const Quantity& quantity, const std::vector<std::string>& typed,
                            const measure::Meter* meter) {
  const Unit unit = *measure::find_unit(quantity.unit);
  const TypedValues given = typed_values(quantity, typed, unit);
  const bool several = given.values.size() > 1;
  const measure::Repeats scatter =
      several ? measure::repeats(given.values) : measure::Repeats{given.values.front(), 0, 0, 1};
  double fixed = given.uncertainty;
  bool assumed = false;
  if (fixed == 0 && meter != nullptr) {
    if (meter->unit.dimension != unit.dimension)
      throw input::InputError(fmt::format("was read with \"{}\", a meter for {}", meter->name, meter->unit.code));
    const double shown = measure::convert(scatter.mean, unit, meter->unit);
    fixed = measure::convert_difference(measure::standard_uncertainty(*meter, shown), meter->unit, unit);
  }
  if (fixed == 0) {
    fixed = usual_doubt(quantity, scatter.mean);
    assumed = true;
  }
  const measure::Part parts[] = {{fixed, std::numeric_limits<double>::infinity()},
                                 {scatter.deviation_of_mean, several ? scatter.degrees_of_freedom : 1}};
  const double uncertainty = std::hypot(fixed, scatter.deviation_of_mean);
  if (!(uncertainty > 0))
    throw input::InputError("is 0 and its uncertainty cannot be told; give one, such as 0 A +- 0.01");
  const double freedom = scatter.deviation_of_mean > 0 ? measure::effective_degrees_of_freedom(parts)
                                                       : std::numeric_limits<double>::infinity();
  bench::Reading reading{{scatter.mean, uncertainty, unit, freedom}, scatter.deviation, fixed, {}, assumed};
  if (several) reading.repeats = given.values;
  if (meter != nullptr) reading.meter = meter->name;
  return reading;
}

bench::Reading make_series_reading(const Quantity& quantity, const bench::SeriesMean& mean,
                                   const measure::Meter* meter) {
  const Unit unit = *measure::find_unit(quantity.unit);
  const bool fits = meter != nullptr && meter->unit.dimension == unit.dimension;
  const double fixed = fits ? measure::convert_difference(
                                  measure::standard_uncertainty(*meter, measure::convert(mean.mean, unit, meter->unit)),
                                  meter->unit, unit)
                            : usual_doubt(quantity, mean.mean);
  const measure::Part parts[] = {{fixed, std::numeric_limits<double>::infinity()},
                                 {mean.uncertainty, std::max(1.0, mean.independent - 1)}};
  return {{mean.mean, std::max(1e-9, std::hypot(fixed, mean.uncertainty)), unit,
           measure::effective_degrees_of_freedom(parts)},
          mean.uncertainty,
          fixed,
          {},
          !fits,
          fits ? meter->name : std::string()};
}

bench::Reading make_lap_rate(const Quantity& lap_time, int laps, const std::vector<std::string>& times,
                             const measure::Meter* watch) {
  if (laps < 1) throw input::InputError("has fewer laps than one");
  bench::Reading time = make_reading(lap_time, times, watch);
  const double seconds = time.value.value();
  if (!(seconds > 0)) throw input::InputError("has a time that is not above 0");
  for (const double each : time.repeats)
    if (!(each > 0)) throw input::InputError("has a time that is not above 0");
  // The hand on the watch errs afresh each time: with repeats its share is in their scatter already.
  const double single = time.repeats.empty() ? time.fixed : std::max(time.repeatable, 0.25 * time.fixed);
  const auto n = static_cast<double>(std::max<std::size_t>(time.repeats.size(), 1));
  const double freedom = time.repeats.empty() ? std::numeric_limits<double>::infinity() : n - 1;
  const measure::Measurement mean(seconds, single / std::sqrt(n), time.value.unit(), freedom);
  const measure::Measurement rate = bench::lap_rate(laps, mean);
  bench::Reading reading{rate, rate.value() * single / seconds, 0, {}, time.assumed_uncertainty};
  for (const double each : time.repeats) reading.repeats.push_back(60.0 * laps / each);
  return reading;
}

}  // namespace wheeltapper::cases
