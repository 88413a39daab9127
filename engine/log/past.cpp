#include "engine/log/past.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <unordered_map>

#include "engine/log/rows.hpp"

namespace wheeltapper::log {
namespace {

using statistics::CuresOf;
using statistics::PastJobs;

std::string wanted_query(CuresOf::By by) {
  switch (by) {
    case CuresOf::By::finding:
      return "SELECT job FROM closed_finding WHERE finding = ? AND (level IS NULL OR level > 0)";
    case CuresOf::By::cause:
      return "SELECT job FROM closed_cause WHERE cause = ?";
    case CuresOf::By::locomotive:
      return "SELECT job FROM closed_job WHERE locomotive = ?";
    case CuresOf::By::everything:
      break;
  }
  return "SELECT job FROM closed_job";
}

using Places = std::unordered_map<std::string, std::size_t>;

/// Closed jobs, and where each stands by its id; behind them the open ones.
Places read_jobs(SQLite::Database& db, PastJobs& past) {
  Places by_id;
  SQLite::Statement jobs(db, "SELECT job, locomotive, opened, closed FROM closed_job ORDER BY closed, job");
  while (jobs.executeStep()) {
    by_id.emplace(jobs.getColumn(0).getString(), past.jobs.size());
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
  return by_id;
}

void read_causes(SQLite::Database& db, const Places& by_id, PastJobs& past) {
  std::unordered_map<std::string, int> numbers;
  SQLite::Statement causes(db, "SELECT job, cause FROM closed_cause");
  while (causes.executeStep()) {
    const auto number =
        numbers.emplace(causes.getColumn(1).getString(), static_cast<int>(numbers.size())).first->second;
    past.jobs[place_of(by_id, causes.getColumn(0).getString())].causes.push_back(number);
  }
}

void read_fixes(SQLite::Database& db, const Places& by_id, PastJobs& past) {
  SQLite::Statement fixes(db, "SELECT job, repair, minutes, retest FROM closed_fix");
  while (fixes.executeStep()) {
    std::optional<double> minutes;
    if (!fixes.isColumnNull(2)) minutes = fixes.getColumn(2).getDouble();
    past.fixes.push_back({place_of(by_id, fixes.getColumn(0).getString()), fixes.getColumn(1).getString(), minutes,
                          retest_of_text(fixes.getColumn(3).getString())});
  }
}

PastJobs read_past(SQLite::Database& db, const CuresOf& of) {
  PastJobs past;
  const Places by_id = read_jobs(db, past);
  SQLite::Statement wanted(db, wanted_query(of.by));
  if (of.by != CuresOf::By::everything) wanted.bind(1, of.id);
  while (wanted.executeStep()) past.jobs[place_of(by_id, wanted.getColumn(0).getString())].wanted = true;
  read_causes(db, by_id, past);
  read_fixes(db, by_id, past);
  return past;
}

}  // namespace

PastJobs past_jobs(Log& log, const CuresOf& of) {
  return guarded(log.path(), [&] {
    SQLite::Database& db = log.database();
    const SQLite::Transaction one_look(db);  // other benches may write meanwhile
    return read_past(db, of);
  });
}

std::vector<job::Job> jobs_of(Log& log, const std::string& locomotive) {
  std::vector<job::Job> jobs;
  for (const job::JobLine& line : log.jobs())
    if (line.locomotive == locomotive) jobs.push_back(job::fold(log.events(line.job)));
  return jobs;
}

std::vector<std::string> locomotives(Log& log) {
  std::vector<std::string> names;
  for (const job::JobLine& line : log.jobs())
    if (!line.locomotive.empty() && std::ranges::find(names, line.locomotive) == names.end())
      names.push_back(line.locomotive);
  std::ranges::sort(names);
  return names;
}

}  // namespace wheeltapper::log
