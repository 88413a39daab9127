#include "engine/bench/assess.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "engine/bench/level_rule.hpp"

using namespace wheeltapper;
using namespace wheeltapper::bench;

namespace {

Reading reading(double value, double uncertainty, std::string_view unit) {
  return {{value, uncertainty, measure::unit(unit)}, 0, uncertainty, {}, false};
}

Session session() {
  Session all;
  all.limits.push_back({"amps", RunKind::loaded, Direction::any, {{}, 2.0, measure::unit("A")}, {}});
  Run run;
  run.direction = Direction::forward;
  run.readings.emplace("amps", reading(2.4, 0.04, "A"));
  all.runs.push_back(run);
  return all;
}

}  // namespace

TEST_CASE("a missing reverse run is said", "[bench]") {
  const auto judged = assess(session());
  REQUIRE(judged.size() == 2);
  CHECK(judged[0].verdict->call == measure::Call::outside);
  CHECK_FALSE(judged[1].run.has_value());
  CHECK(judged[1].direction == Direction::reverse);
}

TEST_CASE("another number of cars is not comparable, and says so", "[bench]") {
  Session all = session();
  all.limits[0].holds_for.cars = 4;
  all.runs[0].conditions.cars = 2;
  const auto judged = assess(all);
  CHECK_FALSE(judged[0].verdict.has_value());
  CHECK_FALSE(judged[0].notes.empty());
  CHECK_FALSE(level_chances(all, {LevelRule::Kind::over_limit, "amps", "", RunKind::loaded, Direction::any, {1.0}})
                  .has_value());
}

TEST_CASE("lap rates are brought to the loop of the limit", "[bench]") {
  Session all;
  all.limits.push_back({"lap-rate", RunKind::loaded, Direction::forward, {9.0, {}, measure::unit("/min")}, {}});
  all.limits[0].holds_for.loop = measure::Measurement(140, 0.5, measure::unit("[in_i]"));
  Run run;
  run.direction = Direction::forward;
  run.conditions.loop = measure::Measurement(159.4, 0.5, measure::unit("[in_i]"));
  run.readings.emplace("lap-rate", reading(8.5, 0.05, "/min"));
  all.runs.push_back(run);
  const auto judged = assess(all);
  REQUIRE(judged.size() == 1);
  CHECK(judged[0].reading->value() == Approx(8.5 * 159.4 / 140));  // equal track speed
  CHECK(judged[0].verdict->call == measure::Call::within);
}

TEST_CASE("lap rate and track speed", "[bench]") {
  const auto rate = lap_rate(5, {35.3, 0.3, measure::unit("s")});
  CHECK(rate.value() == Approx(300 / 35.3));
  CHECK(rate.uncertainty() / rate.value() == Approx(0.3 / 35.3));
  // Common practice, no source: nine laps a minute of a 140 inch loop is 21 inches a second.
  const auto speed = track_speed({9, 0.1, measure::unit("/min")}, {140, 0.5, measure::unit("[in_i]")});
  CHECK(speed.in(measure::unit("[in_i]/s")).value() == Approx(21));
}

TEST_CASE("levels of a reading sum to 1 and follow the edges", "[bench]") {
  Session all = session();
  const LevelRule test{LevelRule::Kind::over_limit, "amps", "", RunKind::loaded, Direction::any, {1.0, 1.25}};
  const auto levels = level_chances(all, test);
  REQUIRE(levels.has_value());
  REQUIRE(levels->chances.size() == 3);
  CHECK(levels->chances[0] + levels->chances[1] + levels->chances[2] == Approx(1));
  CHECK(levels->chances[1] > 0.98);  // 2.4 A is past 2.0 and, at 0.04 A, hardly past 2.5
  CHECK(levels->chances[2] == Approx(1 - measure::standard_cdf((2.5 - 2.4) / 0.04)));
}
