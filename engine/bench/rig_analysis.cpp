#include "engine/bench/rig_analysis.hpp"

#include <fmt/format.h>

#include <cmath>

#include "engine/bench/rig.hpp"
#include "engine/bench/run_readings.hpp"

namespace wheeltapper::bench {
namespace {

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

/// The loaded run in which most was read.
const Run* fullest_run(const std::vector<Run>& runs) {
  const Run* fullest = nullptr;
  for (const Run& run : runs)
    if (run.kind == RunKind::loaded && (fullest == nullptr || run.readings.size() > fullest->readings.size()))
      fullest = &run;
  return fullest;
}

void add_read_losses(const Run& run, BenchAnalysis& out) {
  put_loss(run, "idle-volts", "post-volts", "inside the supply",
           "The supply gives up {:.2f} V under the load ({:.0f} %).", out);
  put_loss(run, "post-volts", "rail-volts", kLeadLoss,
           "Between the supply posts and the rail {:.2f} V are lost ({:.0f} %).", out);
  put_loss(run, "rail-volts", "far-volts", "round the loop to its far side",
           "The far side of the loop has {:.2f} V less than the rail here ({:.0f} %).", out);
  const Reading* amps = reading_of(run, "amps");
  const Reading* open = reading_of(run, "idle-volts");
  const Reading* posts = reading_of(run, "post-volts");
  if (amps == nullptr || open == nullptr || posts == nullptr || amps->value.value() <= 0 || out.losses.empty()) return;
  const measure::Measurement inside = supply_ohms(difference_of(*open, *posts), amps->value);
  out.losses.front().said += fmt::format(" It has {:.2f} ohm inside.", inside.value());
}

/// What is lost at those amps by the sums of wire and meter.
struct BySums {
  double amps;
  double rail;  ///< V; 0: not read
  BenchAnalysis& out;

  void put(const char* what, double volts, double uncertainty, std::string said) const {
    out.losses.push_back({what, volts, uncertainty, rail > 0 ? volts / rail : 0, true, std::move(said)});
  }
  void put_leads(const Leads& leads) const {
    const double volts = lead_drop(leads, amps);
    // Length, temperature and joints as told: a tenth (elicited judgement).
    put("leads by gauge and length", volts, 0.1 * volts,
        fmt::format("{:.3g} m of {} pair with {} joints lose {:.2f} V at {:.2f} A by the sum.", leads.length,
                    leads.wire.shown, leads.joints, volts, amps));
    note_joints(volts, out);
    const double share = out.losses.back().share;
    if (rail > 0)
      put_figure(out.figures,
                 single("lead-share", share, 0.1 * share, fmt::format("{:.2f} V by gauge and length", volts)));
  }
  void put_meter(double ohms) const {
    const double volts = amps * ohms;
    put("ammeter", volts, 0.05 * volts, fmt::format("The ammeter takes {:.2f} V at {:.2f} A.", volts, amps));
  }
};

}  // namespace

void add_losses(const Session& session, BenchAnalysis& out) {
  const Run* run = fullest_run(session.runs);
  if (run == nullptr) return;
  add_read_losses(*run, out);
  const Reading* amps = reading_of(*run, "amps");
  const Reading* rail = reading_of(*run, "rail-volts");
  if (amps == nullptr) return;
  const BySums sums{amps->value.value(), rail == nullptr ? 0 : rail->value.value(), out};
  if (session.rig.leads) sums.put_leads(*session.rig.leads);
  if (session.rig.ammeter_ohms) sums.put_meter(*session.rig.ammeter_ohms);
}

}  // namespace wheeltapper::bench
