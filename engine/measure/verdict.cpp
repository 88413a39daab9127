#include "engine/measure/verdict.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace wheeltapper::measure {
namespace {

constexpr int kMostRuns = 20;

double distance_to_nearest(const Measurement& reading, const Limits& limits) {
  double distance = std::numeric_limits<double>::infinity();
  for (const auto& limit : {limits.at_least, limits.at_most})
    if (limit)
      distance = std::min(distance, std::abs(convert(*limit, limits.unit, reading.unit()) - reading.value()));
  return distance;
}

}  // namespace

double conformance(const Measurement& reading, const Limits& limits) {
  if (!limits.at_least && !limits.at_most) throw std::domain_error("a limit needs a bound");
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

Settling what_settles(const Measurement& reading, const Limits& limits, double repeatable, double fixed,
                      double demand) {
  const double factor = coverage_factor(2 * demand - 1, std::numeric_limits<double>::infinity());
  const double allowed = distance_to_nearest(reading, limits) / factor;
  Settling settling{.runs = std::nullopt, .meter_uncertainty = allowed};
  if (allowed > fixed) {
    const double runs = repeatable * repeatable / (allowed * allowed - fixed * fixed);
    if (runs <= kMostRuns) settling.runs = std::max(2, static_cast<int>(std::ceil(runs)));
  }
  return settling;
}

}  // namespace wheeltapper::measure
