#include "engine/statistics/history.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

#include "engine/input/problem.hpp"
#include "engine/job/job_case.hpp"

namespace wheeltapper::statistics {
namespace {

constexpr double kDaysAYear = 365.2425;
constexpr std::size_t kLeastVisits = 3;
constexpr double kLeastDays = 30;

std::optional<measure::Limits> limits_for(const bench::Session& session, const bench::Run& run,
                                          const std::string& quantity) {
  for (const bench::Limit& limit : session.limits)
    if (limit.quantity == quantity && limit.run == run.kind &&
        (limit.direction == bench::Direction::any || limit.direction == run.direction))
      return limit.bounds;
  return std::nullopt;
}

void add_readings(History& past, const job::Job& job, std::size_t stage, const catalogue::Catalogue& catalogue) {
  const cases::Case the_case = job::case_of(job, stage, catalogue);
  std::string at = job.opened_at();
  for (const auto& run : job.runs)
    if (run.stage == stage) at = run.at;
  for (const bench::Run& run : the_case.session.runs)
    for (const auto& [quantity, reading] : run.readings)
      past.readings.push_back({job.id, at, stage > 0, quantity, run.kind, run.direction, reading.value,
                               limits_for(the_case.session, run, quantity), run.conditions});
}

void add_visit(History& past, const job::Job& job, const catalogue::Catalogue& catalogue) {
  Visit visit{job.id, job.opened_at(), {}, {}, {}, false, {}, {}};
  if (job.head.contains("title") && job.head["title"].is_string()) visit.title = job.head["title"].get<std::string>();
  for (const auto& done : job.repairs) visit.repairs.push_back(done.repair);
  if (job.closing) {
    visit.closed = job.closing->at;
    visit.outcome = job.closing->outcome;
    visit.causes = job.closing->causes;
    visit.proven = job.closing->outcome == job::Outcome::cured && job.stage() > 0 &&
                   job::retest_of(job, job.stage(), catalogue) == job::Retest::passed;
  }
  past.visits.push_back(std::move(visit));
  add_readings(past, job, 0, catalogue);
  if (job.stage() > 0 && job.has_runs(job.stage())) add_readings(past, job, job.stage(), catalogue);
}

/// A straight line by weighted least squares; what the readings scatter beyond their uncertainty widens its own (R. T.
/// Birge, Phys. Rev. 40 (1932) 207).
std::optional<Drift> drift_of(const std::vector<const PastReading*>& readings) {
  if (readings.size() < kLeastVisits) return std::nullopt;
  const std::string& first = readings.front()->at;
  double w = 0, wx = 0, wy = 0;
  for (const auto* each : readings) {
    const double weight = 1 / (each->value.uncertainty() * each->value.uncertainty());
    w += weight;
    wx += weight * job::days_between(first, each->at) / kDaysAYear;
    wy += weight * each->value.value();
  }
  double sxx = 0, sxy = 0;
  for (const auto* each : readings) {
    const double weight = 1 / (each->value.uncertainty() * each->value.uncertainty());
    const double x = job::days_between(first, each->at) / kDaysAYear - wx / w;
    sxx += weight * x * x;
    sxy += weight * x * (each->value.value() - wy / w);
  }
  if (job::days_between(first, readings.back()->at) < kLeastDays || !(sxx > 0)) return std::nullopt;
  const double slope = sxy / sxx;
  double chi = 0;
  for (const auto* each : readings) {
    const double x = job::days_between(first, each->at) / kDaysAYear - wx / w;
    const double off = (each->value.value() - wy / w - slope * x) / each->value.uncertainty();
    chi += off * off;
  }
  const double birge = std::sqrt(std::max(1.0, chi / static_cast<double>(readings.size() - 2)));
  const double uncertainty = birge / std::sqrt(sxx);
  const auto& one = *readings.front();
  const double freedom = birge > 1 ? static_cast<double>(readings.size() - 2) : std::numeric_limits<double>::infinity();
  return Drift{one.quantity,    one.run,
               one.direction,   slope,
               uncertainty,     measure::standard_cdf(slope / uncertainty, freedom),
               readings.size(), measure::coverage_factor(0.95, freedom)};
}

void add_drifts(History& past) {
  using Key = std::tuple<std::string, bench::RunKind, bench::Direction, int, long>;
  std::map<Key, std::map<std::string, const PastReading*>>
      left;  // by job: what it left with, or came with if nothing else
  for (const PastReading& each : past.readings) {
    const long loop = each.conditions.loop ? std::lround(1000 * each.conditions.loop->value()) : -1;  // mm
    const PastReading*& at =
        left[{each.quantity, each.run, each.direction, each.conditions.cars.value_or(-1), loop}][each.job];
    if (at == nullptr || each.left) at = &each;
  }
  for (const auto& [key, by_job] : left) {
    std::vector<const PastReading*> readings;
    for (const auto& [job, reading] : by_job) {
      const auto visit = std::ranges::find(past.visits, job, &Visit::job);
      const bool sound = reading->left ? visit->proven : visit->outcome == job::Outcome::no_fault;
      if (sound) readings.push_back(reading);
    }
    std::ranges::sort(readings, {}, [](const PastReading* each) { return each->at; });
    if (const auto drift = drift_of(readings)) past.drifts.push_back(*drift);
  }
}

}  // namespace

History history(const std::string& locomotive, const std::vector<job::Job>& jobs,
                const catalogue::Catalogue& catalogue) {
  History past;
  past.locomotive = locomotive;
  std::vector<const job::Job*> in_order;
  for (const job::Job& each : jobs) in_order.push_back(&each);
  std::ranges::sort(in_order, {}, [](const job::Job* each) { return std::pair(each->opened_at(), each->id); });
  for (const job::Job* each : in_order) add_visit(past, *each, catalogue);
  add_drifts(past);
  return past;
}

}  // namespace wheeltapper::statistics
