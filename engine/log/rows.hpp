#pragma once
#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <stdexcept>
#include <string>

#include "engine/log/chain.hpp"
#include "engine/log/log.hpp"
#include "engine/log/trouble.hpp"

// Private to the implementation: rows, and the statements that are used again and again.

namespace wheeltapper::log {

/// The event in a row that begins with kEventColumns (chain.hpp). \throws LogError  if it holds none
job::Event event_at(SQLite::Statement& row);

/// The event of a second form as the log keeps it. \throws LogError  if the line holds none
job::Event event_of_line(const std::string& line);

/// A row of a closed job that can't be read: it has a word that is none of its own, or is of a job that is not there.
class UnreadableRow : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Runs `use`, and turns what SQLite throws, and rows that can't be read, into a LogError.
template <typename Use>
auto guarded(const std::string& path, Use&& use) {
  try {
    return use();
  } catch (const SQLite::Exception& wrong) {
    throw trouble(path, wrong);
  } catch (const UnreadableRow& wrong) {
    throw damaged(path, fmt::format("a row of a closed job {}; `log rebuild` mends it", wrong.what()),
                  "nothing was used");
  }
}

/// The place of a row's job among those that were read. \throws UnreadableRow  if it is not there
template <typename Index>
std::size_t place_of(const Index& index, const std::string& job) {
  const auto found = index.find(job);
  if (found == index.end()) throw UnreadableRow("is of a job that is not there");
  return found->second;
}

inline SQLite::Transaction writing(SQLite::Database& database) {
  return SQLite::Transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
}

/// Runs one statement with its values; an empty optional is NULL.
template <typename... Values>
void put(SQLite::Database& database, const char* sql, const Values&... values) {
  SQLite::Statement statement(database, sql);
  int at = 0;
  const auto bind = [&](const auto& value) {
    ++at;
    if constexpr (requires { value.has_value(); }) {
      if (value)
        statement.bind(at, *value);
      else
        statement.bind(at);
    } else {
      statement.bind(at, value);
    }
  };
  (bind(values), ...);
  statement.exec();
}

/// What the words in a closed job's rows stand for. \throws UnreadableRow  for another word
job::Retest retest_of_text(const std::string& text);
job::Summary::Seen::By by_of_text(const std::string& text);
job::Outcome outcome_of_text(const std::string& text);

/// The rows of a closed job.
void put_summary(SQLite::Database& db, const job::Summary& s);

struct Log::Statements {
  explicit Statements(SQLite::Database& db)
      : job(db, "INSERT OR IGNORE INTO job (id) VALUES (?)"),
        last_number(db, "SELECT coalesce(max(number), 0) FROM event WHERE job = ?"),
        event(db,
              "INSERT INTO event (job, number, id, at, bench, kind, body, scrubbed, seen, digest) "
              "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"),
        of_job(db,
               "SELECT job, number, id, at, bench, kind, body, scrubbed, seen FROM event WHERE job = ? "
               "ORDER BY number, id"),
        by_id(db, "SELECT job, number, id, at, bench, kind, body, scrubbed, seen FROM event WHERE id = ?"),
        closed(db, "SELECT 1 FROM closed_job WHERE job = ?"),
        forms(db,
              "SELECT conflict.line FROM conflict CROSS JOIN event ON event.id = conflict.event WHERE event.job = ? "
              "ORDER BY line"),
        digest(db, "SELECT digest FROM job WHERE id = ?"),
        set_digest(db, "UPDATE job SET digest = ? WHERE id = ?"),
        whole(db, "SELECT digest FROM state"),
        set_whole(db, "UPDATE state SET digest = ?") {}
  SQLite::Statement job, last_number, event, of_job, by_id, closed, forms, digest, set_digest, whole, set_whole;
};

}  // namespace wheeltapper::log
