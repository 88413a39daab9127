// The indexes from readings, by linear propagation and by sampling (kSamples draws), and a series of 10,000 readings
// read, summarised and folded, with lap marks and without.
#include <benchmark/benchmark.h>

#include <cmath>
#include <numbers>
#include <random>

#include "engine/bench/infer_drive.hpp"
#include "engine/bench/laps.hpp"
#include "engine/cases/series_file.hpp"

namespace {

using namespace wheeltapper::bench;

DrivePoint point(double volts, double amps, double rate) {
  return {{volts, 0.01, 0.06}, {amps, 0.01, 0.02}, {rate, 0.03, 0}};
}

Baseline healthy() {
  Baseline base;
  base.runs.points = {point(12, 2.15, 9.6), point(9, 2.15, 5.2)};
  base.runs.neutral = UncertainValue{0.55, 0.01, 0.01};
  base.same_meters = true;
  base.drag_uncertainty = 0.03;
  return base;
}

/// \param second  volts of the second run: near the first, the line is known badly and is sampled
void infer_at(benchmark::State& state, double second, double rate, double own = 0.01) {
  const Baseline base = healthy();
  DrivePoint other = point(second, 2.4, rate);
  other.volts.own = own;
  const DriveRuns now{{point(12, 2.4, 7.4), other}, UncertainValue{0.55, 0.01, 0.01}, {}};
  MotorFacts facts;
  facts.brush_volts = {1.0, 0.02, 0};
  bool sampled = false;
  for (auto _ : state) {
    const DriveInference result = infer(facts, now, &base);
    sampled = result.indexes && result.indexes->sampled;
    benchmark::DoNotOptimize(result);
  }
  state.counters["samples"] = sampled ? static_cast<double>(kSamples) : 0;
}
void BM_IndexesLinear(benchmark::State& state) { infer_at(state, 9, 3.6); }
void BM_IndexesSampled(benchmark::State& state) { infer_at(state, 11.5, 6.76, 0.12); }
BENCHMARK(BM_IndexesLinear)->Unit(benchmark::kMicrosecond);
BENCHMARK(BM_IndexesSampled)->Unit(benchmark::kMillisecond);

std::string series_text(std::size_t rows, bool marked) {
  std::mt19937 random(1);
  std::normal_distribution<double> noise(0, 0.03);
  std::string text = "time,amps,lap\n";
  constexpr double kLap = 6.7;
  for (std::size_t i = 0; i < rows; ++i) {
    const double t = 0.2 * static_cast<double>(i);
    const double place = t / kLap - std::floor(t / kLap);
    const double amps =
        2.1 + 0.05 * std::cos(4 * std::numbers::pi * place) + noise(random) - (std::abs(place - 0.3) < 0.025 ? 0.3 : 0);
    const bool mark = marked && place < 0.2 / kLap;
    text += std::to_string(t) + "," + std::to_string(amps) + (mark ? ",1\n" : ",\n");
  }
  return text;
}

void BM_Series(benchmark::State& state) {
  const std::string text = series_text(10000, state.range(0) != 0);
  std::size_t spots = 0;
  for (auto _ : state) {
    const Series series = wheeltapper::cases::read_series(text, "bench.csv");
    const SeriesSummary summary = summarise(series);
    const auto laps = find_laps(series, summary);
    if (!laps) {
      state.SkipWithError("no laps found");
      break;
    }
    const auto folded = fold(series, summary, *laps);
    spots = folded->spots.size();
  }
  state.counters["spots"] = static_cast<double>(spots);
}
BENCHMARK(BM_Series)->ArgName("marked")->Arg(1)->Arg(0)->Unit(benchmark::kMillisecond);

}  // namespace
