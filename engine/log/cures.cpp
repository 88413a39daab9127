#include "engine/log/cures.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <map>
#include <unordered_map>

#include "engine/log/trouble.hpp"
#include "engine/measure/survival.hpp"

namespace wheeltapper::log {
namespace {

using By = CuresOf::By;

/// Closed jobs as the table needs them, by number instead of id.
struct Past {
  struct Job {
    std::string locomotive, opened, closed;
    bool open = false;        // of an open job only the name and its opening are known
    bool wanted = false;      // it has the finding, cause or name that was asked for
    std::vector<int> causes;  // by number
  };
  std::vector<Job> jobs;
  std::unordered_map<std::string, std::size_t> by_id;
};

std::string wanted_query(By by) {
  switch (by) {
    case By::finding:
      return "SELECT job FROM closed_finding WHERE finding = ? AND (level IS NULL OR level > 0)";
    case By::cause:
      return "SELECT job FROM closed_cause WHERE cause = ?";
    case By::locomotive:
      return "SELECT job FROM closed_job WHERE locomotive = ?";
    case By::everything:
      break;
  }
  return "SELECT job FROM closed_job";
}

Past read_past(SQLite::Database& db, const CuresOf& of) {
  Past past;
  SQLite::Statement jobs(db, "SELECT job, locomotive, opened, closed FROM closed_job ORDER BY closed, job");
  while (jobs.executeStep()) {
    past.by_id.emplace(jobs.getColumn(0).getString(), past.jobs.size());
    past.jobs.push_back({jobs.getColumn(1).getString(),
                         jobs.getColumn(2).getString(),
                         jobs.getColumn(3).getString(),
                         false,
                         false,
                         {}});
  }
  SQLite::Statement open(
      db,
      "SELECT event.job, min(at), max(json_extract(body, '$.locomotive.name')) FROM event LEFT JOIN closed_job "
      "ON closed_job.job = event.job WHERE kind IN ('opened', 'told') AND closed_job.job IS NULL "
      "GROUP BY event.job");
  while (open.executeStep())
    if (!open.isColumnNull(2))
      past.jobs.push_back({open.getColumn(2).getString(), open.getColumn(1).getString(), {}, true, false, {}});
  SQLite::Statement wanted(db, wanted_query(of.by));
  if (of.by != By::everything) wanted.bind(1, of.id);
  while (wanted.executeStep()) past.jobs[past.by_id.at(wanted.getColumn(0).getString())].wanted = true;
  std::unordered_map<std::string, int> numbers;
  SQLite::Statement causes(db, "SELECT job, cause FROM closed_cause");
  while (causes.executeStep()) {
    const auto number =
        numbers.emplace(causes.getColumn(1).getString(), static_cast<int>(numbers.size())).first->second;
    past.jobs[past.by_id.at(causes.getColumn(0).getString())].causes.push_back(number);
  }
  return past;
}

bool same_trouble(const Past::Job& first, const Past::Job& later, By by) {
  if (by == By::finding || by == By::cause) return later.wanted;
  if (first.causes.empty() || later.causes.empty()) return true;
  return std::ranges::any_of(first.causes,
                             [&](int cause) { return std::ranges::find(later.causes, cause) != later.causes.end(); });
}

/// For each job: when the same trouble came back, or how long it was looked at. Nothing without a name.
std::vector<std::optional<measure::Lasted>> lasting(const Past& past, By by, const std::string& until) {
  std::unordered_map<std::string_view, std::vector<std::size_t>> visits;
  for (std::size_t j = 0; j < past.jobs.size(); ++j)
    if (!past.jobs[j].locomotive.empty()) visits[past.jobs[j].locomotive].push_back(j);
  std::vector<std::optional<measure::Lasted>> all(past.jobs.size());
  for (auto& [name, jobs] : visits) {
    std::ranges::sort(jobs, {}, [&](std::size_t j) { return past.jobs[j].opened; });
    for (std::size_t i = 0; i < jobs.size(); ++i) {
      const Past::Job& first = past.jobs[jobs[i]];
      if (first.open) continue;
      measure::Lasted lasted{std::max(0.0, job::days_between(first.closed, until)), false};
      for (std::size_t k = i + 1; k < jobs.size() && !lasted.ended; ++k) {
        const Past::Job& later = past.jobs[jobs[k]];
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

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

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
      if (cure.cause == of.id && cure.chance > 0 && cure.chance < 1) {
        a = kKnownFor * cure.chance;
        b = kKnownFor - a;
      }
  return measure::beta_posterior(static_cast<double>(tally.cured), static_cast<double>(tally.tried), a, b);
}

}  // namespace

std::vector<CureRow> cures(Log& log, const catalogue::Catalogue& catalogue, const CuresOf& of,
                           const std::string& until) {
  try {
    SQLite::Database& db = log.database();
    const SQLite::Transaction one_look(db);  // other benches may write meanwhile
    const Past past = read_past(db, of);
    const auto lasted = lasting(past, of.by, until);
    std::map<std::string, Tally> tallies;
    SQLite::Statement fixes(db, "SELECT job, repair, minutes, retest FROM closed_fix");
    while (fixes.executeStep()) {
      const std::size_t job = past.by_id.at(fixes.getColumn(0).getString());
      if (!past.jobs[job].wanted) continue;
      Tally& tally = tallies[fixes.getColumn(1).getString()];
      const std::string retest = fixes.getColumn(3).getString();
      ++tally.done;
      tally.tried += retest != "open" ? 1 : 0;
      tally.cured += retest == "passed" ? 1 : 0;
      if (!fixes.isColumnNull(2)) tally.minutes.push_back(fixes.getColumn(2).getDouble());
      if (retest == "passed" && lasted[job]) tally.lasted.push_back(*lasted[job]);
    }
    std::vector<CureRow> rows;
    for (const auto& [repair, tally] : tallies) {
      CureRow row{repair, tally.done, tally.tried, tally.cured, {0, 1}, beta_of(tally, catalogue, of, repair), {}, {}};
      if (tally.tried > 0)
        row.wilson = measure::wilson(static_cast<double>(tally.cured), static_cast<double>(tally.tried));
      if (!tally.minutes.empty()) row.median_minutes = median(tally.minutes);
      row.lasting = lasting_of(tally.lasted);
      rows.push_back(std::move(row));
    }
    std::ranges::stable_sort(
        rows, [](const CureRow& a, const CureRow& b) { return std::tie(a.cured, a.done) > std::tie(b.cured, b.done); });
    return rows;
  } catch (const SQLite::Exception& wrong) {
    throw trouble(log.path(), wrong);
  }
}

}  // namespace wheeltapper::log
