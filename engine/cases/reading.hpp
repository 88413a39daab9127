#pragma once
#include <string>
#include <vector>

#include "engine/bench/session.hpp"
#include "engine/catalogue/catalogue.hpp"
#include "engine/input/input_error.hpp"
#include "engine/measure/meter.hpp"

namespace wheeltapper::cases {

/// A reading with its uncertainty: typed values (at least one), from a meter if there is one, else with the quantity's
/// usual uncertainty. Repeats add the scatter of their mean (Type A, JCGM 100:2008 4.2) to what all share. \throws
/// input::InputError  with a plain message: no value, a unit of another kind, a negative uncertainty
bench::Reading make_reading(const catalogue::Quantity& quantity, const std::vector<std::string>& typed,
                            const measure::Meter* meter);

/// Laps a minute from the time of `laps` laps, once or several times.
/// \throws input::InputError  as make_reading, or for laps below 1 or a time not above 0
bench::Reading make_lap_rate(const catalogue::Quantity& lap_time, int laps, const std::vector<std::string>& times,
                             const measure::Meter* watch);

/// A reading from the mean of a series: its Type A uncertainty, and the meter's, or the quantity's usual one, as the
/// rest.
bench::Reading make_series_reading(const catalogue::Quantity& quantity, const bench::SeriesMean& mean,
                                   const measure::Meter* meter);

}  // namespace wheeltapper::cases
