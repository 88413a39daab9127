#include "engine/bench/run_readings.hpp"

#include <algorithm>
#include <cmath>

namespace wheeltapper::bench {

const Reading* reading_of(const Run& run, std::string_view quantity) {
  const auto found = run.readings.find(quantity);
  return found == run.readings.end() ? nullptr : &found->second;
}

UncertainValue uncertain_value(const Reading& reading) {
  const double u = reading.value.uncertainty();
  const double shared = reading.fixed * std::sqrt(1 - kNewEachReading * kNewEachReading);
  return {reading.value.value(), std::sqrt(std::max(u * u - shared * shared, 1e-12 * u * u)), shared};
}

bool fits(Direction wanted, Direction had) {
  return wanted == Direction::any || had == Direction::any || wanted == had;
}

std::optional<DrivePoint> point_of(const Run& run) {
  const Reading* volts = reading_of(run, "rail-volts");
  const Reading* amps = reading_of(run, "amps");
  const Reading* rate = reading_of(run, "lap-rate");
  if (volts == nullptr || amps == nullptr || rate == nullptr || !run.completed) return std::nullopt;
  if (volts->value.value() <= 0 || amps->value.value() <= 0 || rate->value.value() <= 0) return std::nullopt;
  return DrivePoint{uncertain_value(*volts), uncertain_value(*amps), uncertain_value(*rate)};
}

std::optional<UncertainValue> amps_of(const std::vector<Run>& runs, RunKind kind, Direction direction) {
  for (const Run& run : runs)
    if (run.kind == kind && fits(direction, run.direction))
      if (const Reading* amps = reading_of(run, "amps")) return uncertain_value(*amps);
  return std::nullopt;
}

}  // namespace wheeltapper::bench
