#include "engine/measure/survival.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {

std::vector<SurvivalStep> kaplan_meier(std::span<const Lasted> lasted) {
  std::vector<Lasted> sorted(lasted.begin(), lasted.end());
  for (const Lasted& each : sorted)
    if (!(each.time >= 0) || !std::isfinite(each.time)) throw input::DomainError("a time is below 0 or not finite");
  std::ranges::sort(sorted, {}, &Lasted::time);
  std::vector<SurvivalStep> steps;
  double surviving = 1;
  double greenwood = 0;
  for (std::size_t i = 0; i < sorted.size();) {
    const std::size_t at_risk = sorted.size() - i;
    std::size_t ended = 0;
    const double time = sorted[i].time;
    for (; i < sorted.size() && sorted[i].time == time; ++i) ended += sorted[i].ended ? 1 : 0;
    if (ended == 0) continue;
    const auto n = static_cast<double>(at_risk);
    const auto d = static_cast<double>(ended);
    surviving *= (n - d) / n;
    greenwood += ended == at_risk ? 0 : d / (n * (n - d));
    steps.push_back({time, surviving, surviving * std::sqrt(greenwood), at_risk, ended});
  }
  return steps;
}

double surviving_at(std::span<const SurvivalStep> steps, double time) {
  const auto after = std::ranges::upper_bound(steps, time, {}, &SurvivalStep::time);
  return after == steps.begin() ? 1 : (after - 1)->surviving;
}

std::optional<double> median_survival(std::span<const SurvivalStep> steps) {
  const auto half = std::ranges::find_if(steps, [](const SurvivalStep& step) { return step.surviving <= 0.5; });
  if (half == steps.end()) return std::nullopt;
  return half->time;
}

}  // namespace wheeltapper::measure
