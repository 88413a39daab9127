#include "engine/log/log.hpp"

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <cctype>
#include <chrono>
#include <filesystem>
#include <functional>
#include <map>
#include <set>
#include <thread>

#include "engine/catalogue/problem.hpp"
#include "engine/log/learned.hpp"
#include "engine/log/rows.hpp"
#include "engine/log/schema.hpp"

namespace wheeltapper::log {

using job::Event;
using job::EventKind;

namespace {

int number_of(SQLite::Database& database, const char* pragma) { return database.execAndGet(pragma).getInt(); }

/// Tries again while another bench is in the way: SQLite's own waiting leaves the change of the journal out.
template <typename Use>
void patiently(int wait_ms, Use&& use) {
  constexpr int kStep = 20;
  for (int waited = 0;; waited += kStep) {
    try {
      return use();
    } catch (const SQLite::Exception& wrong) {
      if (wrong.getErrorCode() != SQLITE_BUSY || waited >= wait_ms) throw;
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(kStep));
  }
}

void demand_ours(SQLite::Database& database, const std::string& path) {
  const int id = number_of(database, "PRAGMA application_id");
  const int version = number_of(database, "PRAGMA user_version");
  const bool empty = number_of(database, "SELECT count(*) FROM sqlite_master") == 0;
  if (empty && id == 0 && version == 0) return;
  if (id != kApplicationId)
    throw LogError(
        fmt::format("{}: this is a database of another program, no log of Wheeltapper; it was not touched", path));
  if (version > kVersion)
    throw LogError(
        fmt::format("{}: a newer Wheeltapper wrote this log (form {}, this program knows {}); it was not touched. "
                    "Use the newer program",
                    path, version, kVersion));
}

/// Brings the file to the form of this program, each step all or none.
void migrate(SQLite::Database& database, const std::string& path) {
  while (number_of(database, "PRAGMA user_version") < kVersion) {
    SQLite::Transaction transaction = writing(database);
    const int from = number_of(database, "PRAGMA user_version");  // another bench may have been faster
    if (from >= kVersion) break;
    if (from == 0) demand_ours(database, path);
    database.exec(std::string(migration(from)));
    database.exec(fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {}", kApplicationId, from + 1));
    transaction.commit();
  }
}

bool readable(SQLite::Database& database) {
  try {
    number_of(database, "SELECT count(*) FROM sqlite_master");
    return true;
  } catch (const SQLite::Exception& wrong) {
    if (wrong.getErrorCode() != SQLITE_CANTOPEN && wrong.getErrorCode() != SQLITE_READONLY) throw;
    return false;
  }
}

/// A path in a URI (RFC 3986): what is not plain is written as %XX.
std::string in_uri(const std::string& path) {
  std::string uri;
  for (const char c : path) {
    const bool plain =
        std::isalnum(static_cast<unsigned char>(c)) != 0 || std::string_view("/-._~").find(c) != std::string_view::npos;
    uri += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return uri;
}

bool changes_closing(EventKind kind) {
  return kind == EventKind::closed || kind == EventKind::reopened || kind == EventKind::undone;
}

}  // namespace

Log::Log(const std::string& path, const Settings& settings, Summarise summarise)
    : path_(path), summarise_(std::move(summarise)) {
  guarded(path_, [&] { open(settings); });
}

Log::~Log() = default;

void Log::open(const Settings& settings) {
  namespace fs = std::filesystem;
  const fs::path file(path_);
  std::error_code wrong;
  if (settings.open == Settings::Open::create && !file.parent_path().empty())
    fs::create_directories(file.parent_path(), wrong);  // what stays wrong shows when the file is opened
  if (settings.open != Settings::Open::create && !fs::exists(file, wrong))
    throw LogError(fmt::format("{}: there is no log", path_));
  if (fs::is_directory(file, wrong)) throw LogError(fmt::format("{}: this is a folder; name a file", path_));
  const int flags = settings.open == Settings::Open::read_only ? SQLite::OPEN_READONLY
                    : settings.open == Settings::Open::create  ? SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE
                                                               : SQLite::OPEN_READWRITE;
  database_ = std::make_unique<SQLite::Database>(path_, flags, settings.wait_ms);
  if (settings.open == Settings::Open::read_only && !readable(*database_) && !fs::exists(path_ + "-wal", wrong))
    // In a folder that can't be written SQLite reads a file with this journal only if told that nobody changes it.
    database_ = std::make_unique<SQLite::Database>("file:" + in_uri(path_) + "?immutable=1", flags | SQLite::OPEN_URI);
  SQLite::Database& db = *database_;
  bool older = false;
  demand_ours(db, path_);
  db.exec(settings.full_sync ? "PRAGMA synchronous = FULL" : "PRAGMA synchronous = NORMAL");
  db.exec("PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON");
  if (settings.open == Settings::Open::read_only) {
    const int version = number_of(db, "PRAGMA user_version");
    if (version != kVersion)
      throw OlderForm(
          fmt::format("{}: the log has an older form; any command that writes brings it up to date", path_));
  } else {
    // The journal is the file's own property; asking first keeps the lock out of the way of other benches.
    if (std::string(db.execAndGet("PRAGMA journal_mode").getString()) != "wal")
      patiently(settings.wait_ms, [&] { db.exec("PRAGMA journal_mode = WAL"); });
    const int version = number_of(db, "PRAGMA user_version");
    older = version > 0 && version < kVersion;
    migrate(db, path_);
  }
  statements_ = std::make_unique<Statements>(db);
  if (older) rebuild();  // what is kept of closed jobs may have changed as well
}

void Log::insert(const Event& event) {
  auto& job = statements_->job;
  job.tryReset();
  job.bindNoCopy(1, event.job);
  job.exec();
  auto& statement = statements_->event;
  statement.tryReset();
  const std::string kind(job::name(event.kind));
  const std::string body = event.body.dump();
  statement.bindNoCopy(1, event.job);
  statement.bind(2, event.number);
  statement.bindNoCopy(3, event.id);
  statement.bindNoCopy(4, event.at);
  statement.bindNoCopy(5, event.bench);
  statement.bindNoCopy(6, kind);
  statement.bindNoCopy(7, body);
  statement.bind(8, event.scrubbed ? 1 : 0);
  statement.exec();
  statement.tryReset();
}

std::int64_t Log::next_number(const std::string& job) {
  constexpr std::int64_t kMost = 1'000'000;
  auto& last = statements_->last_number;
  last.tryReset();
  last.bind(1, job);
  last.executeStep();
  const std::int64_t number = last.getColumn(0).getInt64() + 1;
  last.tryReset();
  if (number > kMost) throw LogError(fmt::format("{}: job {} has no room for more entries", path_, job.substr(0, 8)));
  return number;
}

std::vector<Event> Log::append(std::vector<Event> drafts) {
  return guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    std::set<std::string> closings;
    for (Event& draft : drafts) {
      draft.number = next_number(draft.job);
      insert(draft);
      auto& closed = statements_->closed;
      closed.tryReset();
      closed.bindNoCopy(1, draft.job);
      const bool was_closed = closed.executeStep();
      closed.tryReset();
      if (was_closed || changes_closing(draft.kind)) closings.insert(draft.job);
    }
    for (const std::string& each : closings) write_summary(each);
    transaction.commit();
    return drafts;
  });
}

void Log::write_summary(const std::string& job) {
  put(*database_, "DELETE FROM closed_job WHERE job = ?", job);
  try {
    if (const auto summary = summarise_(job::fold(events(job)))) put_summary(*database_, *summary);
  } catch (const catalogue::BadInput&) {
    // It can't be folded: it stays out of the tables, and problems() names it.
  }
}

std::vector<Event> Log::events(const std::string& job) {
  return guarded(path_, [&] {
    std::vector<Event> all;
    auto& statement = statements_->of_job;
    statement.tryReset();
    statement.bind(1, job);
    while (statement.executeStep()) all.push_back(event_at(statement));
    statement.tryReset();
    return all;
  });
}

std::vector<JobLine> Log::jobs() {
  return guarded(path_, [&] {
    std::vector<JobLine> lines;
    SQLite::Statement statement(*database_,
                                "SELECT event.job, min(at), max(at), count(*), outcome FROM event "
                                "LEFT JOIN closed_job ON closed_job.job = event.job GROUP BY event.job "
                                "ORDER BY max(at) DESC, event.job");
    while (statement.executeStep()) {
      JobLine line{statement.getColumn(0).getString(),
                   statement.getColumn(1).getString(),
                   statement.getColumn(2).getString(),
                   {},
                   {},
                   static_cast<std::size_t>(statement.getColumn(3).getInt64()),
                   {}};
      if (!statement.isColumnNull(4)) line.outcome = statement.getColumn(4).getString();
      lines.push_back(std::move(line));
    }
    SQLite::Statement heads(*database_,
                            "SELECT json_extract(body, '$.title'), json_extract(body, '$.locomotive.name') FROM event "
                            "WHERE job = ?1 AND kind IN ('opened', 'told') AND id NOT IN "
                            "(SELECT json_extract(body, '$.event') FROM event AS back WHERE back.job = ?1 AND "
                            "back.kind = 'undone' AND back.id NOT IN (SELECT json_extract(body, '$.event') FROM event "
                            "WHERE job = ?1 AND kind = 'undone')) ORDER BY number, id");
    for (JobLine& line : lines) {
      heads.tryReset();
      heads.bind(1, line.job);
      while (heads.executeStep()) {
        if (!heads.isColumnNull(0)) line.title = heads.getColumn(0).getString();
        if (!heads.isColumnNull(1)) line.locomotive = heads.getColumn(1).getString();
      }
    }
    return lines;
  });
}

std::vector<std::string> Log::jobs_like(const std::string& start) {
  return guarded(path_, [&] {
    std::vector<std::string> found;
    SQLite::Statement statement(*database_,
                                "SELECT id FROM job WHERE substr(id, 1, length(?1)) = ?1 ORDER BY id LIMIT 50");
    statement.bind(1, start);
    while (statement.executeStep()) found.push_back(statement.getColumn(0).getString());
    return found;
  });
}

void Log::for_each_event(const std::function<void(const Event&)>& use) {
  guarded(path_, [&] {
    SQLite::Statement statement(
        *database_, "SELECT job, number, id, at, bench, kind, body, scrubbed FROM event ORDER BY job, number, id");
    while (statement.executeStep()) use(event_at(statement));
  });
}

std::vector<std::string> Log::conflicts() {
  return guarded(path_, [&] {
    std::vector<std::string> lines;
    SQLite::Statement statement(*database_, "SELECT line FROM conflict ORDER BY event, line");
    while (statement.executeStep()) lines.push_back(statement.getColumn(0).getString());
    return lines;
  });
}

void Log::backup(const std::string& to) {
  std::error_code wrong;
  if (std::filesystem::exists(to, wrong)) throw LogError(fmt::format("{}: is there already; name a new file", to));
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

void Log::rebuild() {
  guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    for (const JobLine& line : jobs()) write_summary(line.job);
    transaction.commit();
  });
}

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

}  // namespace

std::vector<std::string> Log::problems() {
  return guarded(path_, [&] {
    std::vector<std::string> found;
    for (SQLite::Statement check(*database_, "PRAGMA integrity_check"); check.executeStep();)
      if (const auto said = check.getColumn(0).getString(); said != "ok") found.push_back("SQLite: " + said);
    for (SQLite::Statement check(*database_, "PRAGMA foreign_key_check"); check.executeStep();)
      found.push_back("a row of " + check.getColumn(0).getString() + " refers to what is not there");
    std::map<std::string, job::Summary> rows;
    for (job::Summary& each : summaries(*this)) rows.emplace(each.job, std::move(each));
    for (const JobLine& line : jobs()) {
      const std::string name = "job " + line.job.substr(0, 8);
      try {
        const auto summary = summarise_(job::fold(events(line.job)));
        const auto row = rows.find(line.job);
        const bool same =
            summary.has_value() == (row != rows.end()) && (!summary || in_order(*summary) == in_order(row->second));
        if (!same) found.push_back(name + ": its closed rows do not follow from its events; `log rebuild` mends it");
      } catch (const catalogue::BadInput& wrong) {
        found.push_back(wrong.what());
      }
    }
    return found;
  });
}

std::string Log::fingerprint() {
  boost::uuids::uuid so_far{};
  const auto add = [&](const std::string& line) { so_far = boost::uuids::name_generator_sha1(so_far)(line); };
  for_each_event([&](const Event& event) { add(job::to_line(event)); });
  for (const std::string& line : conflicts()) add(line);
  return boost::uuids::to_string(so_far);
}

}  // namespace wheeltapper::log
