#include "engine/bench/comparison.hpp"

#include <algorithm>
#include <cmath>

#include "engine/bench/run_readings.hpp"

namespace wheeltapper::bench {
namespace {

constexpr double kAmpsOverHealthy = 1.12;
constexpr double kLapsOverHealthy = 0.94;
constexpr double kLimitAmpsUncertainty = 0.12;
constexpr double kLimitLapsUncertainty = 0.08;
constexpr double kDayDrag = 0.03;  // of the drag from day to day: 5 % of the cars' share (elicited judgement)
constexpr double kUsualUncertainty =
    0.03;  // of a usual value: one locomotive of a kind to the next (elicited judgement)

std::optional<double> loop_of(const Conditions& conditions) {
  return conditions.loop ? std::optional(conditions.loop->in(measure::unit("m")).value()) : std::nullopt;
}

bool other_train(const Run& run, const LoopAndTrain& same) {
  return same.cars && run.conditions.cars && *same.cars != *run.conditions.cars;
}

/// Laps on the loop of the baseline: equal speed over the track.
DrivePoint brought_to(DrivePoint point, const Run& run, const LoopAndTrain& same) {
  const auto loop = loop_of(run.conditions);
  if (!same.loop || !loop) return point;
  const double ratio = *loop / *same.loop;
  point.rate.value *= ratio;
  point.rate.own *= ratio;
  return point;
}

std::optional<double> neutral_volts_of(const std::vector<Run>& runs) {
  std::optional<double> volts;
  for (const Run& run : runs) {
    const Reading* read = reading_of(run, "rail-volts");
    if (run.kind == RunKind::neutral && run.readings.contains("amps") && read != nullptr && read->value.value() > 0)
      volts = read->value.value();
  }
  return volts;
}

struct Minutes {
  Warm warm;
  std::optional<double> first, last;

  bool take(const Run& run) const {
    if (warm == Warm::first) return !run.minute || *run.minute <= *first + kSameMinutes;
    return run.minute && last && *run.minute >= *last - kSameMinutes;
  }
};

std::optional<double> usual_value(const Session& session, std::string_view quantity, RunKind kind, Direction way) {
  for (const Usual& usual : session.usual)
    if (usual.quantity == quantity && usual.run == kind && fits(way, usual.direction)) return usual.value;
  return std::nullopt;
}

const Limit* limit_of(const Session& session, std::string_view quantity, Direction way) {
  for (const Limit& limit : session.limits)
    if (limit.quantity == quantity && limit.run == RunKind::loaded && fits(way, limit.direction)) return &limit;
  return nullptr;
}

UncertainValue with_share(double value, double share) { return {value, value * share, 0}; }

std::optional<KnownBase> usual_base(const Session& session, Direction way) {
  const auto value = [&](std::string_view quantity, RunKind kind = RunKind::loaded) {
    return usual_value(session, quantity, kind, way);
  };
  const auto volts = value("rail-volts");
  const auto amps = value("amps");
  const auto rate = value("lap-rate");
  if (!volts || !amps || !rate || *volts <= 0 || *amps <= 0 || *rate <= 0) return std::nullopt;
  Baseline base;
  base.drag_uncertainty = kDayDrag;
  base.runs.points.push_back(
      {with_share(*volts, 0.01), with_share(*amps, kUsualUncertainty), with_share(*rate, kUsualUncertainty)});
  if (const auto neutral = value("amps", RunKind::neutral)) base.runs.neutral = with_share(*neutral, 0.05);
  if (const auto alone = value("amps", RunKind::motor_only)) base.runs.alone = with_share(*alone, kUsualUncertainty);
  return KnownBase{std::move(base), Against::usual, "the usual values of its kind", {}};
}

std::optional<KnownBase> limits_base(const Session& session, Direction way) {
  const Limit* amps = limit_of(session, "amps", way);
  const Limit* rate = limit_of(session, "lap-rate", way);
  if (amps == nullptr || rate == nullptr || !amps->bounds.at_most || !rate->bounds.at_least) return std::nullopt;
  const auto volts = amps->holds_for.rail_volts ? amps->holds_for.rail_volts : rate->holds_for.rail_volts;
  if (!volts || *volts <= 0 || *amps->bounds.at_most <= 0 || *rate->bounds.at_least <= 0) return std::nullopt;
  Baseline base;
  base.runs.points.push_back({with_share(*volts, 0.01),
                              with_share(*amps->bounds.at_most / kAmpsOverHealthy, kLimitAmpsUncertainty),
                              with_share(*rate->bounds.at_least / kLapsOverHealthy, kLimitLapsUncertainty)});
  const Conditions& conditions = rate->holds_for;
  return KnownBase{std::move(base),
                   Against::limits,
                   "what its limits suggest for a sound one",
                   {loop_of(conditions), conditions.cars}};
}

std::optional<KnownBase> healthy_base(const Healthy& healthy, Direction way) {
  KnownBase base;
  base.same = loop_and_train_of(healthy.runs);
  base.baseline.runs = drive_runs(healthy.runs, way, Warm::first, base.same);
  if (base.baseline.runs.points.empty())
    base.baseline.runs = drive_runs(healthy.runs, Direction::any, Warm::first, base.same);
  if (base.baseline.runs.points.empty()) return std::nullopt;
  base.baseline.same_meters = healthy.same_meters;
  base.baseline.drag_uncertainty = kDayDrag;
  base.against = Against::healthy;
  base.words = healthy.from.empty() ? "the healthy figures" : healthy.from;
  return base;
}

}  // namespace

std::optional<double> first_minute(const std::vector<Run>& runs, Direction direction) {
  std::optional<double> first;
  for (const Run& run : runs)
    if (run.kind == RunKind::loaded && run.minute && fits(direction, run.direction))
      first = std::min(first.value_or(*run.minute), *run.minute);
  return first;
}

std::optional<double> last_minute(const std::vector<Run>& runs, Direction direction) {
  std::optional<double> first;
  std::optional<double> last;
  for (const Run& run : runs) {
    if (run.kind != RunKind::loaded || run.direction != direction || !run.minute || !point_of(run)) continue;
    first = std::min(first.value_or(*run.minute), *run.minute);
    last = std::max(last.value_or(*run.minute), *run.minute);
  }
  return first && *last - *first > kSameMinutes ? last : std::nullopt;
}

LoopAndTrain loop_and_train_of(const std::vector<Run>& runs) {
  for (const Run& run : runs)
    if (run.kind == RunKind::loaded && point_of(run)) return {loop_of(run.conditions), run.conditions.cars};
  return {};
}

DriveRuns drive_runs(const std::vector<Run>& runs, Direction direction, Warm warm, const LoopAndTrain& same) {
  DriveRuns out{{},
                amps_of(runs, RunKind::neutral, direction),
                amps_of(runs, RunKind::motor_only, direction),
                neutral_volts_of(runs)};
  const Minutes minutes{warm, first_minute(runs, direction), last_minute(runs, direction)};
  for (const Run& run : runs) {
    if (run.kind != RunKind::loaded || !fits(direction, run.direction) || other_train(run, same)) continue;
    if (!minutes.take(run)) continue;
    if (const auto point = point_of(run)) out.points.push_back(brought_to(*point, run, same));
  }
  return out;
}

std::optional<KnownBase> base_of(const Session& session, Direction way) {
  if (session.healthy)
    if (auto healthy = healthy_base(*session.healthy, way)) return healthy;
  if (auto usual = usual_base(session, way)) return usual;
  return limits_base(session, way);
}

}  // namespace wheeltapper::bench
