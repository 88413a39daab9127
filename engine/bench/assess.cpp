#include "engine/bench/assess.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/bench/run_readings.hpp"

namespace wheeltapper::bench {
namespace {

constexpr double kTestVolts = 0.02;  // a run whose volts moved more is not the test (common practice)
constexpr double kSameRate = 0.05;   // amps hardly change within a twentieth of the speed (common practice)

bool is_for(const Limit& limit, const Run& run) {
  return limit.run == run.kind && fits(limit.direction, run.direction);
}

/// The same track speed as laps a minute of the limit's loop.
Reading brought_to_loop(const Reading& reading, const Limit& limit, const Run& run, std::vector<std::string>& notes) {
  const auto& wanted = limit.holds_for.loop;
  const auto& had = run.conditions.loop;
  if (limit.quantity != "lap-rate" || !wanted) return reading;
  if (!had) {
    notes.emplace_back("The limit is for a loop of a stated length; the run does not say its own. Taken as the same.");
    return reading;
  }
  const double ratio = had->in(measure::unit("m")).value() / wanted->in(measure::unit("m")).value();
  if (std::abs(ratio - 1) < 1e-9) return reading;
  Reading moved = reading;
  const measure::Measurement& y = reading.value;
  moved.value = {y.value() * ratio, y.uncertainty() * ratio, y.unit(), y.degrees_of_freedom()};
  moved.repeatable *= ratio;
  moved.fixed *= ratio;
  notes.push_back(fmt::format("Run on another loop: {:.2f} laps a minute there are {:.2f} on the limit's loop.",
                              y.value(), moved.value.value()));
  return moved;
}

void note_conditions(const Limit& limit, const Run& run, std::vector<std::string>& notes) {
  const Conditions& wanted = limit.holds_for;
  const Conditions& had = run.conditions;
  if (wanted.cars && had.cars && *wanted.cars != *had.cars)
    notes.push_back(fmt::format("The limit is for {} cars, the run pulled {}: not comparable. Run it again with {}.",
                                *wanted.cars, *had.cars, *wanted.cars));
  if (wanted.cars && !had.cars)
    notes.push_back(fmt::format("The limit is for {} cars; the run does not say how many it pulled.", *wanted.cars));
  const auto volts = run.readings.find("rail-volts");
  if (wanted.rail_volts && volts != run.readings.end() &&
      std::abs(volts->second.value.value() / *wanted.rail_volts - 1) > kTestVolts)
    notes.push_back(
        fmt::format("The limit is for {:.1f} V at the rail; the run had {:.1f} V{}", *wanted.rail_volts,
                    volts->second.value.value(),
                    comparable(limit, run) ? ". What differs may come from the volts." : ": not comparable."));
  const auto rate = run.readings.find("lap-rate");
  if (wanted.laps_a_minute && rate != run.readings.end() && limit.quantity != "lap-rate" &&
      std::abs(rate->second.value.value() / *wanted.laps_a_minute - 1) > kSameRate)
    notes.push_back(fmt::format("The limit is for {:.1f} laps a minute; the run made {:.1f}.", *wanted.laps_a_minute,
                                rate->second.value.value()));
}

/// A run at volts of its own, made beside one that the limit is for: it serves the sums about the drive.
bool stands_aside(const Session& session, const Limit& limit, const Run& run) {
  return !comparable(limit, run) && std::ranges::any_of(session.runs, [&](const Run& other) {
    return is_for(limit, other) && other.direction == run.direction && comparable(limit, other) &&
           other.readings.contains(limit.quantity);
  });
}

LimitVerdict judge_run(const Session& session, std::size_t limit_index, std::size_t run_index, double demand) {
  const Limit& limit = session.limits[limit_index];
  const Run& run = session.runs[run_index];
  LimitVerdict judged{limit_index, run_index, run.direction, {}, {}, {}, {}};
  const auto found = run.readings.find(limit.quantity);
  if (found == run.readings.end()) {
    judged.notes.emplace_back(run.completed ? "Not measured in this run."
                                            : "The run was not finished, so this was not measured.");
    return judged;
  }
  note_conditions(limit, run, judged.notes);
  const Reading reading = brought_to_loop(found->second, limit, run, judged.notes);
  judged.reading = reading.value;
  if (reading.assumed_uncertainty)
    judged.notes.emplace_back("No meter was named: a typical uncertainty was assumed for it.");
  if (!comparable(limit, run)) return judged;
  judged.verdict = measure::judge(reading.value, limit.bounds, demand);
  if (judged.verdict->call == measure::Call::too_close)
    judged.settling = measure::what_settles(reading.value, limit.bounds, reading.repeatable, reading.fixed, demand,
                                            std::max(1, static_cast<int>(reading.repeats.size())));
  return judged;
}

}  // namespace

std::vector<LimitVerdict> assess(const Session& session, double demand) {
  std::vector<LimitVerdict> all;
  for (std::size_t l = 0; l < session.limits.size(); ++l) {
    const Limit& limit = session.limits[l];
    bool forward = false;
    bool reverse = false;
    bool either = false;
    for (std::size_t r = 0; r < session.runs.size(); ++r) {
      if (!is_for(limit, session.runs[r]) || stands_aside(session, limit, session.runs[r])) continue;
      all.push_back(judge_run(session, l, r, demand));
      forward = forward || session.runs[r].direction == Direction::forward;
      reverse = reverse || session.runs[r].direction == Direction::reverse;
      either = either || session.runs[r].direction == Direction::any;
    }
    const auto missing = [&](Direction direction) {
      const bool standing = limit.run == RunKind::neutral || limit.run == RunKind::standing;
      all.push_back({l, {}, standing ? Direction::any : direction, {}, {}, {}, {"This run was not made."}});
      return standing;
    };
    const bool no_way = either && limit.direction == Direction::any && !forward && !reverse &&
                        (limit.run == RunKind::neutral || limit.run == RunKind::standing);
    if (no_way) continue;
    if (!forward && limit.direction != Direction::reverse && !either && missing(Direction::forward)) continue;
    if (!reverse && limit.direction != Direction::forward) missing(Direction::reverse);
  }
  return all;
}

std::optional<std::string> far_from_limit(const std::vector<Limit>& limits, const std::string& quantity,
                                          const measure::Measurement& value) {
  for (const Limit& limit : limits) {
    if (limit.quantity != quantity || limit.bounds.unit.dimension != value.unit().dimension) continue;
    if (limit.bounds.unit.dimension == measure::unit("Cel").dimension) continue;  // its nought is no nothing
    const auto bound = limit.bounds.at_most ? limit.bounds.at_most : limit.bounds.at_least;
    if (!bound || !(*bound > 0)) continue;
    const double shown = value.in(limit.bounds.unit).value();
    const std::string of = fmt::format("its limit of {:.3g} {}", *bound, limit.bounds.unit.shown);
    if (shown > kFarFromLimit * *bound) return fmt::format("{:.0f} times {}", shown / *bound, of);
    if (shown * kFarFromLimit < *bound && shown > 0) return fmt::format("1/{:.0f} of {}", *bound / shown, of);
  }
  return std::nullopt;
}

}  // namespace wheeltapper::bench
