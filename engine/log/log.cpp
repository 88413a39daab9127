#include "engine/log/log.hpp"

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

#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"
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

/// \param may_be_new  an empty file will do
void demand_ours(SQLite::Database& database, const std::string& path, bool may_be_new) {
  const int id = number_of(database, "PRAGMA application_id");
  const int version = number_of(database, "PRAGMA user_version");
  const bool empty = number_of(database, "SELECT count(*) FROM sqlite_master") == 0;
  if (empty && id == 0 && version == 0) {
    if (may_be_new) return;
    throw LogError(fmt::format("{}: the file is empty, no log; `wheeltapper job new` begins one", path));
  }
  if (id == kApplicationId && version <= 0)
    throw LogError(
        fmt::format("{}: the log is damaged at its start; it was not touched. Put it aside and go back to a "
                    "backup, or try: wheeltapper log salvage NEW",
                    path));
  if (id != kApplicationId)
    throw LogError(
        fmt::format("{}: this is a database of another program, no log of Wheeltapper; it was not touched", path));
  if (version > kVersion)
    throw LogError(
        fmt::format("{}: a newer Wheeltapper wrote this log (version {}, this program knows {}); it was not touched. "
                    "Use the newer program",
                    path, version, kVersion));
  // A mark without the tables that belong to it would only show when it is written to.
  if (version == kVersion)
    if (const auto odd = odd_parts(database); !odd.empty()) throw damaged(path, odd.front(), "it was not touched");
  if (version < kVersion &&
      number_of(database, "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name IN ('event', 'job')") != 2)
    throw damaged(path, "tables are missing", "it was not touched");
}

/// Brings the file to the form of this program, each step all or none.
void migrate(SQLite::Database& database, const std::string& path) {
  while (number_of(database, "PRAGMA user_version") < kVersion) {
    SQLite::Transaction transaction = writing(database);
    const int from = number_of(database, "PRAGMA user_version");  // another bench may have been faster
    if (from >= kVersion) break;
    if (from == 0) demand_ours(database, path, true);
    database.exec(std::string(migration(from)));
    if (from == 2) seal_all(database);
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

std::vector<std::string> columns_of(const Event& event) {
  return {event.job,
          std::to_string(event.number),
          event.id,
          event.at,
          event.writer,
          std::string(job::name(event.kind)),
          event.body.dump(),
          event.scrubbed ? "1" : "0",
          event.seen ? job::to_json(*event.seen).dump() : std::string()};
}

LogError damaged_rows(const std::string& path, const std::string& job) {
  return damaged(path, fmt::format("what it says of job {} can't be read", input::harmless(job.substr(0, 8))));
}

/// What is read while it lives is of one moment, whatever other benches write.
class OneMoment {
 public:
  explicit OneMoment(SQLite::Database& database) {
    if (sqlite3_get_autocommit(database.getHandle()) != 0) reading_.emplace(database);
  }

 private:
  std::optional<SQLite::Transaction> reading_;  // nothing within another transaction
};

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
  // SQLite takes such names for databases that are gone with the program.
  if (path_.empty() || path_ == ":memory:" || path_.starts_with("file:"))
    throw LogError(fmt::format("\"{}\" names no file, and nothing would be kept; name a file for the log", path_));
  if (settings.open == Settings::Open::create && !file.parent_path().empty())
    fs::create_directories(file.parent_path(), wrong);  // what stays wrong shows when the file is opened
  if (settings.open != Settings::Open::create && !fs::exists(file, wrong))
    throw LogError(fmt::format("{}: there is no log", path_));
  if (fs::is_directory(file, wrong)) throw LogError(fmt::format("{}: this is a folder; name a file", path_));
  if (fs::exists(file, wrong) && !fs::is_regular_file(file, wrong))
    throw LogError(fmt::format("{}: this is no plain file; name another one for the log", path_));
  const int flags = settings.open == Settings::Open::read_only ? SQLite::OPEN_READONLY
                    : settings.open == Settings::Open::create  ? SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE
                                                               : SQLite::OPEN_READWRITE;
  database_ = std::make_unique<SQLite::Database>(path_, flags, settings.wait_ms);
  if (settings.open == Settings::Open::read_only && !readable(*database_) && !fs::exists(path_ + "-wal", wrong))
    // In a folder that can't be written SQLite reads a file with this journal only if told that nobody changes it.
    database_ = std::make_unique<SQLite::Database>("file:" + in_uri(path_) + "?immutable=1", flags | SQLite::OPEN_URI);
  SQLite::Database& db = *database_;
  bool older = false;
  demand_ours(db, path_, settings.open == Settings::Open::create);
  db.exec(settings.full_sync ? "PRAGMA synchronous = FULL" : "PRAGMA synchronous = NORMAL");
  db.exec("PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON");
  if (settings.open == Settings::Open::read_only) {
    const int version = number_of(db, "PRAGMA user_version");
    if (version != kVersion)
      throw OlderVersion(
          fmt::format("{}: the log has an older version; any command that writes brings it up to date", path_));
  } else {
    // The journal is the file's own property; asking first keeps the lock out of the way of other benches.
    if (std::string(db.execAndGet("PRAGMA journal_mode").getString()) != "wal")
      patiently(settings.wait_ms, [&] { db.exec("PRAGMA journal_mode = WAL"); });
    const int version = number_of(db, "PRAGMA user_version");
    older = version > 0 && version < kVersion;
    migrate(db, path_);
  }
  statements_ = std::make_unique<Statements>(db);
  read_only_ = settings.open == Settings::Open::read_only;
  if (!read_only_) {
    demand_sound_file();
    finish_redaction();
  }
  if (older) rebuild();  // what is kept of closed jobs may have changed as well
}

/// Writes the row alone: the job's digest is the caller's.
void Log::insert(const Event& event) {
  auto& job = statements_->job;
  job.tryReset();
  job.bindNoCopy(1, event.job);
  job.exec();
  auto& statement = statements_->event;
  statement.tryReset();
  const std::vector<std::string> columns = columns_of(event);
  const std::string digest = entry_digest(columns);
  statement.bindNoCopy(1, event.job);
  statement.bind(2, event.number);
  statement.bindNoCopy(3, event.id);
  statement.bindNoCopy(4, event.at);
  statement.bindNoCopy(5, event.writer);
  statement.bindNoCopy(6, columns[5]);
  statement.bindNoCopy(7, columns[6]);
  statement.bind(8, event.scrubbed ? 1 : 0);
  if (event.seen)
    statement.bindNoCopy(9, columns[8]);
  else
    statement.bind(9);
  statement.bindNoCopy(10, digest);
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

namespace {

/// One text of a statement that is used again and again.
std::string ask(SQLite::Statement& statement, const std::string* key = nullptr) {
  statement.tryReset();
  if (key != nullptr) statement.bindNoCopy(1, *key);
  std::string text;
  if (statement.executeStep()) text = statement.getColumn(0).getString();
  statement.tryReset();
  return text;
}

/// What would be written and not be read again, or not by everybody.
void demand_writable(const std::string& path, const Event& draft) {
  constexpr std::size_t kMostBytes = 8'000'000;
  const auto refuse = [&](const std::string& what) {
    throw LogError(fmt::format("{}: nothing was written: {}", path, what));
  };
  if (!job::is_time(draft.at) || draft.at < "1970")
    refuse(fmt::format("this machine's clock says {}, which is no time from 1970 to 9999; set it right",
                       input::harmless(draft.at)));
  std::string line;
  try {
    line = job::to_line(draft);
  } catch (const nlohmann::json::exception&) {
    refuse("some of the words are no readable text (UTF-8)");
  }
  if (line.size() > kMostBytes)
    refuse(fmt::format("an entry would be {} bytes long, and at most {} can be read again", line.size(), kMostBytes));
  try {
    job::from_line(line);
  } catch (const input::InputError& wrong) {
    refuse(fmt::format("the entry {}", wrong.what()));
  }
}

}  // namespace

/// The job's digest goes on from what it is, so that an append costs the same however long the job.
void Log::chain_on(const Event& event) {
  const std::string before = ask(statements_->digest, &event.job);
  const std::string after = chained(before, entry_digest(columns_of(event)));
  std::string whole = ask(statements_->whole);
  if (!before.empty()) whole = mixed(whole, share_of_job(event.job, before));
  whole = mixed(whole, share_of_job(event.job, after));
  const auto set = [](SQLite::Statement& statement, const std::string& text, const std::string* key) {
    statement.tryReset();
    statement.bindNoCopy(1, text);
    if (key != nullptr) statement.bindNoCopy(2, *key);
    statement.exec();
    statement.tryReset();
  };
  set(statements_->set_digest, after, &event.job);
  set(statements_->set_whole, whole, nullptr);
}

void Log::demand_sound_job(const std::string& job) {
  if (!sound_.insert(job).second) return;
  const auto broken = broken_links(*database_, job);
  if (broken.empty()) return;
  sound_.erase(job);
  throw damaged(path_, broken.front());
}

std::vector<Event> Log::append(std::vector<Event> drafts) {
  return guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    const auto known = redactions();
    std::set<std::string> closings;
    for (Event& draft : drafts) {
      demand_sound_job(draft.job);
      draft.number = next_number(draft.job);
      mark_known(draft, known);
      demand_writable(path_, draft);
      insert(draft);
      chain_on(draft);
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
  } catch (const input::BadInput&) {
    // It can't be folded: it stays out of the tables, and problems() names it.
  }
}

std::vector<Event> Log::events(const std::string& job) {
  return guarded(path_, [&] {
    const OneMoment moment(*database_);
    demand_sound_job(job);
    std::vector<Event> all;
    auto& statement = statements_->of_job;
    statement.tryReset();
    statement.bind(1, job);
    while (statement.executeStep()) all.push_back(event_at(statement));
    statement.tryReset();
    auto& forms = statements_->forms;
    forms.tryReset();
    forms.bind(1, job);
    while (forms.executeStep()) {
      all.push_back(event_of_line(forms.getColumn(0).getString()));
      all.back().second = true;
    }
    forms.tryReset();
    return all;
  });
}

namespace {

/// Without title and locomotive, which stand in the heads.
std::vector<job::JobLine> job_lines(SQLite::Database& database) {
  std::vector<job::JobLine> lines;
  SQLite::Statement statement(database,
                              "SELECT event.job, min(at), max(at), count(*), outcome FROM event "
                              "LEFT JOIN closed_job ON closed_job.job = event.job WHERE event.job <> ? "
                              "GROUP BY event.job ORDER BY max(at) DESC, event.job");
  statement.bind(1, std::string(kOwnJob));
  while (statement.executeStep()) {
    job::JobLine line{statement.getColumn(0).getString(),
                      statement.getColumn(1).getString(),
                      statement.getColumn(2).getString(),
                      {},
                      {},
                      static_cast<std::size_t>(statement.getColumn(3).getInt64()),
                      {}};
    if (!statement.isColumnNull(4)) line.outcome = statement.getColumn(4).getString();
    lines.push_back(std::move(line));
  }
  return lines;
}

constexpr const char* kHeadsOfJob =
    "SELECT json_extract(body, '$.title'), json_extract(body, '$.locomotive.name') FROM event "
    "WHERE job = ?1 AND kind IN ('opened', 'told') AND id NOT IN "
    "(SELECT json_extract(body, '$.event') FROM event AS back WHERE back.job = ?1 AND "
    "back.kind = 'undone' AND back.id NOT IN (SELECT json_extract(body, '$.event') FROM event "
    "WHERE job = ?1 AND kind = 'undone')) ORDER BY number, id";

}  // namespace

std::vector<job::JobLine> Log::jobs() {
  return guarded(path_, [&] {
    std::vector<job::JobLine> lines = job_lines(*database_);
    SQLite::Statement heads(*database_, kHeadsOfJob);
    for (job::JobLine& line : lines) {
      heads.tryReset();
      heads.bind(1, line.job);
      while (heads.executeStep()) {
        if (!heads.isColumnNull(0)) line.title = heads.getColumn(0).getString();
        if (!heads.isColumnNull(1)) line.locomotive = heads.getColumn(1).getString();
      }
      for (const std::string* each : {&line.opened, &line.last, &line.title, &line.locomotive})
        if (!input::is_utf8(*each) || !job::is_uuid(line.job)) throw damaged_rows(path_, line.job);
      if (line.outcome && !job::outcome(*line.outcome)) throw damaged_rows(path_, line.job);
    }
    return lines;
  });
}

std::vector<std::string> Log::jobs_like(const std::string& start) {
  return guarded(path_, [&] {
    std::vector<std::string> found;
    SQLite::Statement statement(
        *database_, "SELECT id FROM job WHERE substr(id, 1, length(?1)) = ?1 AND id <> ?2 ORDER BY id LIMIT 50");
    statement.bind(1, start);
    statement.bind(2, std::string(kOwnJob));
    while (statement.executeStep()) found.push_back(statement.getColumn(0).getString());
    return found;
  });
}

void Log::for_each_event(const std::function<void(const Event&)>& use) {
  guarded(path_, [&] {
    SQLite::Statement statement(*database_,
                                fmt::format("SELECT {} FROM event ORDER BY job, number, id", kEventColumns));
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

void Log::rebuild() {
  guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    for (const job::JobLine& line : jobs()) write_summary(line.job);
    transaction.commit();
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
