#include "engine/job/compare.hpp"

#include <algorithm>
#include <cmath>

namespace wheeltapper::job {
namespace {

const bench::Limit* limit_for(const bench::Session& session, const bench::Run& run, const std::string& quantity) {
  const auto found = std::ranges::find_if(session.limits, [&](const bench::Limit& limit) {
    return limit.quantity == quantity && limit.run == run.kind &&
           (limit.direction == bench::Direction::any || limit.direction == run.direction);
  });
  return found == session.limits.end() ? nullptr : &*found;
}

/// 1: more is better, -1: less is, 0: neither.
int good_way(const std::string& quantity, const bench::Limit* limit) {
  if (limit != nullptr && limit->bounds.at_least.has_value() != limit->bounds.at_most.has_value())
    return limit->bounds.at_least ? 1 : -1;
  if (quantity == "lap-rate") return 1;
  if (quantity == "amps" || quantity == "motor-temperature" || quantity == "supply-temperature") return -1;
  return 0;
}

/// A run that was made once hides how far the next would be off.
double hidden_scatter(const bench::Reading& reading) {
  return reading.repeats.empty() ? kRunToRun * std::abs(reading.value.value()) : 0;
}

measure::Measurement with_scatter(const measure::Measurement& difference, const bench::Reading& later,
                                  const bench::Reading& earlier) {
  const double terms[] = {difference.uncertainty(), hidden_scatter(later), hidden_scatter(earlier)};
  return {difference.value(), measure::combined_uncertainty(terms), difference.unit(), difference.degrees_of_freedom()};
}

Change change_of(double rose, int good, double demand) {
  const double moved = std::max(rose, 1 - rose);
  if (moved < demand) return Change::none_provable;
  if (good == 0) return Change::changed;
  return (rose >= demand) == (good > 0) ? Change::better : Change::worse;
}

}  // namespace

std::vector<Compared> compare(const bench::Session& before, const bench::Session& after, double demand) {
  std::vector<Compared> all;
  for (const bench::Run& later : after.runs)
    for (const auto& each : later.readings) {
      const std::string& quantity = each.first;
      const bench::Reading& reading = each.second;
      // The last run of the kind before the repair: the state that it found.
      const auto earlier = std::find_if(before.runs.rbegin(), before.runs.rend(), [&](const bench::Run& run) {
        return run.kind == later.kind && run.direction == later.direction && run.readings.contains(quantity);
      });
      if (earlier == before.runs.rend()) continue;
      const bench::Reading& old = earlier->readings.find(quantity)->second;
      const measure::Measurement difference = with_scatter(bench::difference_of(reading, old), reading, old);
      const double rose =
          measure::standard_cdf(difference.value() / difference.uncertainty(), difference.degrees_of_freedom());
      const bench::Limit* limit = limit_for(after, later, quantity);
      all.push_back({quantity, later.kind, later.direction, old.value, reading.value, difference, rose,
                     change_of(rose, good_way(quantity, limit), demand),
                     limit == nullptr ? std::nullopt : std::optional(limit->bounds)});
    }
  return all;
}

std::string_view words(Change change) {
  switch (change) {
    case Change::better:
      return "better";
    case Change::worse:
      return "worse";
    case Change::none_provable:
      return "no provable change";
    case Change::changed:
      return "changed";
  }
  return "";
}

}  // namespace wheeltapper::job
