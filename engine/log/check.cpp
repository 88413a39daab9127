#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <filesystem>
#include <functional>
#include <map>

#include "engine/input/problem.hpp"
#include "engine/log/learned.hpp"
#include "engine/log/log.hpp"
#include "engine/log/rows.hpp"
#include "engine/log/schema.hpp"

namespace wheeltapper::log {
namespace {

/// As the rows keep it: sorted, each thing once.
job::Summary in_order(job::Summary summary) {
  const auto tidy = [](auto& list, auto key) {
    std::ranges::stable_sort(list, {}, key);
    const auto same = std::unique(list.begin(), list.end(), [&](const auto& a, const auto& b) {
      return std::invoke(key, a) == std::invoke(key, b);
    });
    list.erase(same, list.end());
  };
  const auto itself = std::identity();
  tidy(summary.findings, [](const auto& each) { return each.finding; });
  tidy(summary.results, [](const auto& each) { return each.check + "/" + each.result; });
  tidy(summary.causes, itself);
  tidy(summary.contexts, itself);
  tidy(summary.contexts_not, itself);
  return summary;
}

/// Runs one part of the check; what a damaged file makes SQLite say is found like anything else.
template <typename Use>
void look(std::vector<std::string>& found, Use&& use) {
  try {
    use();
  } catch (const SQLite::Exception& wrong) {
    found.push_back(fmt::format("SQLite: {}", wrong.what()));
  } catch (const input::BadInput& wrong) {
    found.push_back(wrong.what());
  } catch (const LogError& wrong) {
    found.push_back(wrong.what());
  } catch (const nlohmann::json::exception&) {
    found.push_back("something in it is no JSON where it should be");
  }
}

std::vector<std::string> job_ids(SQLite::Database& database) {
  std::vector<std::string> ids;
  SQLite::Statement rows(database, "SELECT id FROM job ORDER BY id");
  while (rows.executeStep()) ids.push_back(rows.getColumn(0).getString());
  return ids;
}

}  // namespace

/// The entries, and what the digests say of them.
void Log::check_entries(std::vector<std::string>& found) {
  const SQLite::Transaction one_moment(*database_);  // another bench may be writing
  for (const std::string& id : job_ids(*database_)) {
    const std::size_t before = found.size();
    look(found, [&] {
      for (std::string& each : broken_links(*database_, id)) found.push_back(std::move(each));
    });
    if (found.size() == before) look(found, [&] { job::fold(events(id)); });
  }
  look(found, [&] {
    if (auto broken = broken_whole(*database_)) found.push_back(std::move(*broken));
  });
  look(found, [&] {
    for (const std::string& line : conflicts()) event_of_line(line);
  });
}

/// What follows from the entries.
void Log::check_rows(std::vector<std::string>& found) {
  std::map<std::string, job::Summary> rows;
  for (job::Summary& each : summaries(*this)) rows.emplace(each.job, std::move(each));
  std::size_t passed = 0;
  for (const std::string& id : job_ids(*database_))
    look(found, [&] {
      const job::Job job = job::fold(events(id));
      // A job whose opening entry was lost can't be read as a case: it was salvaged so, and is no further damage.
      if (job.events.empty() || job.events.front().kind != job::EventKind::opened) return;
      const auto summary = summarise_(job);
      const auto row = rows.find(id);
      passed += row != rows.end() ? 1 : 0;
      const bool same =
          summary.has_value() == (row != rows.end()) && (!summary || in_order(*summary) == in_order(row->second));
      if (!same)
        found.push_back(fmt::format("job {}: its closed rows do not follow from its events; `log rebuild` mends it",
                                    id.substr(0, 8)));
    });
  if (passed != rows.size()) found.push_back("there are closed rows of jobs that are not there");
  if (!learned_is_whole(*this))
    found.push_back("the learned numbers are not as they were learned; `learn` makes them anew");
}

std::vector<std::string> Log::problems() {
  std::vector<std::string> found;
  look(found, [&] {
    for (SQLite::Statement check(*database_, "PRAGMA integrity_check"); check.executeStep();)
      if (const auto said = check.getColumn(0).getString(); said != "ok") found.push_back("SQLite: " + said);
  });
  look(found, [&] {
    for (SQLite::Statement check(*database_, "PRAGMA foreign_key_check"); check.executeStep();)
      found.push_back("a row of " + check.getColumn(0).getString() + " refers to what is not there");
  });
  look(found, [&] { check_entries(found); });
  if (found.empty()) look(found, [&] { check_rows(found); });
  return found;
}

/// Before anything is written. A large file would take too long each time: there the jobs' digests, SQLite's own
/// reading, and the entries of the job that is written to must do.
void Log::demand_sound_file() {
  constexpr std::int64_t kSmall = 8 << 20;  // bytes
  SQLite::Database& db = *database_;
  const auto bytes = db.execAndGet("PRAGMA page_count").getInt64() * db.execAndGet("PRAGMA page_size").getInt64();
  std::vector<std::string> found;
  const SQLite::Transaction one_moment(db);  // another bench may be writing
  if (bytes <= kSmall)
    look(found, [&] {
      for (SQLite::Statement check(db, "PRAGMA integrity_check(1)"); check.executeStep();)
        if (const auto said = check.getColumn(0).getString(); said != "ok") found.push_back("SQLite: " + said);
    });
  look(found, [&] {
    if (auto broken = broken_whole(db)) found.push_back(std::move(*broken));
  });
  if (!found.empty()) throw damaged(path_, found.front());
}

std::optional<std::string> Log::damage() {
  std::vector<std::string> found;
  look(found, [&] {
    for (SQLite::Statement check(*database_, "PRAGMA quick_check(1)"); check.executeStep();)
      if (const auto said = check.getColumn(0).getString(); said != "ok") found.push_back("SQLite: " + said);
  });
  if (found.empty()) look(found, [&] { check_entries(found); });
  return found.empty() ? std::nullopt : std::optional(found.front());
}

void Log::backup(const std::string& to) {
  std::error_code wrong;
  if (std::filesystem::exists(to, wrong)) throw LogError(fmt::format("{}: is there already; name a new file", to));
  if (const auto found = problems(); !found.empty()) throw damaged(path_, found.front(), "it was not copied");
  try {
    guarded(to, [&] {
      SQLite::Database target(to, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
      SQLite::Backup(target, *database_).executeStep(-1);
    });
  } catch (const LogError&) {
    std::filesystem::remove(to, wrong);
    throw;
  }
}

}  // namespace wheeltapper::log
