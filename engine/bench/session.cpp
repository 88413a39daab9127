#include "engine/bench/session.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace wheeltapper::bench {
namespace {

constexpr std::array kKinds{std::pair{RunKind::neutral, std::string_view("neutral")},
                            std::pair{RunKind::motor_only, std::string_view("motor-only")},
                            std::pair{RunKind::light, std::string_view("light")},
                            std::pair{RunKind::loaded, std::string_view("loaded")},
                            std::pair{RunKind::standing, std::string_view("standing")}};
constexpr std::array kDirections{std::pair{Direction::any, std::string_view("any")},
                                 std::pair{Direction::forward, std::string_view("forward")},
                                 std::pair{Direction::reverse, std::string_view("reverse")}};

template <typename Table, typename Key>
std::string_view name_in(const Table& table, Key key) {
  return std::ranges::find(table, key, [](const auto& row) { return row.first; })->second;
}

template <typename Table>
auto find_in(const Table& table, std::string_view text) -> std::optional<decltype(table.front().first)> {
  const auto found = std::ranges::find(table, text, [](const auto& row) { return row.second; });
  if (found == table.end()) return std::nullopt;
  return found->first;
}

}  // namespace

std::string_view name(RunKind kind) { return name_in(kKinds, kind); }
std::string_view name(Direction direction) { return name_in(kDirections, direction); }
std::optional<RunKind> run_kind(std::string_view text) { return find_in(kKinds, text); }
std::optional<Direction> direction(std::string_view text) { return find_in(kDirections, text); }

measure::Measurement lap_rate(int laps, const measure::Measurement& time) {
  const measure::Measurement seconds = time.in(measure::unit("s"));
  if (laps < 1) throw std::domain_error("laps must be at least 1");
  if (seconds.value() <= 0) throw std::domain_error("the time of the laps must be above 0");
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
