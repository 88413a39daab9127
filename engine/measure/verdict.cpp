#include "engine/measure/verdict.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {
namespace {

constexpr int kMostRuns = 20;

bool settled(const Measurement& reading, const Limits& limits, double uncertainty, double demand) {
  const Measurement sharper(reading.value(), uncertainty, reading.unit());
  return judge(sharper, limits, demand).call != Call::too_close;
}

/// The largest standard uncertainty up to which the reading is settled, to a part in 10^9 of its own; 0: none.
double settling_uncertainty(const Measurement& reading, const Limits& limits, double demand) {
  double low = 0;
  double high = reading.uncertainty();
  while (settled(reading, limits, high, demand)) {
    low = high;
    high *= 2;
    if (!(high < 1e9 * reading.uncertainty())) return low;
  }
  for (int step = 0; step < 60 && high - low > 1e-9 * reading.uncertainty(); ++step) {
    const double middle = (low + high) / 2;
    (settled(reading, limits, middle, demand) ? low : high) = middle;
  }
  return low;
}

}  // namespace

double conformance(const Measurement& reading, const Limits& limits) {
  if (!limits.at_least && !limits.at_most) throw input::DomainError("a limit needs a bound");
  if (std::isnan(limits.at_least.value_or(0)) || std::isnan(limits.at_most.value_or(0)))
    throw input::DomainError("a limit is not a number");
  if (limits.at_least && limits.at_most && *limits.at_least > *limits.at_most)
    throw input::DomainError("the lower limit is above the upper");
  const Measurement y = reading.in(limits.unit);
  const auto below = [&](double bound) {
    return standard_cdf((bound - y.value()) / y.uncertainty(), y.degrees_of_freedom());
  };
  const double under_upper = limits.at_most ? below(*limits.at_most) : 1.0;
  const double under_lower = limits.at_least ? below(*limits.at_least) : 0.0;
  return std::clamp(under_upper - under_lower, 0.0, 1.0);
}

Verdict judge(const Measurement& reading, const Limits& limits, double demand) {
  const double conforms = conformance(reading, limits);
  if (conforms >= demand) return {Call::within, conforms};
  if (conforms <= 1 - demand) return {Call::outside, conforms};
  return {Call::too_close, conforms};
}

Settling what_settles(const Measurement& reading, const Limits& limits, double repeatable, double fixed, double demand,
                      int made) {
  Settling settling{.runs = std::nullopt, .meter_uncertainty = settling_uncertainty(reading, limits, demand)};
  for (int runs = made + 1; runs <= kMostRuns && !settling.runs; ++runs) {
    const double uncertainty = std::hypot(repeatable / std::sqrt(runs), fixed);
    if (uncertainty > 0 && uncertainty <= settling.meter_uncertainty) settling.runs = runs;
  }
  return settling;
}

}  // namespace wheeltapper::measure
