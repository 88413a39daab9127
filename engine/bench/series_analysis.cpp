#include "engine/bench/series_analysis.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/bench/run_readings.hpp"

namespace wheeltapper::bench {
namespace {

std::optional<double> read_lap_seconds(const Run& run) {
  const Reading* rate = reading_of(run, "lap-rate");
  return rate != nullptr ? std::optional(60 / rate->value.value()) : std::nullopt;
}

void add_laps(const Run& run, SeriesAnalysis& each, std::vector<Figure>& figures) {
  each.laps = find_laps(*run.series, each.summary, read_lap_seconds(run));
  if (!each.laps) return;
  each.fold = fold(*run.series, each.summary, *each.laps);
  // That nothing was found is no figure: eyes may see what a meter is too slow for.
  if (each.fold->spots.empty()) return;
  const Spot& spot = each.fold->spots.front();
  put_figure(figures,
             single("lap-spot", 1, 0,
                    fmt::format("the amps {} by {:.0f} % at {:.0f} % of each lap", spot.amps < 0 ? "fall" : "rise",
                                100 * std::abs(spot.share), 100 * spot.place)));
}

void add_swing(const Session& session, const Run& run, SeriesAnalysis& each, std::vector<Figure>& figures) {
  auto lap_seconds = read_lap_seconds(run);
  if (!lap_seconds && each.laps) lap_seconds = each.laps->lap_seconds;
  if (!lap_seconds || !session.wheel_diameter || !run.conditions.loop) return;
  const double speed = run.conditions.loop->in(measure::unit("m")).value() / *lap_seconds;
  each.swing = turn_swing(*run.series, each.summary, std::numbers::pi * *session.wheel_diameter / speed,
                          each.laps ? &*each.laps : nullptr);
  if (each.swing->provable()) put_figure(figures, single("turn-swing", 1, 0, "the amps swing with the wheels"));
}

void add_amps_drift(const SeriesSummary& summary, std::vector<Figure>& figures) {
  constexpr double kLongEnough = 180;  // s
  if (summary.seconds < kLongEnough || summary.amps.mean <= 0) return;
  const double whole = summary.seconds / 60 / summary.drift.start;  // from A a minute to a share
  put_drift(figures, "amps-drift", "amps", summary.drift.per_minute * whole, summary.drift.uncertainty * whole);
}

}  // namespace

void add_series(const Session& session, BenchAnalysis& out) {
  for (std::size_t i = 0; i < session.runs.size(); ++i) {
    const Run& run = session.runs[i];
    if (!run.series) continue;
    SeriesAnalysis each{i, summarise(*run.series), {}, {}, {}};
    if (run.kind == RunKind::loaded || run.kind == RunKind::light) {
      add_laps(run, each, out.figures);
      add_swing(session, run, each, out.figures);
    }
    add_amps_drift(each.summary, out.figures);
    out.series.push_back(std::move(each));
  }
}

}  // namespace wheeltapper::bench
