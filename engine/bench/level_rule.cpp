#include "engine/bench/level_rule.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>

#include "engine/bench/run_readings.hpp"

namespace wheeltapper::bench {
namespace {

using RuleKind = LevelRule::Kind;

/// A compared value; `falling` when the finding shows at small values.
struct Compared {
  double value;
  double uncertainty;
  double degrees_of_freedom;
  bool falling;
  bool absolute;  // the sign was dropped: both tails count
  std::string said;
};

double chance_past(const Compared& x, double edge) {
  const auto cdf = [&](double at) {
    return measure::standard_cdf((at - x.value) / x.uncertainty, x.degrees_of_freedom);
  };
  if (x.falling) return cdf(edge);
  if (x.absolute) return 1 - cdf(edge) + cdf(-edge);
  return 1 - cdf(edge);
}

LevelChances chances_of(const Compared& x, const std::vector<double>& edges) {
  LevelChances result{{}, x.said};
  double reached = 1;
  for (const double edge : edges) {
    const double next = std::min(reached, chance_past(x, edge));
    result.chances.push_back(reached - next);
    reached = next;
  }
  result.chances.push_back(reached);
  return result;
}

bool direction_fits(Direction wanted, Direction had) { return wanted == Direction::any || wanted == had; }

/// A limit's bound in the unit of the reading.
const Limit* limit_for(const Session& session, const LevelRule& test, Direction direction, bool upper) {
  for (const Limit& limit : session.limits)
    if (limit.quantity == test.reading && limit.run == test.run &&
        (upper ? limit.bounds.at_most : limit.bounds.at_least).has_value() && fits(limit.direction, direction))
      return &limit;
  return nullptr;
}

std::optional<double> usual_for(const Session& session, const LevelRule& test, Direction direction) {
  for (const Usual& usual : session.usual)
    if (usual.quantity == test.reading && usual.run == test.run && fits(usual.direction, direction)) return usual.value;
  return std::nullopt;
}

std::optional<Compared> against_limit(const Session& session, const LevelRule& test, const Run& run,
                                      const Reading& reading, bool upper) {
  const Limit* limit = limit_for(session, test, run.direction, upper);
  if (limit == nullptr || !comparable(*limit, run)) return std::nullopt;
  const measure::Measurement y = reading.value.in(limit->bounds.unit);
  double bound = upper ? *limit->bounds.at_most : *limit->bounds.at_least;
  if (bound <= 0) return std::nullopt;
  if (test.reading == "lap-rate" && limit->holds_for.loop && run.conditions.loop)
    bound *=
        limit->holds_for.loop->in(measure::unit("m")).value() / run.conditions.loop->in(measure::unit("m")).value();
  return Compared{y.value() / bound,
                  y.uncertainty() / bound,
                  y.degrees_of_freedom(),
                  !upper,
                  false,
                  fmt::format("{} against {} {:.3g} {}", measure::show(y), upper ? "at most" : "at least", bound,
                              limit->bounds.unit.shown)};
}

std::optional<Compared> against_usual(const Session& session, const LevelRule& test, const Run& run,
                                      const Reading& reading) {
  const auto usual = usual_for(session, test, run.direction);
  if (!usual || *usual <= 0) return std::nullopt;
  const measure::Measurement& y = reading.value;
  return Compared{y.value() / *usual,
                  y.uncertainty() / *usual,
                  y.degrees_of_freedom(),
                  test.kind == RuleKind::below_usual,
                  false,
                  fmt::format("{} against the usual {:.3g} {}", measure::show(y), *usual, y.unit().shown)};
}

std::optional<Compared> spread_of(const Reading& reading) {
  if (reading.repeats.size() < 3) return std::nullopt;
  const auto [low, high] = std::ranges::minmax(reading.repeats);
  const double mean = reading.value.value();
  if (mean <= 0) return std::nullopt;
  // The meter's own error is shared by all repeats and drops out of a difference; what stays is its reading off.
  const double uncertainty = std::max(reading.fixed * 0.2, 1e-3 * mean);
  return Compared{(high - low) / mean,
                  uncertainty / mean,
                  std::numeric_limits<double>::infinity(),
                  false,
                  false,
                  fmt::format("repeats from {:.3g} to {:.3g} {}", low, high, reading.value.unit().shown)};
}

std::optional<Compared> difference_in(const Run& run, const LevelRule& test, const measure::Measurement& y) {
  const auto other = run.readings.find(test.minus);
  if (other == run.readings.end()) return std::nullopt;
  const measure::Measurement b = other->second.value.in(y.unit());
  const double gap = y.value() - b.value();
  return Compared{
      gap,   std::hypot(y.uncertainty(), b.uncertainty()),       std::numeric_limits<double>::infinity(), false,
      false, fmt::format("{:.2f} {} apart", gap, y.unit().shown)};
}

std::optional<Compared> of_one_run(const Session& session, const LevelRule& test, const Run& run) {
  const auto found = run.readings.find(test.reading);
  if (found == run.readings.end()) return std::nullopt;
  const Reading& reading = found->second;
  const measure::Measurement& y = reading.value;
  switch (test.kind) {
    case RuleKind::over_limit:
      return against_limit(session, test, run, reading, true);
    case RuleKind::under_limit:
      return against_limit(session, test, run, reading, false);
    case RuleKind::above_usual:
    case RuleKind::below_usual:
      return against_usual(session, test, run, reading);
    case RuleKind::above:
    case RuleKind::below:
    case RuleKind::all_below:
      return Compared{y.value(), y.uncertainty(), y.degrees_of_freedom(), test.kind != RuleKind::above,
                      false,     measure::show(y)};
    case RuleKind::spread:
      return spread_of(reading);
    case RuleKind::difference:
      return difference_in(run, test, y);
    case RuleKind::apart:
    case RuleKind::figure_above:
    case RuleKind::figure_below:
      return std::nullopt;  // not of one run
  }
  return std::nullopt;
}

/// A forward and a reverse run at about the same volts, the earliest of each.
std::optional<std::pair<const Reading*, const Reading*>> both_ways(const Session& session, const LevelRule& test) {
  const auto volts = [](const Run& run) {
    const auto found = run.readings.find("rail-volts");
    return found == run.readings.end() ? std::nullopt : std::optional(found->second.value.value());
  };
  for (const Run& forward : session.runs)
    for (const Run& reverse : session.runs) {
      if (forward.kind != test.run || reverse.kind != test.run || forward.direction != Direction::forward ||
          reverse.direction != Direction::reverse)
        continue;
      const auto f = forward.readings.find(test.reading);
      const auto r = reverse.readings.find(test.reading);
      if (f == forward.readings.end() || r == reverse.readings.end()) continue;
      const auto a = volts(forward);
      const auto b = volts(reverse);
      if (a && b && std::abs(*a - *b) > kSameVolts * *a) continue;
      return std::pair{&f->second, &r->second};
    }
  return std::nullopt;
}

std::optional<Compared> forward_against_reverse(const Session& session, const LevelRule& test) {
  const auto pair = both_ways(session, test);
  if (!pair) return std::nullopt;
  const Reading* const seen[2] = {pair->first, pair->second};
  const double f = seen[0]->value.value();
  const double r = seen[1]->value.value();
  const double mean = (f + r) / 2;
  if (mean <= 0) return std::nullopt;
  // One meter reads both runs: its shared error nearly cancels in the difference, a fifth of it is kept.
  const auto own = [](const Reading& reading) { return std::max(reading.repeatable, 0.2 * reading.fixed); };
  const double uncertainty = std::max(std::hypot(own(*seen[0]), own(*seen[1])), 1e-3 * mean);
  return Compared{(f - r) / mean,
                  uncertainty / mean,
                  std::numeric_limits<double>::infinity(),
                  false,
                  true,
                  fmt::format("forward {:.3g}, reverse {:.3g} {}", f, r, seen[0]->value.unit().shown)};
}

std::optional<LevelChances> of_figure(std::span<const Figure> figures, const LevelRule& test) {
  const auto found = std::ranges::find(figures, test.reading, &Figure::id);
  if (found == figures.end()) return std::nullopt;
  LevelChances result{{}, found->said};
  double reached = 1;
  for (const double edge : test.edges) {
    const double above = found->chance_above(edge);
    const double next = std::min(reached, test.kind == RuleKind::figure_above ? above : 1 - above);
    result.chances.push_back(reached - next);
    reached = next;
  }
  result.chances.push_back(reached);
  return result;
}

}  // namespace

std::optional<LevelChances> level_chances(const Session& session, const LevelRule& test,
                                          std::span<const Figure> figures) {
  assert(!test.edges.empty() && "one a level");
  std::optional<LevelChances> most;
  const auto consider = [&](const std::optional<Compared>& compared) {
    if (!compared) return;
    LevelChances chances = chances_of(*compared, test.edges);
    const bool least = test.kind == RuleKind::all_below;
    if (!most || (chances.chances.front() < most->chances.front()) != least) most = std::move(chances);
  };
  if (test.of_figure()) return of_figure(figures, test);
  if (test.kind == RuleKind::apart) {
    consider(forward_against_reverse(session, test));
    return most;
  }
  for (const Run& run : session.runs)
    if (run.kind == test.run && direction_fits(test.direction, run.direction)) consider(of_one_run(session, test, run));
  return most;
}

}  // namespace wheeltapper::bench
