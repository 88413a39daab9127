#include "engine/statistics/cures.hpp"

#include <algorithm>
#include <map>
#include <tuple>
#include <unordered_map>

#include "engine/measure/robust.hpp"
#include "engine/measure/survival.hpp"

namespace wheeltapper::statistics {
namespace {

using By = CuresOf::By;

bool same_trouble(const PastJobs::Job& first, const PastJobs::Job& later, By by) {
  if (by == By::finding || by == By::cause) return later.wanted;
  if (first.causes.empty() || later.causes.empty()) return true;
  return std::ranges::any_of(first.causes,
                             [&](int cause) { return std::ranges::find(later.causes, cause) != later.causes.end(); });
}

/// For each job: when the same trouble came back, or how long it was looked at. Nothing without a name.
std::vector<std::optional<measure::Lasted>> lasting(const PastJobs& past, By by, const std::string& until) {
  std::unordered_map<std::string_view, std::vector<std::size_t>> visits;
  for (std::size_t j = 0; j < past.jobs.size(); ++j)
    if (!past.jobs[j].locomotive.empty()) visits[past.jobs[j].locomotive].push_back(j);
  std::vector<std::optional<measure::Lasted>> all(past.jobs.size());
  for (auto& [name, jobs] : visits) {
    std::ranges::sort(jobs, {}, [&](std::size_t j) { return past.jobs[j].opened; });
    for (std::size_t i = 0; i < jobs.size(); ++i) {
      const PastJobs::Job& first = past.jobs[jobs[i]];
      if (first.open) continue;
      measure::Lasted lasted{std::max(0.0, job::days_between(first.closed, until)), false};
      for (std::size_t k = i + 1; k < jobs.size() && !lasted.ended; ++k) {
        const PastJobs::Job& later = past.jobs[jobs[k]];
        if (later.opened < first.closed || later.opened > until) continue;
        const double days = job::days_between(first.closed, later.opened);
        if (later.open) {  // what it came back with is not known yet: looked at until then
          lasted = {days, false};
          break;
        }
        if (same_trouble(first, later, by)) lasted = {days, true};
      }
      all[jobs[i]] = lasted;
    }
  }
  return all;
}

struct Tally {
  std::size_t done = 0, tried = 0, cured = 0;
  std::vector<double> minutes;
  std::vector<measure::Lasted> lasted;
};

Lasting lasting_of(const std::vector<measure::Lasted>& lasted) {
  Lasting result;
  result.followed = lasted.size();
  result.came_back = static_cast<std::size_t>(
      std::ranges::count_if(lasted, [](const measure::Lasted& each) { return each.ended && each.time <= kSoon; }));
  if (lasted.size() < kEnough) return result;
  const auto steps = measure::kaplan_meier(lasted);
  const bool none_left = !steps.empty() && steps.back().surviving == 0;
  const bool far_enough = std::ranges::any_of(lasted, [](const auto& each) { return each.time >= kSoon; });
  if (!far_enough && !none_left) return result;  // nobody has looked that far
  result.holds = measure::surviving_at(steps, kSoon);
  result.error = 0;
  for (const auto& step : steps)
    if (step.time <= kSoon) result.error = step.error;
  return result;
}

measure::BetaPosterior beta_of(const Tally& tally, const catalogue::Catalogue& catalogue, const CuresOf& of,
                               const std::string& id) {
  double a = 0.5;
  double b = 0.5;
  if (const auto* repair = catalogue.repair(id); repair != nullptr && of.by == By::cause)
    for (const auto& cure : repair->cures)
      if (cure.cause == of.id && cure.chance.all > 0 && cure.chance.all < 1) {
        a = kKnownFor * cure.chance.all;
        b = kKnownFor - a;
      }
  return measure::beta_posterior(static_cast<double>(tally.cured), static_cast<double>(tally.tried), a, b);
}

}  // namespace

std::vector<CureRow> cures(const PastJobs& past, const catalogue::Catalogue& catalogue, const CuresOf& of,
                           const std::string& until) {
  const auto lasted = lasting(past, of.by, until);
  std::map<std::string, Tally> tallies;
  for (const PastJobs::Fix& fix : past.fixes) {
    if (!past.jobs[fix.job].wanted) continue;
    Tally& tally = tallies[fix.repair];
    ++tally.done;
    tally.tried += fix.retest != job::Retest::open ? 1 : 0;
    tally.cured += fix.retest == job::Retest::passed ? 1 : 0;
    if (fix.minutes) tally.minutes.push_back(*fix.minutes);
    if (fix.retest == job::Retest::passed && lasted[fix.job]) tally.lasted.push_back(*lasted[fix.job]);
  }
  std::vector<CureRow> rows;
  for (const auto& [repair, tally] : tallies) {
    CureRow row{repair, tally.done, tally.tried, tally.cured, {0, 1}, beta_of(tally, catalogue, of, repair), {}, {}};
    if (tally.tried > 0)
      row.wilson = measure::wilson(static_cast<double>(tally.cured), static_cast<double>(tally.tried));
    if (!tally.minutes.empty()) row.median_minutes = measure::median(tally.minutes);
    row.lasting = lasting_of(tally.lasted);
    rows.push_back(std::move(row));
  }
  std::ranges::stable_sort(
      rows, [](const CureRow& a, const CureRow& b) { return std::tie(a.cured, a.done) > std::tie(b.cured, b.done); });
  return rows;
}

}  // namespace wheeltapper::statistics
