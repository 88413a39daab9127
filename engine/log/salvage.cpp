#include "engine/log/salvage.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>

#include "engine/input/problem.hpp"
#include "engine/log/pages.hpp"
#include "engine/log/rows.hpp"
#include "engine/log/schema.hpp"

namespace wheeltapper::log {
namespace {

using job::Event;

constexpr std::size_t kColumns = 9;  // of an entry, without its digest

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// The line of an entry, of whatever its columns hold.
std::string line_of(const std::vector<std::string>& columns) {
  std::string line;
  for (const std::string& each : columns) line += (line.empty() ? "" : " | ") + each;
  return line;
}

class Finds {
 public:
  /// An entry as it was found. The first sound one of an id counts.
  void take(std::vector<std::string> columns) {
    if (columns.size() < kColumns - 1 || !job::is_uuid(columns[0]) || !job::is_uuid(columns[2])) return;
    const std::string id = columns[2];
    if (sound_.contains(id)) return;
    const bool digested = columns.size() > kColumns;  // those of older versions have no digest
    const std::string digest = digested ? columns[kColumns] : std::string();
    columns.resize(kColumns);
    if (digested && entry_digest(columns) != digest) {
      doubtful_.insert_or_assign(id, SetAside{line_of(columns), "is not as it was written"});
      with_gaps_.insert(columns[0]);
      return;
    }
    try {
      sound_.emplace(id, event_of(columns));
      digests_.emplace(id, digest);
    } catch (const input::InputError& wrong) {
      doubtful_.insert_or_assign(id, SetAside{line_of(columns), wrong.what()});
      with_gaps_.insert(columns[0]);
    }
  }

  void take_form(const std::string& line, const std::string* digest) {
    if (digest != nullptr && digest_of(line) != *digest) {
      doubtful_.insert_or_assign(line, SetAside{line, "is not as it was written"});
      return;
    }
    try {
      forms_.push_back(job::from_line(line));
    } catch (const input::InputError& wrong) {
      doubtful_.insert_or_assign(line, SetAside{line, wrong.what()});
    }
  }

  std::vector<Event> all() const {
    std::vector<Event> events;
    for (const auto& [id, event] : sound_) events.push_back(event);
    events.insert(events.end(), forms_.begin(), forms_.end());
    return events;
  }

  /// The digest of a job as the damaged log has it.
  void take_job(const std::string& job, const std::string& digest) { jobs_[job] = digest; }

  /// Jobs of which something is missing or doubtful, as far as can be told.
  std::set<std::string> with_gaps() const {
    std::map<std::string, std::vector<const Event*>> by_job;
    for (const auto& [id, event] : sound_) by_job[event.job].push_back(&event);
    std::set<std::string> gaps;
    for (auto& [job, events] : by_job) {
      std::ranges::sort(events, [](const Event* a, const Event* b) { return job::before(*a, *b); });
      std::string digest;
      for (const Event* each : events) digest = chained(digest, digests_.at(each->id));
      const auto kept = jobs_.find(job);
      const bool without_digests = !jobs_.empty() && kept != jobs_.end() && kept->second.empty();  // an older version
      if (with_gaps_.contains(job) || (!without_digests && (kept == jobs_.end() || kept->second != digest)))
        gaps.insert(job);
    }
    return gaps;
  }

  void report(Salvaged& salvaged) const {
    for (const auto& [id, each] : doubtful_)
      if (!sound_.contains(id)) salvaged.doubtful.push_back(each);
    std::set<std::string> missing;
    for (const auto& [id, event] : sound_)
      if (event.seen)
        for (const std::string& before : event.seen->after)
          if (!sound_.contains(before) && !doubtful_.contains(before) && missing.insert(before).second)
            salvaged.lost.push_back(fmt::format("job {}: its entry {}, before entry {}, can't be read",
                                                event.job.substr(0, 8), before, event.id));
  }

 private:
  /// What a column holds; one that is no JSON stays a text, which from_line() refuses.
  static nlohmann::json json_in(const std::string& column) {
    nlohmann::json value = nlohmann::json::parse(column, nullptr, false);
    return value.is_discarded() ? nlohmann::json(column) : value;
  }

  /// By way of its line, which says all that is wrong with it.
  static Event event_of(const std::vector<std::string>& columns) {
    if (!std::ranges::all_of(columns, input::is_utf8)) throw input::InputError("is not UTF-8");
    nlohmann::json line{{"job", columns[0]},          {"number", json_in(columns[1])}, {"id", columns[2]},
                        {"at", columns[3]},           {"bench", columns[4]},           {"kind", columns[5]},
                        {"body", json_in(columns[6])}};
    if (columns[7] == "1") line["scrubbed"] = true;
    if (!columns[8].empty()) line["seen"] = json_in(columns[8]);
    return job::from_line(line.dump());
  }

  std::map<std::string, Event> sound_;
  std::map<std::string, std::string> digests_;  // of the sound ones
  std::map<std::string, std::string> jobs_;
  std::set<std::string> with_gaps_;
  std::map<std::string, SetAside> doubtful_;
  std::vector<Event> forms_;
};

std::vector<std::string> row_of(SQLite::Statement& row) {
  std::vector<std::string> columns;
  for (int c = 0; c < row.getColumnCount(); ++c)
    columns.push_back(row.isColumnNull(c) ? std::string() : row.getColumn(c).getString());
  return columns;
}

/// All rows that a statement still hands out; what stops it is what is damaged.
template <typename Use>
void rows_of(SQLite::Database& database, const std::string& sql, Use&& use) {
  try {
    SQLite::Statement row(database, sql);
    while (row.executeStep()) use(row);
  } catch (const SQLite::Exception&) {
  }
}

/// As SQLite finds them: forwards, backwards, and job by job.
void read_rows(SQLite::Database& database, Finds& finds) {
  std::set<std::string> there;
  rows_of(database, "SELECT name FROM pragma_table_info('event')",
          [&](SQLite::Statement& row) { there.insert(row.getColumn(0).getString()); });
  std::string columns = "job, number, id, at, bench, kind, body, scrubbed";
  columns += there.contains("seen") ? ", seen" : ", ''";
  const bool digested = there.contains("digest");
  if (digested) columns += ", digest";
  const std::string all = fmt::format("SELECT {} FROM event ", columns);
  const auto take = [&](SQLite::Statement& row) { finds.take(row_of(row)); };
  rows_of(database, all + "ORDER BY job, number, id", take);
  rows_of(database, all + "ORDER BY job DESC, number DESC, id DESC", take);
  std::vector<std::string> jobs;
  rows_of(database, "SELECT id FROM job",
          [&](SQLite::Statement& row) { jobs.push_back(row.getColumn(0).getString()); });
  rows_of(database, digested ? "SELECT id, digest FROM job" : "SELECT id, '' FROM job",
          [&](SQLite::Statement& row) { finds.take_job(row.getColumn(0).getString(), row.getColumn(1).getString()); });
  for (const std::string& job : jobs)
    if (job::is_uuid(job)) rows_of(database, all + fmt::format("WHERE job = '{}' ORDER BY number, id", job), take);
  rows_of(database, digested ? "SELECT line, digest FROM conflict" : "SELECT line FROM conflict",
          [&](SQLite::Statement& row) {
            const auto columns_here = row_of(row);
            finds.take_form(columns_here[0], digested ? &columns_here[1] : nullptr);
          });
}

void read_file(const std::string& path, Finds& finds) {
  try {
    SQLite::Database database(path, SQLite::OPEN_READONLY);
    if (database.execAndGet("PRAGMA user_version").getInt() > kVersion)
      throw LogError(fmt::format("{}: a newer Wheeltapper wrote this log; use that one", path));
    read_rows(database, finds);
  } catch (const SQLite::Exception&) {  // its head is damaged: the bytes are left
  }
  const std::string file = bytes_of(path);
  const std::string wal = bytes_of(path + "-wal");
  for_each_record(file, wal, [&](const std::vector<std::string>& columns) { finds.take(columns); });
}

}  // namespace

Salvaged salvage(const std::string& damaged, const std::string& to, const Settings& settings, Summarise summarise,
                 const std::function<Event(const std::string& job)>& stamp, const nlohmann::json& head) {
  std::error_code wrong;
  if (!std::filesystem::is_regular_file(damaged, wrong)) throw LogError(fmt::format("{}: there is no log", damaged));
  if (std::filesystem::exists(to, wrong)) throw LogError(fmt::format("{}: is there already; name a new file", to));
  Finds finds;
  read_file(damaged, finds);
  Salvaged salvaged;
  finds.report(salvaged);
  auto events = finds.all();
  Settings create = settings;
  create.open = Settings::Open::create;
  Log log(to, create, std::move(summarise));
  AbsorbSettings all;
  all.redactions = true;
  all.unfit = [](const std::vector<Event>& job) -> std::optional<std::string> {
    try {
      job::fold(job);
      return std::nullopt;
    } catch (const input::BadInput& unfit) {
      return unfit.problems().front().wrong;
    }
  };
  std::size_t at = 0;
  const MergeResult absorbed =
      log.absorb([&]() { return at < events.size() ? std::optional(events[at++]) : std::nullopt; }, all);
  salvaged.entries = absorbed.added;
  for (const SetAside& each : absorbed.set_aside) salvaged.doubtful.push_back(each);
  std::set<std::string> gaps = finds.with_gaps();
  gaps.erase(std::string(kOwnJob));
  for (const std::string& job : gaps) {
    const auto here = log.events(job);
    if (here.empty()) continue;
    std::vector<Event> more;
    const auto add = [&](job::EventKind kind, const nlohmann::json& body) {
      more.push_back(stamp(job));
      more.back().kind = kind;
      more.back().body = body;
    };
    if (here.front().kind != job::EventKind::opened) add(job::EventKind::told, head);
    add(job::EventKind::marked,
        {{"key", job::text_of(job::Topic::Kind::salvaged)}, {"word", "some of its entries could not be read"}});
    for (Event& each : log.append(std::move(more))) salvaged.added.push_back(std::move(each));
  }
  return salvaged;
}

}  // namespace wheeltapper::log
