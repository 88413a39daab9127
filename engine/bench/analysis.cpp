#include "engine/bench/analysis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>

#include "engine/bench/rig.hpp"
#include "engine/bench/warmth.hpp"
#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {
namespace {

using Against = DriveAnalysis::Against;

constexpr double kAmpsOverHealthy = 1.12;
constexpr double kLapsOverHealthy = 0.94;
constexpr double kLimitAmpsUncertainty = 0.12;
constexpr double kLimitLapsUncertainty = 0.08;
constexpr double kDayDrag = 0.03;   // of the drag from day to day: 5 % of the cars' share (elicited judgement)
constexpr double kTestDrag = 0.01;  // of the drag within one test (elicited judgement)
constexpr double kUsualUncertainty =
    0.03;  // of a usual value: one locomotive of a kind to the next (elicited judgement)

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

/// Of a drift, the first minutes or the last; runs without a minute belong to the first.
enum class Warm { first, last };

/// Minutes of running that count as one: a test at two volts takes that long.
constexpr double kSameMinutes = 3;

/// The last minute among the loaded runs of a direction, where there is a clearly earlier one too.
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

/// What runs are brought to before they are compared: the loop of the baseline, and its train.
struct Same {
  std::optional<double> loop;  ///< m
  std::optional<int> cars;
};

std::optional<double> loop_of(const Conditions& conditions) {
  return conditions.loop ? std::optional(conditions.loop->in(measure::unit("m")).value()) : std::nullopt;
}

bool other_train(const Run& run, const Same& same) {
  return same.cars && run.conditions.cars && *same.cars != *run.conditions.cars;
}

/// Laps on the loop of the baseline: equal speed over the track.
DrivePoint brought_to(DrivePoint point, const Run& run, const Same& same) {
  const auto loop = loop_of(run.conditions);
  if (!same.loop || !loop) return point;
  const double ratio = *loop / *same.loop;
  point.rate.value *= ratio;
  point.rate.own *= ratio;
  return point;
}

std::optional<double> first_minute(const std::vector<Run>& runs, Direction direction) {
  std::optional<double> first;
  for (const Run& run : runs)
    if (run.kind == RunKind::loaded && run.minute && fits(direction, run.direction))
      first = std::min(first.value_or(*run.minute), *run.minute);
  return first;
}

/// Loaded runs with volts, amps and laps, of the train and on the loop that they are to be compared with.
DriveRuns drive_runs(const std::vector<Run>& runs, Direction direction, Warm warm = Warm::first,
                     const Same& same = {}) {
  DriveRuns out{{}, amps_of(runs, RunKind::neutral, direction), amps_of(runs, RunKind::motor_only, direction), {}};
  for (const Run& run : runs)
    if (run.kind == RunKind::neutral && run.readings.contains("amps"))
      if (const Reading* volts = reading_of(run, "rail-volts"); volts != nullptr && volts->value.value() > 0)
        out.neutral_volts = volts->value.value();
  const auto last = last_minute(runs, direction);
  const auto first = first_minute(runs, direction);
  for (const Run& run : runs) {
    if (run.kind != RunKind::loaded || !fits(direction, run.direction) || other_train(run, same)) continue;
    const bool early = !run.minute || *run.minute <= *first + kSameMinutes;
    const bool late = run.minute && last && *run.minute >= *last - kSameMinutes;
    if (warm == Warm::first ? !early : !late) continue;
    if (const auto point = point_of(run)) out.points.push_back(brought_to(*point, run, same));
  }
  return out;
}

/// Loop and train of the first loaded run.
Same same_as(const std::vector<Run>& runs) {
  for (const Run& run : runs)
    if (run.kind == RunKind::loaded && point_of(run)) return {loop_of(run.conditions), run.conditions.cars};
  return {};
}

struct Base {
  Baseline baseline{};
  Against against = Against::nothing;
  std::string words{};
  Same same{};
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

std::optional<Base> usual_base(const Session& session, Direction way) {
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
  return Base{std::move(base), Against::usual, "the usual values of its kind", {}};
}

std::optional<Base> limits_base(const Session& session, Direction way) {
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
  return Base{std::move(base),
              Against::limits,
              "what its limits suggest for a sound one",
              {loop_of(conditions), conditions.cars}};
}

std::optional<Base> healthy_base(const Healthy& healthy, Direction way) {
  Base base;
  base.same = same_as(healthy.runs);
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

std::optional<Base> base_of(const Session& session, Direction way) {
  if (session.healthy)
    if (auto healthy = healthy_base(*session.healthy, way)) return healthy;
  if (auto usual = usual_base(session, way)) return usual;
  return limits_base(session, way);
}

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

/// The mean of a mixture, for words.
double middle(const Figure& figure) {
  double sum = 0;
  for (const Figure::Part& part : figure.parts) sum += part.weight * part.value;
  return sum;
}

Figure single(const std::string& id, double value, double uncertainty, std::string said) {
  return {id, {{1, value, uncertainty}}, std::move(said)};
}

/// Of two forms of one figure the one that shows more. What came of a division by nothing is no figure.
void put_figure(std::vector<Figure>& figures, Figure figure, bool falling = false) {
  if (std::ranges::any_of(figure.parts, [](const Figure::Part& part) {
        return !std::isfinite(part.value) || !std::isfinite(part.uncertainty);
      }))
    return;
  const auto found = std::ranges::find(figures, figure.id, &Figure::id);
  if (found == figures.end())
    figures.push_back(std::move(figure));
  else if (falling ? middle(figure) < middle(*found) : middle(figure) > middle(*found))
    *found = std::move(figure);
}

void put_base_figures(const Indexes& indexes, std::vector<Figure>& figures) {
  const auto with_words = [](Figure figure, const char* words) {
    figure.said = fmt::format(fmt::runtime(words), middle(figure));
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
  ohms.said = fmt::format("{:.2f} of the volts per amp in added ohms one way", middle(ohms));
  Figure drag = mixture(indexes, Index::drag, "direction-drag-ratio", 1, {});
  drag.said = fmt::format("{:.2f} times the drag one way", middle(drag));
  figures.push_back(std::move(ohms));
  figures.push_back(std::move(drag));
}

void add_against_base(const Session& session, Direction way, Warm warm, BenchAnalysis& out) {
  const auto base = base_of(session, way);
  const Same same = base ? base->same : same_as(session.runs);
  const DriveRuns now = drive_runs(session.runs, way, warm, same);
  std::string runs = way_text(way);
  if (warm == Warm::last) runs += fmt::format(", minute {:g}", *last_minute(session.runs, way));
  if (now.points.empty()) {
    if (base && !drive_runs(session.runs, way, warm).points.empty())
      out.drives.push_back({way,
                            base->against,
                            std::move(runs),
                            "against " + base->words,
                            {std::nullopt, fmt::format("it pulled another number of cars than the {} of the healthy "
                                                       "figures: no sum brings one to the other",
                                                       same.cars.value_or(0))}});
    return;
  }
  if (!base) {
    if (now.points.size() > 1)
      out.drives.push_back(
          {way, Against::nothing, std::move(runs), "without healthy figures", tried(session.motor, now, nullptr)});
    return;
  }
  DriveInference result = tried(session.motor, now, &base->baseline);
  // What is allowed says too little of what is healthy to count as evidence.
  if (result.indexes && base->against != Against::limits && !result.indexes->contradiction)
    put_base_figures(*result.indexes, out.figures);
  out.drives.push_back({way, base->against, std::move(runs), "against " + base->words, std::move(result)});
}

void add_directions(const Session& session, BenchAnalysis& out) {
  const Same same = same_as(session.runs);
  DriveRuns one = drive_runs(session.runs, Direction::forward, Warm::first, same);
  DriveRuns other = drive_runs(session.runs, Direction::reverse, Warm::first, same);
  const auto both = [&](Direction way) {
    return std::ranges::any_of(session.runs, [&](const Run& run) {
      return run.kind == RunKind::loaded && run.direction == way && point_of(run);
    });
  };
  if (!both(Direction::forward) || !both(Direction::reverse) || one.points.empty() || other.points.empty()) return;
  const bool reverse_slower = other.points.front().rate.value / other.points.front().volts.value <
                              one.points.front().rate.value / one.points.front().volts.value;
  if (!reverse_slower) std::swap(one, other);
  Baseline base;
  base.runs = one;
  base.same_meters = true;
  base.drag_uncertainty = kTestDrag;
  DriveInference result = tried(session.motor, other, &base);
  if (result.indexes && !result.indexes->contradiction) put_direction_figures(*result.indexes, out.figures);
  out.drives.push_back({reverse_slower ? Direction::reverse : Direction::forward, Against::other_direction,
                        reverse_slower ? "reverse" : "forward", reverse_slower ? "against forward" : "against reverse",
                        std::move(result)});
}

void put_drift(std::vector<Figure>& figures, const char* id, const char* what, double change, double uncertainty) {
  put_figure(figures, single(id, change, uncertainty, fmt::format("{} {:+.0f} % as it warmed", what, 100 * change)));
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

void add_drift(const Session& session, BenchAnalysis& out) {
  for (const Direction way : {Direction::forward, Direction::reverse, Direction::any}) {
    const Run* first = nullptr;
    const Run* last = nullptr;
    for (const Run& run : session.runs) {
      if (run.kind != RunKind::loaded || run.direction != way || !run.minute || !point_of(run)) continue;
      if (first == nullptr || *run.minute < *first->minute) first = &run;
      if (last == nullptr || *run.minute > *last->minute) last = &run;
    }
    if (first == last || *last->minute - *first->minute <= kSameMinutes) continue;
    const DrivePoint a = *point_of(*first);
    const DrivePoint b = *point_of(*last);
    const auto neutral = amps_of(session.runs, RunKind::neutral, way);
    Baseline base;
    base.runs.points = {a};
    base.runs.neutral = neutral;
    base.same_meters = true;
    base.drag_uncertainty = kTestDrag;
    DriveInference drift = tried(session.motor, {{b}, neutral, {}, {}}, &base);
    note_copper(session, drift, out);
    out.drives.push_back({way, Against::first_minutes, fmt::format("{}, minute {:g}", way_text(way), *last->minute),
                          fmt::format("against minute {:g}", *first->minute), std::move(drift)});
    const auto change = [&](const char* id, const char* what, const UncertainValue& from, const UncertainValue& to) {
      put_drift(out.figures, id, what, to.value / from.value - 1, std::hypot(from.own / from.value, to.own / to.value));
    };
    change("amps-drift", "amps", a.amps, b.amps);
    // At volts that moved, speed says nothing about warmth.
    if (std::abs(b.volts.value / a.volts.value - 1) < 0.03) change("speed-drift", "laps", a.rate, b.rate);
    return;
  }
}

void add_slip(const Session& session, BenchAnalysis& out) {
  const auto neutral = amps_of(session.runs, RunKind::neutral, Direction::any);
  const Reading* slip = nullptr;
  const Reading* loaded = nullptr;
  for (const Run& run : session.runs) {
    if (slip == nullptr) slip = reading_of(run, "slip-amps");
    if (run.kind == RunKind::loaded && loaded == nullptr) loaded = reading_of(run, "amps");
  }
  if (slip == nullptr || loaded == nullptr) return;
  const double off = neutral ? neutral->value : 0;
  const UncertainValue a = uncertain_value(*loaded);
  const UncertainValue b = uncertain_value(*slip);
  if (b.value - off <= 0 || a.value - off <= 0) return;
  const double share = (a.value - off) / (b.value - off);
  put_figure(out.figures,
             single("slip-share", share, share * std::hypot(a.own / (a.value - off), b.own / (b.value - off)),
                    fmt::format("{:.2f} times the amps at wheel slip", share)));
}

/// Share of the speed lost from light to loaded, and its standard uncertainty: of the first two runs of one direction
/// at about the same volts.
std::optional<std::pair<double, double>> droop_of(const std::vector<Run>& runs) {
  const auto alike = [](const Run& a, const Run& b) {
    const Reading* u = reading_of(a, "rail-volts");
    const Reading* v = reading_of(b, "rail-volts");
    return fits(a.direction, b.direction) &&
           (u == nullptr || v == nullptr ||
            std::abs(u->value.value() - v->value.value()) <= kSameVolts * u->value.value());
  };
  for (const Run& light : runs)
    for (const Run& loaded : runs) {
      if (light.kind != RunKind::light || loaded.kind != RunKind::loaded || !light.completed || !loaded.completed)
        continue;
      const Reading* alone = reading_of(light, "lap-rate");
      const Reading* pulling = reading_of(loaded, "lap-rate");
      if (alone == nullptr || pulling == nullptr || alone->value.value() <= 0 || !alike(light, loaded)) continue;
      const double kept = pulling->value.value() / alone->value.value();
      return std::pair{
          1 - kept, std::hypot(pulling->value.uncertainty(), kept * alone->value.uncertainty()) / alone->value.value()};
    }
  return std::nullopt;
}

void add_droop(const Session& session, BenchAnalysis& out) {
  if (!session.healthy) return;
  const auto now = droop_of(session.runs);
  const auto then = droop_of(session.healthy->runs);
  constexpr double kLeastDroop = 0.02;  // a smaller healthy one makes a ratio of noise
  if (!now || !then || then->first <= kLeastDroop) return;
  const double ratio = now->first / then->first;
  put_figure(out.figures, single("droop-ratio", ratio, std::hypot(now->second, ratio * then->second) / then->first,
                                 fmt::format("loses {:.0f} % of its speed with the cars, healthy {:.0f} %",
                                             100 * now->first, 100 * then->first)));
}

constexpr const char* kLeadLoss = "leads and joints, supply to rail";

void put_loss(const Run& run, const char* from, const char* to, const char* what, const char* words,
              BenchAnalysis& out) {
  const Reading* a = reading_of(run, from);
  const Reading* b = reading_of(run, to);
  if (a == nullptr || b == nullptr || a->value.value() <= 0) return;
  const measure::Measurement lost = difference_of(*a, *b);
  const double share = lost.value() / a->value.value();
  out.losses.push_back({what, lost.value(), lost.uncertainty(), share, false,
                        fmt::format(fmt::runtime(words), lost.value(), 100 * share)});
}

/// What was read to be lost between supply and rail beside what the leads can lose by themselves.
void note_joints(double by_sum, BenchAnalysis& out) {
  constexpr double kWorthIt = 0.1;  // V
  for (const RigLoss& loss : out.losses) {
    if (loss.by_sums || loss.what != kLeadLoss) continue;
    const double rest = loss.volts - by_sum;
    if (rest > kWorthIt && rest > 3 * std::hypot(loss.uncertainty, 0.1 * by_sum))
      out.notes.push_back(
          fmt::format("Leads of that gauge and length lose {:.2f} V, and {:.2f} V were read: the other "
                      "{:.2f} V are lost in clips, posts and joints.",
                      by_sum, loss.volts, rest));
  }
}

void add_losses(const Session& session, BenchAnalysis& out) {
  const Run* loaded = nullptr;
  for (const Run& run : session.runs)
    if (run.kind == RunKind::loaded && (loaded == nullptr || run.readings.size() > loaded->readings.size()))
      loaded = &run;
  if (loaded == nullptr) return;
  put_loss(*loaded, "idle-volts", "post-volts", "inside the supply",
           "The supply gives up {:.2f} V under the load ({:.0f} %).", out);
  put_loss(*loaded, "post-volts", "rail-volts", kLeadLoss,
           "Between the supply posts and the rail {:.2f} V are lost ({:.0f} %).", out);
  put_loss(*loaded, "rail-volts", "far-volts", "round the loop to its far side",
           "The far side of the loop has {:.2f} V less than the rail here ({:.0f} %).", out);
  const Reading* amps = reading_of(*loaded, "amps");
  const Reading* rail = reading_of(*loaded, "rail-volts");
  if (amps == nullptr) return;
  const Reading* open = reading_of(*loaded, "idle-volts");
  const Reading* posts = reading_of(*loaded, "post-volts");
  if (open != nullptr && posts != nullptr && amps->value.value() > 0 && !out.losses.empty()) {
    const measure::Measurement inside = supply_ohms(difference_of(*open, *posts), amps->value);
    out.losses.front().said += fmt::format(" It has {:.2f} ohm inside.", inside.value());
  }
  const double current = amps->value.value();
  const auto by_sums = [&](const char* what, double volts, double uncertainty, std::string said) {
    out.losses.push_back({what, volts, uncertainty,
                          rail != nullptr && rail->value.value() > 0 ? volts / rail->value.value() : 0, true,
                          std::move(said)});
  };
  if (session.rig.leads) {
    const Leads& leads = *session.rig.leads;
    const double volts = lead_drop(leads, current);
    // Length, temperature and joints as told: a tenth (elicited judgement).
    by_sums("leads by gauge and length", volts, 0.1 * volts,
            fmt::format("{:.3g} m of {} pair with {} joints lose {:.2f} V at {:.2f} A by the sum.", leads.length,
                        leads.wire.shown, leads.joints, volts, current));
    note_joints(volts, out);
    if (rail != nullptr && rail->value.value() > 0)
      put_figure(out.figures, single("lead-share", out.losses.back().share, 0.1 * out.losses.back().share,
                                     fmt::format("{:.2f} V by gauge and length", volts)));
  }
  if (session.rig.ammeter_ohms)
    by_sums("ammeter", current * *session.rig.ammeter_ohms, 0.05 * current * *session.rig.ammeter_ohms,
            fmt::format("The ammeter takes {:.2f} V at {:.2f} A.", current * *session.rig.ammeter_ohms, current));
}

void add_winding(const Session& session, BenchAnalysis& out) {
  if (!session.winding) return;
  const WindingReadings& w = *session.winding;
  const auto rise = winding_rise(w.cold_ohms, w.hot_ohms, w.cold, w.room);
  const measure::Measurement room = w.room.in(measure::unit("Cel"));
  const double at = room.value() + rise.value();
  // The room's uncertainty is in the rise already, with the opposite sign: it cancels in the temperature.
  const measure::Measurement winding(at, rise.uncertainty(), measure::unit("Cel"));
  const double stands = thermal_class(w.insulation)->celsius;
  out.winding = Warmth{rise, winding, stands};
  out.figures.push_back(
      single("winding-over-class", at - stands, rise.uncertainty(),
             fmt::format("{:.0f} C by its ohms, class {} stands {:.0f} C", at, w.insulation, stands)));
}

void add_series(const Session& session, BenchAnalysis& out) {
  for (std::size_t i = 0; i < session.runs.size(); ++i) {
    const Run& run = session.runs[i];
    if (!run.series) continue;
    SeriesAnalysis each{i, summarise(*run.series), {}, {}, {}};
    const Reading* rate = reading_of(run, "lap-rate");
    const bool lapping = run.kind == RunKind::loaded || run.kind == RunKind::light;
    if (lapping)
      each.laps = find_laps(*run.series, each.summary,
                            rate != nullptr ? std::optional(60 / rate->value.value()) : std::nullopt);
    if (each.laps) each.fold = fold(*run.series, each.summary, *each.laps);
    // That nothing was found is no figure: eyes may see what a meter is too slow for.
    if (each.fold && !each.fold->spots.empty()) {
      const Spot& spot = each.fold->spots.front();
      put_figure(out.figures,
                 single("lap-spot", 1, 0,
                        fmt::format("the amps {} by {:.0f} % at {:.0f} % of each lap", spot.amps < 0 ? "fall" : "rise",
                                    100 * std::abs(spot.share), 100 * spot.place)));
    }
    const auto lap_seconds = rate != nullptr ? std::optional(60 / rate->value.value())
                             : each.laps     ? std::optional(each.laps->lap_seconds)
                                             : std::nullopt;
    if (lap_seconds && lapping && session.wheel_diameter && run.conditions.loop) {
      const double speed = run.conditions.loop->in(measure::unit("m")).value() / *lap_seconds;
      each.swing = turn_swing(*run.series, each.summary, std::numbers::pi * *session.wheel_diameter / speed,
                              each.laps ? &*each.laps : nullptr);
      if (each.swing->provable()) put_figure(out.figures, single("turn-swing", 1, 0, "the amps swing with the wheels"));
    }
    constexpr double kLongEnough = 180;  // s
    if (each.summary.seconds >= kLongEnough && each.summary.amps.mean > 0)
      put_drift(out.figures, "amps-drift", "amps",
                each.summary.drift.per_minute * each.summary.seconds / 60 / each.summary.drift.start,
                each.summary.drift.uncertainty * each.summary.seconds / 60 / each.summary.drift.start);
    out.series.push_back(std::move(each));
  }
}

/// Volts that no model railway has, wherever a meter showed them; a series counts by its highest row.
void add_volts(const Session& session, BenchAnalysis& out) {
  constexpr double kWorthSaying = 25;  // V; below it no safety rule can hang on them
  double volts = 0;
  double uncertainty = 0;
  const auto take = [&](double value, double u) {
    if (value <= volts) return;
    volts = value;
    uncertainty = u;
  };
  const auto take_run = [&](const Run& run) {
    for (const char* quantity : {"rail-volts", "post-volts", "idle-volts", "far-volts", "effective-volts"})
      if (const Reading* v = reading_of(run, quantity)) {
        take(v->value.value(), v->value.uncertainty());
        for (const double each : v->repeats) take(each, v->value.uncertainty());
      }
    if (run.series)
      for (const double each : run.series->volts) take(each, 0);
  };
  for (const Run& run : session.runs) take_run(run);
  if (volts > kWorthSaying)
    put_figure(out.figures, single("highest-volts", volts, uncertainty, fmt::format("{:.4g} V were read", volts)));
}

/// Burns by ISO 13732-1, touch by EN 60204 (warmth.hpp, rig.hpp).
void put_cautions(const Session& session, BenchAnalysis& out) {
  double hottest = 0;
  double volts = 0;
  for (const Run& run : session.runs) {
    for (const char* quantity : {"motor-temperature", "supply-temperature"})
      if (const Reading* t = reading_of(run, quantity)) hottest = std::max(hottest, t->value.value());
    for (const char* quantity : {"rail-volts", "post-volts", "idle-volts", "far-volts"})
      if (const Reading* v = reading_of(run, quantity)) volts = std::max(volts, v->value.value());
  }
  const double harmless = harmless_touch(hottest);  // s
  constexpr double kAMinute = 60;
  if (harmless == 0)
    out.cautions.push_back(
        fmt::format("At {:.0f} C a touch can burn in less than a second: let it cool before you "
                    "handle it.",
                    hottest));
  else if (harmless < kAMinute)
    out.cautions.push_back(
        fmt::format("At {:.0f} C holding it for a minute can burn: let it cool before you hold it.", hottest));
  if (volts > kUntouchedDryIndoors.ac)
    out.cautions.push_back(
        fmt::format("{:.0f} V stand on the track, more than is safe to touch as alternating current "
                    "({:.0f} V) and more than toys may have ({:.0f} V). Switch off, and have a "
                    "qualified person look at the supply.",
                    volts, kUntouchedDryIndoors.ac, kToyVolts));
}

/// Forward run cold and reverse run warm differ by the warmth.
void note_warmth(const Session& session, BenchAnalysis& out) {
  const bool both =
      std::ranges::any_of(out.drives, [](const auto& d) { return d.against == Against::other_direction; });
  const auto forward = first_minute(session.runs, Direction::forward);
  const auto reverse = first_minute(session.runs, Direction::reverse);
  if (both && forward && reverse && std::abs(*forward - *reverse) > kSameMinutes)
    out.notes.push_back(
        "Forward and reverse were not equally warm: what differs between them may be the warmth. Run "
        "them one right after the other.");
}

void put_notes(const Session& session, BenchAnalysis& out) {
  note_warmth(session, out);
  const auto all = std::span(out.drives);
  const bool by_limits = std::ranges::any_of(all, [](const auto& d) { return d.against == Against::limits; });
  if (by_limits)
    out.notes.push_back(
        "The healthy figures were guessed from the limits, as 112 % of the healthy amps and 94 % of the healthy laps; "
        "they do not count in a diagnosis. Write down a run when it is sound, and the next test says far more.");
  const bool has_drive = std::ranges::any_of(all, [](const auto& d) { return d.result.indexes.has_value(); });
  if (has_drive && !amps_of(session.runs, RunKind::neutral, Direction::any))
    out.notes.push_back(
        "The amps that pass the motor by were taken as a fifth of the whole: read them with the reverser in neutral.");
}

}  // namespace

BenchAnalysis analyse(const Session& session) {
  BenchAnalysis out;
  const auto has = [&](Direction way) {
    return std::ranges::any_of(session.runs, [&](const Run& run) {
      return run.kind == RunKind::loaded && run.direction == way && point_of(run).has_value();
    });
  };
  for (const Direction way : {Direction::forward, Direction::reverse})
    if (has(way)) add_against_base(session, way, Warm::first, out);
  if (!has(Direction::forward) && !has(Direction::reverse) && has(Direction::any))
    add_against_base(session, Direction::any, Warm::first, out);
  for (const Direction way : {Direction::forward, Direction::reverse, Direction::any})
    if (last_minute(session.runs, way)) add_against_base(session, way, Warm::last, out);
  add_directions(session, out);
  add_drift(session, out);
  add_slip(session, out);
  add_droop(session, out);
  add_losses(session, out);
  add_winding(session, out);
  add_series(session, out);
  add_volts(session, out);
  put_cautions(session, out);
  put_notes(session, out);
  return out;
}

}  // namespace wheeltapper::bench
