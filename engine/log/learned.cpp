#include "engine/log/learned.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <unordered_map>

#include "engine/log/rows.hpp"
#include "engine/log/trouble.hpp"

namespace wheeltapper::log {
namespace {

using job::Summary;

/// Calls `use(summary, row)` for each row of a table of closed jobs; its first column is the job.
template <typename Use>
void each_row(SQLite::Database& db, const char* sql, std::vector<Summary>& all,
              const std::unordered_map<std::string, std::size_t>& index, Use&& use) {
  SQLite::Statement row(db, sql);
  while (row.executeStep()) use(all[place_of(index, row.getColumn(0).getString())], row);
}

std::vector<Summary> read_jobs(SQLite::Database& db) {
  std::vector<Summary> all;
  SQLite::Statement row(
      db,
      "SELECT job, locomotive, family, opened, closed, outcome, proven, unlisted, technician, minutes "
      "FROM closed_job ORDER BY closed, job");
  while (row.executeStep()) {
    Summary summary;
    summary.job = row.getColumn(0).getString();
    summary.locomotive = row.getColumn(1).getString();
    summary.family = row.getColumn(2).getString();
    summary.opened = row.getColumn(3).getString();
    summary.closed = row.getColumn(4).getString();
    summary.outcome = outcome_of_text(row.getColumn(5).getString());
    summary.proven = row.getColumn(6).getInt() != 0;
    summary.unlisted = row.getColumn(7).getInt() != 0;
    summary.technician = row.getColumn(8).getInt() != 0;
    if (!row.isColumnNull(9)) summary.minutes = row.getColumn(9).getDouble();
    all.push_back(std::move(summary));
  }
  return all;
}

std::vector<Summary> read_all(SQLite::Database& db) {
  const SQLite::Transaction one_look(db);  // other benches may write meanwhile
  std::vector<Summary> all = read_jobs(db);
  std::unordered_map<std::string, std::size_t> index;
  for (std::size_t i = 0; i < all.size(); ++i) index.emplace(all[i].job, i);
  each_row(db, "SELECT job, finding, level, seen_by FROM closed_finding", all, index, [](Summary& s, auto& row) {
    std::optional<std::size_t> level;
    if (!row.isColumnNull(2)) level = static_cast<std::size_t>(row.getColumn(2).getInt64());
    s.findings.push_back({row.getColumn(1).getString(), level, by_of_text(row.getColumn(3).getString())});
  });
  each_row(db, "SELECT job, \"check\", result, seen FROM closed_result", all, index, [](Summary& s, auto& row) {
    s.results.push_back({row.getColumn(1).getString(), row.getColumn(2).getString(), row.getColumn(3).getInt() != 0});
  });
  each_row(db, "SELECT job, repair, minutes, retest FROM closed_fix ORDER BY job, place", all, index,
           [](Summary& s, auto& row) {
             std::optional<double> minutes;
             if (!row.isColumnNull(2)) minutes = row.getColumn(2).getDouble();
             s.fixes.push_back({row.getColumn(1).getString(), minutes, retest_of_text(row.getColumn(3).getString())});
           });
  each_row(db, "SELECT job, cause FROM closed_cause", all, index,
           [](Summary& s, auto& row) { s.causes.push_back(row.getColumn(1).getString()); });
  each_row(db, "SELECT job, context, told FROM closed_context", all, index, [](Summary& s, auto& row) {
    (row.getColumn(2).getInt() != 0 ? s.contexts : s.contexts_not).push_back(row.getColumn(1).getString());
  });
  return all;
}

}  // namespace

std::vector<Summary> summaries(Log& log) {
  return guarded(log.path(), [&] { return read_all(log.database()); });
}

namespace {

/// Of what was learned, and of what is said of it.
std::string learned_digest(SQLite::Database& db, const std::string& from) {
  SQLite::Statement row(db,
                        "SELECT kind, first, second, level, shipped, yes, no, trials FROM learned "
                        "ORDER BY kind, first, second, level");
  std::string digest = digest_of(from);
  while (row.executeStep()) {
    std::string text;
    for (int c = 0; c < row.getColumnCount(); ++c) text += row.getColumn(c).getString() + "|";
    digest = chained(digest, text);
  }
  return digest;
}

}  // namespace

void keep(Log& log, const learn::LearnedNumbers& numbers) {
  guarded(log.path(), [&] {
    SQLite::Database& db = log.database();
    SQLite::Transaction transaction(db, SQLite::TransactionBehavior::IMMEDIATE);
    db.exec("DELETE FROM learned; DELETE FROM learned_from");
    SQLite::Statement row(db, "INSERT INTO learned VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    for (const learn::Parameter& each : numbers.parameters) {
      row.reset();
      row.bind(1, std::string(learn::name(each.kind)));
      row.bind(2, each.first);
      row.bind(3, each.second);
      row.bind(4, static_cast<std::int64_t>(each.level));
      row.bind(5, each.shipped);
      row.bind(6, each.yes);
      row.bind(7, each.no);
      row.bind(8, each.trials);
      row.exec();
    }
    SQLite::Statement from(db, "INSERT INTO learned_from VALUES (1, ?, ?, ?, ?, ?)");
    from.bind(1, numbers.at);
    from.bind(2, numbers.knowledge);
    from.bind(3, static_cast<std::int64_t>(numbers.jobs));
    from.bind(4, numbers.report.dump());
    from.bind(5, learned_digest(db, fmt::format("{}|{}|{}|{}", numbers.at, numbers.knowledge, numbers.jobs,
                                                numbers.report.dump())));
    from.exec();
    transaction.commit();
  });
}

std::optional<learn::LearnedNumbers> learned_numbers(Log& log) {
  return guarded(log.path(), [&]() -> std::optional<learn::LearnedNumbers> {
    SQLite::Database& db = log.database();
    const SQLite::Transaction one_look(db);
    SQLite::Statement from(db, "SELECT at, knowledge, jobs, report FROM learned_from");
    if (!from.executeStep()) return std::nullopt;
    learn::LearnedNumbers numbers{{},
                                  from.getColumn(0).getString(),
                                  from.getColumn(1).getString(),
                                  static_cast<std::size_t>(from.getColumn(2).getInt64()),
                                  nlohmann::json::parse(from.getColumn(3).getString(), nullptr, false)};
    if (!numbers.report.is_object())
      throw damaged(log.path(), "its learned numbers can't be read; `learn` makes them anew", "they were not used");
    SQLite::Statement row(db, "SELECT kind, first, second, level, shipped, yes, no, trials FROM learned");
    while (row.executeStep())
      if (const auto kind = learn::kind(row.getColumn(0).getString()))
        numbers.parameters.push_back({*kind, row.getColumn(1).getString(), row.getColumn(2).getString(),
                                      static_cast<std::size_t>(row.getColumn(3).getInt64()),
                                      row.getColumn(4).getDouble(), row.getColumn(5).getDouble(),
                                      row.getColumn(6).getDouble(), row.getColumn(7).getDouble()});
    return numbers;
  });
}

bool forget(Log& log) {
  return guarded(log.path(), [&] {
    SQLite::Database& db = log.database();
    SQLite::Transaction transaction(db, SQLite::TransactionBehavior::IMMEDIATE);
    const bool there = db.exec("DELETE FROM learned_from") > 0;
    db.exec("DELETE FROM learned");
    transaction.commit();
    return there;
  });
}

bool learned_is_whole(Log& log) {
  return guarded(log.path(), [&] {
    SQLite::Statement from(log.database(),
                           "SELECT digest, at || '|' || knowledge || '|' || jobs || '|' || report FROM learned_from");
    if (!from.executeStep()) return true;
    const std::string kept = from.getColumn(0).getString();
    return kept.empty() ||
           kept == learned_digest(log.database(),
                                  from.getColumn(1).getString());  // empty: learned before there were digests
  });
}

std::size_t closed_since_learning(Log& log) {
  return guarded(log.path(), [&] {
    return static_cast<std::size_t>(
        log.database()
            .execAndGet("SELECT count(*) FROM closed_job WHERE closed > coalesce((SELECT at FROM learned_from), '')")
            .getInt64());
  });
}

}  // namespace wheeltapper::log
