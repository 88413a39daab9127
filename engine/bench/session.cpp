#include "engine/bench/session.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {
namespace {

template <typename Enum, typename Words>
std::optional<Enum> find_in(const Words& words, std::string_view text) {
  const auto found = std::ranges::find(words, text);
  if (found == words.end()) return std::nullopt;
  return static_cast<Enum>(found - words.begin());
}

}  // namespace

std::string_view name(RunKind kind) { return kRunKindWords[static_cast<std::size_t>(kind)]; }
std::string_view name(Direction direction) { return kDirectionWords[static_cast<std::size_t>(direction)]; }
std::optional<RunKind> run_kind(std::string_view text) { return find_in<RunKind>(kRunKindWords, text); }
std::optional<Direction> direction(std::string_view text) { return find_in<Direction>(kDirectionWords, text); }

measure::Measurement lap_rate(int laps, const measure::Measurement& time) {
  const measure::Measurement seconds = time.in(measure::unit("s"));
  if (laps < 1) throw input::DomainError("laps must be at least 1");
  if (seconds.value() <= 0) throw input::DomainError("the time of the laps must be above 0");
  const double rate = 60.0 * laps / seconds.value();
  return {rate, rate * seconds.uncertainty() / seconds.value(), measure::unit("/min"), seconds.degrees_of_freedom()};
}

measure::Measurement track_speed(const measure::Measurement& laps_a_minute, const measure::Measurement& loop) {
  const measure::Measurement hertz = laps_a_minute.in(measure::unit("Hz"));
  const measure::Measurement metres = loop.in(measure::unit("m"));
  const double speed = hertz.value() * metres.value();
  const double relative = std::hypot(hertz.uncertainty() / hertz.value(), metres.uncertainty() / metres.value());
  return {speed, speed * relative, measure::unit("m/s")};
}

bool comparable(const Limit& limit, const Run& run) {
  const Conditions& wanted = limit.holds_for;
  if (wanted.cars && run.conditions.cars && *wanted.cars != *run.conditions.cars) return false;
  const auto volts = run.readings.find("rail-volts");
  return !wanted.rail_volts || volts == run.readings.end() ||
         std::abs(volts->second.value.value() / *wanted.rail_volts - 1) <= kOtherVolts;
}

measure::Measurement difference_of(const Reading& first, const Reading& second) {
  const measure::Measurement& a = first.value;
  const measure::Measurement b = second.value.in(a.unit());
  const double fixed_b = measure::convert_difference(second.fixed, second.value.unit(), a.unit());
  const double scatter_a = std::sqrt(std::max(0.0, a.uncertainty() * a.uncertainty() - first.fixed * first.fixed));
  const double scatter_b = std::sqrt(std::max(0.0, b.uncertainty() * b.uncertainty() - fixed_b * fixed_b));
  const double left = first.meter == second.meter ? kNewEachReading : 1.0;
  const double u = std::hypot(std::hypot(scatter_a, scatter_b), left * std::hypot(first.fixed, fixed_b));
  return {a.value() - b.value(), std::max(u, 1e-9), a.unit()};
}

}  // namespace wheeltapper::bench
