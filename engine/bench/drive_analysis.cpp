#include "engine/bench/drive_analysis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/bench/run_readings.hpp"
#include "engine/bench/warmth.hpp"
#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {
namespace {

constexpr double kTestDrag = 0.01;  // of the drag within one test (elicited judgement)

std::string way_text(Direction way) { return way == Direction::any ? "loaded" : std::string(name(way)); }

/// infer(), with what the readings make impossible as a refusal.
DriveInference tried(const MotorFacts& facts, const DriveRuns& now, const Baseline* base) {
  try {
    return infer(facts, now, base);
  } catch (const input::DomainError& wrong) {
    return {std::nullopt, wrong.what()};
  }
}

Figure mixture(const Indexes& indexes, Index index, const std::string& id, double scale, std::string said) {
  const auto at = static_cast<std::size_t>(index);
  Figure figure{id, {}, std::move(said)};
  for (const Explanation& each : indexes.explanations)
    figure.parts.push_back({each.chance, each.estimate[at].value / scale, each.estimate[at].uncertainty / scale});
  return figure;
}

void put_base_figures(const Indexes& indexes, std::vector<Figure>& figures) {
  const auto with_words = [](Figure figure, const char* words) {
    figure.said = fmt::format(fmt::runtime(words), figure.mean());
    return figure;
  };
  put_figure(figures, with_words(mixture(indexes, Index::drag, "drag-ratio", 1, {}), "{:.2f} times the healthy drag"));
  put_figure(figures, with_words(mixture(indexes, Index::ohms, "added-ohms-share", indexes.ohms_scale, {}),
                                 "{:.2f} of the healthy volts per amp in added ohms"));
  put_figure(figures, with_words(mixture(indexes, Index::flux, "flux-ratio", 1, {}), "{:.2f} of the healthy flux"),
             true);
  const auto put = [&](const char* id, const std::optional<Estimate>& estimate, const char* words) {
    if (estimate)
      put_figure(figures,
                 single(id, estimate->value, estimate->uncertainty, fmt::format(fmt::runtime(words), estimate->value)));
  };
  put("drive-drag-ratio", indexes.drive_drag, "{:.2f} times the healthy drag with the wheels off the track");
  put("train-drag-ratio", indexes.train_drag, "{:.2f} times the healthy drag of the train");
  put("parallel-amps-rise", indexes.parallel_rise, "{:.2f} A more than healthy pass the motor by");
}

void put_direction_figures(const Indexes& indexes, std::vector<Figure>& figures) {
  Figure ohms = mixture(indexes, Index::ohms, "direction-ohms-share", indexes.ohms_scale, {});
  ohms.said = fmt::format("{:.2f} of the volts per amp in added ohms one way", ohms.mean());
  Figure drag = mixture(indexes, Index::drag, "direction-drag-ratio", 1, {});
  drag.said = fmt::format("{:.2f} times the drag one way", drag.mean());
  figures.push_back(std::move(ohms));
  figures.push_back(std::move(drag));
}

bool has_points(const Session& session, Direction way) {
  return std::ranges::any_of(session.runs, [&](const Run& run) {
    return run.kind == RunKind::loaded && run.direction == way && point_of(run).has_value();
  });
}

/// No run of the healthy figures' train: said where there are runs of another.
DriveInference no_run_of_that_train(const LoopAndTrain& same) {
  return {std::nullopt,
          fmt::format("it pulled another number of cars than the {} of the healthy figures: no sum brings "
                      "one to the other",
                      same.cars.value_or(0))};
}

void add_against_base(const Session& session, Direction way, Warm warm, BenchAnalysis& out) {
  const auto base = base_of(session, way);
  const LoopAndTrain same = base ? base->same : loop_and_train_of(session.runs);
  const DriveRuns now = drive_runs(session.runs, way, warm, same);
  DriveAnalysis drive{way,
                      base ? base->against : Against::nothing,
                      way_text(way),
                      base ? "against " + base->words : "without healthy figures",
                      {}};
  if (warm == Warm::last) drive.runs += fmt::format(", minute {:g}", *last_minute(session.runs, way));
  if (now.points.empty()) {
    if (!base || drive_runs(session.runs, way, warm).points.empty()) return;
    drive.result = no_run_of_that_train(same);
  } else {
    if (!base && now.points.size() < 2) return;
    drive.result = tried(session.motor, now, base ? &base->baseline : nullptr);
  }
  // What is allowed says too little of what is healthy to count as evidence.
  const auto& indexes = drive.result.indexes;
  if (indexes && base && base->against != Against::limits && !indexes->contradiction)
    put_base_figures(*indexes, out.figures);
  out.drives.push_back(std::move(drive));
}

/// Each direction in its first minutes, and in its last where it warmed up.
void add_directions_against_base(const Session& session, BenchAnalysis& out) {
  const bool either = has_points(session, Direction::forward) || has_points(session, Direction::reverse);
  for (const Direction way : {Direction::forward, Direction::reverse, Direction::any})
    if (has_points(session, way) && (way != Direction::any || !either))
      add_against_base(session, way, Warm::first, out);
  for (const Direction way : {Direction::forward, Direction::reverse, Direction::any})
    if (last_minute(session.runs, way)) add_against_base(session, way, Warm::last, out);
}

Baseline within_one_test(DriveRuns runs) { return {std::move(runs), true, kTestDrag}; }

double laps_per_volt(const DriveRuns& runs) { return runs.points.front().rate.value / runs.points.front().volts.value; }

/// The slower direction against the other.
void add_directions(const Session& session, BenchAnalysis& out) {
  if (!has_points(session, Direction::forward) || !has_points(session, Direction::reverse)) return;
  const LoopAndTrain same = loop_and_train_of(session.runs);
  DriveRuns faster = drive_runs(session.runs, Direction::forward, Warm::first, same);
  DriveRuns slower = drive_runs(session.runs, Direction::reverse, Warm::first, same);
  if (faster.points.empty() || slower.points.empty()) return;
  const bool reverse_slower = laps_per_volt(slower) < laps_per_volt(faster);
  if (!reverse_slower) std::swap(faster, slower);
  const Baseline base = within_one_test(std::move(faster));
  DriveInference result = tried(session.motor, slower, &base);
  if (result.indexes && !result.indexes->contradiction) put_direction_figures(*result.indexes, out.figures);
  out.drives.push_back({reverse_slower ? Direction::reverse : Direction::forward, Against::other_direction,
                        reverse_slower ? "reverse" : "forward", reverse_slower ? "against forward" : "against reverse",
                        std::move(result)});
}

/// What part of a drift the winding's own warming could be.
void note_copper(const Session& session, const DriveInference& drift, BenchAnalysis& out) {
  if (!drift.indexes || !session.motor.resistance || drift.indexes->explanations.empty()) return;
  const Explanation& best = drift.indexes->explanations.front();
  const auto ohms = static_cast<std::size_t>(Index::ohms);
  if (!best.differs[ohms] || best.estimate[ohms].value <= 0) return;
  constexpr double kStart = 30;  // C, of copper after the first minutes (elicited judgement)
  const double share = best.estimate[ohms].value / session.motor.resistance->value;
  out.notes.push_back(
      fmt::format("{:.2g} ohm more as it warmed is what copper gives that gets {:.0f} K warmer. More "
                  "than the winding's own rise is a contact that heats.",
                  best.estimate[ohms].value, share * (kCopperIntercept + kStart)));
}

/// The first and the last loaded run of a direction.
struct FirstAndLast {
  const Run* first = nullptr;
  const Run* last = nullptr;

  bool apart() const { return first != last && *last->minute - *first->minute > kSameMinutes; }
};

FirstAndLast first_and_last(const std::vector<Run>& runs, Direction way) {
  FirstAndLast out;
  for (const Run& run : runs) {
    if (run.kind != RunKind::loaded || run.direction != way || !run.minute || !point_of(run)) continue;
    if (out.first == nullptr || *run.minute < *out.first->minute) out.first = &run;
    if (out.last == nullptr || *run.minute > *out.last->minute) out.last = &run;
  }
  return out;
}

void put_drifts(const DrivePoint& first, const DrivePoint& last, std::vector<Figure>& figures) {
  const auto change = [&](const char* id, const char* what, const UncertainValue& from, const UncertainValue& to) {
    put_drift(figures, id, what, to.value / from.value - 1, std::hypot(from.own / from.value, to.own / to.value));
  };
  change("amps-drift", "amps", first.amps, last.amps);
  // At volts that moved, speed says nothing about warmth.
  if (std::abs(last.volts.value / first.volts.value - 1) < kSameVolts)
    change("speed-drift", "laps", first.rate, last.rate);
}

void add_drift(const Session& session, BenchAnalysis& out) {
  for (const Direction way : {Direction::forward, Direction::reverse, Direction::any}) {
    const FirstAndLast runs = first_and_last(session.runs, way);
    if (!runs.apart()) continue;
    const DrivePoint first = *point_of(*runs.first);
    const DrivePoint last = *point_of(*runs.last);
    const auto neutral = amps_of(session.runs, RunKind::neutral, way);
    const Baseline base = within_one_test({{first}, neutral, {}, {}});
    DriveInference drift = tried(session.motor, {{last}, neutral, {}, {}}, &base);
    note_copper(session, drift, out);
    out.drives.push_back({way, Against::first_minutes,
                          fmt::format("{}, minute {:g}", way_text(way), *runs.last->minute),
                          fmt::format("against minute {:g}", *runs.first->minute), std::move(drift)});
    put_drifts(first, last, out.figures);
    return;
  }
}

}  // namespace

void add_drives(const Session& session, BenchAnalysis& out) {
  add_directions_against_base(session, out);
  add_directions(session, out);
  add_drift(session, out);
}

}  // namespace wheeltapper::bench
