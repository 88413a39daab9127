// Simulated series of meter readings: what was planted is found where it was planted, and nothing is found where
// nothing was planted.
#include "engine/bench/series.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <random>

#include "engine/bench/laps.hpp"
#include "engine/input/input_error.hpp"

namespace {

using namespace wheeltapper::bench;

struct Plan {
  double rate = 5;       ///< readings a second
  double laps = 18;      ///< how many
  double lap = 6.7;      ///< s, at the start
  double slowing = 0;    ///< growth of the lap time over the whole run, as a share
  double noise = 0.03;   ///< A, one reading
  double memory = 0.3;   ///< of the noise, from one reading to the next
  double curves = 0.06;  ///< A, twice a lap
  double joint = 0;      ///< A lost at the bad joint
  double place = 0.3;
  double width = 0.05;  ///< of a lap
  bool marked = true;
  double turn = 0;  ///< s of a wheel turn, with a swing of `swing`
  double swing = 0;
};

Series simulate(const Plan& plan, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  Series series;
  double noise = 0;
  const double whole = plan.laps * plan.lap * (1 + plan.slowing / 2);
  double place = 0;
  double before = 0;
  const double step = 1 / plan.rate;
  if (plan.marked) series.lap_marks.push_back(0);
  for (double t = 0; t < whole; t += step) {
    const double lap = plan.lap * (1 + plan.slowing * t / whole);
    before = place;
    if (t > 0) place += step / lap;
    if (plan.marked && std::floor(place) > std::floor(before))
      series.lap_marks.push_back(t - (place - std::floor(place)) * lap);
    noise = plan.memory * noise + std::sqrt(1 - plan.memory * plan.memory) * plan.noise * normal(random);
    double amps = 2.1 + noise + plan.curves * std::cos(4 * std::numbers::pi * place);
    double off = place - std::floor(place) - plan.place;
    off -= std::round(off);
    if (std::abs(off) < plan.width / 2) amps -= plan.joint;
    if (plan.turn > 0) amps += plan.swing * std::sin(2 * std::numbers::pi * t / plan.turn);
    series.time.push_back(t);
    series.amps.push_back(std::round(amps * 100) / 100);  // a meter that shows 0.01 A
  }
  return series;
}

double apart(double a, double b) {
  const double d = a - b;
  return std::abs(d - std::round(d));
}

TEST_CASE("The fold finds a bad joint within a fortieth of a lap", "[property][series]") {
  std::mt19937 random(3);
  int found = 0;
  for (const bool marked : {true, false})
    for (unsigned seed = 0; seed < 60; ++seed) {
      Plan plan{.marked = marked};
      plan.place = std::uniform_real_distribution<double>(0, 1)(random);
      plan.joint = std::uniform_real_distribution<double>(0.12, 0.5)(random);
      plan.lap = std::uniform_real_distribution<double>(5.5, 8)(random);
      plan.slowing = std::uniform_real_distribution<double>(-0.05, 0.05)(random);
      const Series series = simulate(plan, seed);
      const SeriesSummary summary = summarise(series);
      const auto laps = find_laps(series, summary, marked ? std::nullopt : std::optional(plan.lap * 1.01));
      INFO("seed " << seed << " marked " << marked << " place " << plan.place << " joint " << plan.joint << " lap "
                   << plan.lap << " slowing " << plan.slowing);
      REQUIRE(laps);
      CHECK(laps->found != marked);
      const auto folded = fold(series, summary, *laps);
      REQUIRE(folded);
      if (marked) REQUIRE_FALSE(folded->spots.empty());
      if (folded->spots.empty()) continue;  // a weak one may drown where the laps had to be found from it
      // Laps found from the series itself are a little less exact.
      CHECK(apart(folded->spots.front().place, plan.place) <= (marked ? 1.0 / 40 : 1.0 / 20));
      CHECK(folded->spots.front().amps < 0);
      ++found;
    }
  CHECK(found >= 118);
}

TEST_CASE("200 clean series show no spot at a false-alarm rate of one in ten thousand", "[property][series]") {
  int alarms = 0;
  int folded_series = 0;
  for (unsigned seed = 0; seed < 200; ++seed) {
    const Plan plan{.rate = seed % 3 == 0 ? 2.5 : 5.0,
                    .laps = 5.0 + seed % 20,
                    .memory = (seed % 4) * 0.2,
                    .curves = (seed % 5) * 0.03,
                    .marked = seed % 2 == 0};
    const Series series = simulate(plan, 1000 + seed);
    const SeriesSummary summary = summarise(series);
    const auto laps = find_laps(series, summary, plan.lap);
    if (!laps) continue;
    const auto folded = fold(series, summary, *laps);
    if (!folded) continue;
    ++folded_series;
    CHECK(folded->false_alarm == 1e-4);
    alarms += folded->spots.empty() ? 0 : 1;
  }
  INFO(alarms << " of " << folded_series);
  CHECK(folded_series > 120);
  CHECK(alarms == 0);
}

TEST_CASE("Lap marks are found without being told anything", "[property][series]") {
  for (unsigned seed = 0; seed < 20; ++seed) {
    const Plan plan{.joint = 0.4, .marked = false};
    const Series series = simulate(plan, seed);
    const auto laps = find_laps(series, summarise(series));
    REQUIRE(laps);
    CHECK(std::abs(laps->lap_seconds - plan.lap) < 0.01 * plan.lap);
  }
  // Nothing returns in plain noise.
  for (unsigned seed = 0; seed < 20; ++seed) {
    const Series series = simulate({.curves = 0, .marked = false}, seed);
    CHECK_FALSE(find_laps(series, summarise(series)));
  }
}

TEST_CASE("A swing with the wheels is seen where the readings are fast enough", "[property][series]") {
  const double turn = 0.31;
  for (unsigned seed = 0; seed < 10; ++seed) {
    const Series fast = simulate({.rate = 25, .laps = 6, .turn = turn, .swing = 0.05}, seed);
    const TurnSwing seen = turn_swing(fast, summarise(fast), turn * 1.02);
    CHECK(seen.provable());
    CHECK(seen.chance_once < 1e-6);
    CHECK(std::abs(seen.once - 0.05) < 0.01);
    const Series twice = simulate({.rate = 25, .laps = 6, .turn = turn / 2, .swing = 0.05}, seed);
    CHECK(turn_swing(twice, summarise(twice), turn).chance_twice < 1e-6);
    const Series none = simulate({.rate = 25, .laps = 6, .memory = 0}, seed);
    CHECK_FALSE(turn_swing(none, summarise(none), turn).provable());
    const Series slow = simulate({.rate = 5, .turn = turn, .swing = 0.05}, seed);
    CHECK(turn_swing(slow, summarise(slow), turn).too_slow);
  }
}

TEST_CASE("A bad joint is not taken for a swing with the wheels, nor a swing for laps", "[property][series][many]") {
  int claimed = 0;
  for (unsigned seed = 0; seed < 30; ++seed) {
    const Series joint = simulate({.rate = 25, .laps = 25, .memory = 0, .joint = 0.5, .width = 0.03}, seed);
    const SeriesSummary summary = summarise(joint);
    const auto laps = find_laps(joint, summary);
    REQUIRE(laps);
    claimed += turn_swing(joint, summary, 0.31, &*laps).provable() ? 1 : 0;
  }
  INFO(claimed);
  CHECK(claimed <= 1);
  for (unsigned seed = 0; seed < 10; ++seed) {
    const Series swing =
        simulate({.rate = 50, .laps = 10, .curves = 0, .marked = false, .turn = 0.09, .swing = 0.12}, seed);
    const SeriesSummary summary = summarise(swing);
    CHECK_FALSE(find_laps(swing, summary));
    CHECK(turn_swing(swing, summary, 0.18).chance_twice < 1e-3);
  }
}

TEST_CASE("A gap in the log or a missed mark makes no lap", "[property][series]") {
  Series series = simulate({.laps = 20, .joint = 0.4}, 4);
  for (std::size_t i = 200; i < series.size(); ++i) series.time[i] += 600;
  for (double& mark : series.lap_marks)
    if (mark > series.time[199]) mark += 600;
  const SeriesSummary summary = summarise(series);
  const auto laps = find_laps(series, summary);
  REQUIRE(laps);
  CHECK(std::abs(laps->lap_seconds - 6.7) < 0.1);
  const auto folded = fold(series, summary, *laps);
  REQUIRE(folded);
  REQUIRE_FALSE(folded->spots.empty());
  CHECK(apart(folded->spots[0].place, 0.3) < 1.0 / 40);
}

TEST_CASE("The mean of readings that hang together is not called surer than it is", "[property][series]") {
  // An autoregressive series of first order has a mean whose variance is (1 + a) / (1 - a) times that of independent
  // readings.
  std::mt19937 random(5);
  std::normal_distribution<double> normal;
  for (const double memory : {0.0, 0.5, 0.8}) {
    int covered = 0;
    double ratio = 0;
    constexpr int kRuns = 400;
    for (int run = 0; run < kRuns; ++run) {
      std::vector<double> readings;
      double x = normal(random);
      for (int i = 0; i < 500; ++i) {
        x = memory * x + std::sqrt(1 - memory * memory) * normal(random);
        readings.push_back(2 + 0.1 * x);
      }
      const SeriesMean mean = correlated_mean(readings);
      covered += std::abs(mean.mean - 2) < 1.96 * mean.uncertainty ? 1 : 0;
      ratio += mean.uncertainty / (0.1 / std::sqrt(500.0)) / kRuns;
    }
    INFO("memory " << memory << " covered " << covered << " ratio " << ratio);
    CHECK(covered >= 0.91 * kRuns);
    CHECK(std::abs(ratio / std::sqrt((1 + memory) / (1 - memory)) - 1) < 0.15);
  }
}

TEST_CASE("Drift, slips and stalls", "[property][series]") {
  Series series = simulate({.laps = 30, .curves = 0}, 9);
  for (std::size_t i = 0; i < series.size(); ++i) series.amps[i] += 0.1 / 60 * series.time[i];
  series.amps[100] = 20.9;                                       // a decimal point in the wrong place
  for (std::size_t i = 300; i < 305; ++i) series.amps[i] = 0.2;  // one second without contact
  for (std::size_t i = 500; i < 506; ++i) series.amps[i] = 4.6;
  const SeriesSummary summary = summarise(series);
  CHECK(summary.outliers == std::vector<std::size_t>{100});
  REQUIRE(summary.events.size() == 2);
  CHECK(summary.events[0].kind == SeriesEvent::Kind::lost);
  CHECK(std::abs(summary.events[0].from - series.time[300]) < 1e-9);
  CHECK(summary.events[1].kind == SeriesEvent::Kind::surge);
  CHECK(summary.drift.provable());
  CHECK(std::abs(summary.drift.per_minute - 0.1) < 3 * summary.drift.uncertainty);
  CHECK(std::abs(summary.rate - 5) < 0.01);
  const Series level = simulate({.laps = 30, .curves = 0}, 10);
  CHECK(std::abs(summarise(level).drift.per_minute) < 4 * summarise(level).drift.uncertainty);
  Series wrong = level;
  wrong.time[5] = wrong.time[4];
  CHECK_THROWS_AS(summarise(wrong), wheeltapper::input::DomainError);
}

}  // namespace
