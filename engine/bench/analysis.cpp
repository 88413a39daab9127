#include "engine/bench/analysis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <span>

#include "engine/bench/drive_analysis.hpp"
#include "engine/bench/rig.hpp"
#include "engine/bench/rig_analysis.hpp"
#include "engine/bench/run_readings.hpp"
#include "engine/bench/series_analysis.hpp"
#include "engine/bench/warmth.hpp"

namespace wheeltapper::bench {
namespace {

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

bool at_same_volts(const Run& a, const Run& b) {
  const Reading* u = reading_of(a, "rail-volts");
  const Reading* v = reading_of(b, "rail-volts");
  return u == nullptr || v == nullptr || std::abs(u->value.value() - v->value.value()) <= kSameVolts * u->value.value();
}

/// Share of the speed lost from light to loaded.
struct Droop {
  double share;
  double uncertainty;
};

std::optional<Droop> droop_between(const Run& light, const Run& loaded) {
  if (light.kind != RunKind::light || loaded.kind != RunKind::loaded || !light.completed || !loaded.completed)
    return std::nullopt;
  const Reading* alone = reading_of(light, "lap-rate");
  const Reading* pulling = reading_of(loaded, "lap-rate");
  if (alone == nullptr || pulling == nullptr || alone->value.value() <= 0) return std::nullopt;
  const double kept = pulling->value.value() / alone->value.value();
  return Droop{1 - kept,
               std::hypot(pulling->value.uncertainty(), kept * alone->value.uncertainty()) / alone->value.value()};
}

/// Of the first two runs of one direction at about the same volts.
std::optional<Droop> droop_of(const std::vector<Run>& runs) {
  for (const Run& light : runs)
    for (const Run& loaded : runs)
      if (const auto droop = droop_between(light, loaded);
          droop && fits(light.direction, loaded.direction) && at_same_volts(light, loaded))
        return droop;
  return std::nullopt;
}

void add_droop(const Session& session, BenchAnalysis& out) {
  if (!session.healthy) return;
  const auto now = droop_of(session.runs);
  const auto then = droop_of(session.healthy->runs);
  constexpr double kLeastDroop = 0.02;  // a smaller healthy one makes a ratio of noise
  if (!now || !then || then->share <= kLeastDroop) return;
  const double ratio = now->share / then->share;
  put_figure(out.figures,
             single("droop-ratio", ratio, std::hypot(now->uncertainty, ratio * then->uncertainty) / then->share,
                    fmt::format("loses {:.0f} % of its speed with the cars, healthy {:.0f} %", 100 * now->share,
                                100 * then->share)));
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

struct MostRead {
  double value = 0;
  double uncertainty = 0;

  void take(double other, double other_uncertainty) {
    if (other > value) *this = {other, other_uncertainty};
  }
};

void take_volts(const Run& run, MostRead& highest) {
  for (const char* quantity : {"rail-volts", "post-volts", "idle-volts", "far-volts", "effective-volts"}) {
    const Reading* volts = reading_of(run, quantity);
    if (volts == nullptr) continue;
    highest.take(volts->value.value(), volts->value.uncertainty());
    for (const double each : volts->repeats) highest.take(each, volts->value.uncertainty());
  }
  if (run.series)
    for (const double each : run.series->volts) highest.take(each, 0);
}

/// Volts that no model railway has, wherever a meter showed them; a series counts by its highest row.
void add_volts(const Session& session, BenchAnalysis& out) {
  constexpr double kWorthSaying = 25;  // V; below it no safety rule can hang on them
  MostRead volts;
  for (const Run& run : session.runs) take_volts(run, volts);
  if (volts.value > kWorthSaying)
    put_figure(out.figures,
               single("highest-volts", volts.value, volts.uncertainty, fmt::format("{:.4g} V were read", volts.value)));
}

double highest_of(const Session& session, std::initializer_list<const char*> quantities) {
  MostRead highest;
  for (const Run& run : session.runs)
    for (const char* quantity : quantities)
      if (const Reading* read = reading_of(run, quantity)) highest.take(read->value.value(), 0);
  return highest.value;
}

/// Burns by ISO 13732-1, touch by EN 60204 (warmth.hpp, rig.hpp).
void put_cautions(const Session& session, BenchAnalysis& out) {
  const double hottest = highest_of(session, {"motor-temperature", "supply-temperature"});
  const double volts = highest_of(session, {"rail-volts", "post-volts", "idle-volts", "far-volts"});
  const double harmless = harmless_touch(hottest);  // s
  constexpr double kAMinute = 60;
  if (harmless == 0)
    out.cautions.push_back(
        fmt::format("At {:.0f} C a touch can burn in less than a second: let it cool before you handle it.", hottest));
  else if (harmless < kAMinute)
    out.cautions.push_back(
        fmt::format("At {:.0f} C holding it for a minute can burn: let it cool before you hold it.", hottest));
  if (volts > kUntouchedDryIndoors.ac)
    out.cautions.push_back(fmt::format(
        "{:.0f} V stand on the track, more than is safe to touch as alternating current ({:.0f} V) and more "
        "than toys may have ({:.0f} V). Switch off, and have a qualified person look at the supply.",
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
    out.notes.push_back(fmt::format(
        "The amps that pass the motor by were taken as a fifth of the whole{}.",
        session.motor.neutral.empty() ? "" : fmt::format(": read them with the locomotive {}", session.motor.neutral)));
}

}  // namespace

BenchAnalysis analyse(const Session& session) {
  BenchAnalysis out;
  add_drives(session, out);
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
