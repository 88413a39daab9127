#include "engine/log/rows.hpp"

#include <fmt/format.h>

#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::log {

namespace {

[[noreturn]] void refuse(const std::string& id, const std::string& wrong) {
  throw LogError(
      fmt::format("the log is damaged: its entry {} {}. `wheeltapper log check` says where, `log salvage NEW` "
                  "takes what can be read into a new one",
                  id, wrong));
}

}  // namespace

job::Event event_at(SQLite::Statement& row) {
  const auto text = [&](int column) { return row.getColumn(column).getString(); };
  job::Event event;
  event.job = text(0);
  event.number = row.getColumn(1).getInt64();
  event.id = text(2);
  event.at = text(3);
  event.writer = text(4);
  if (!job::is_uuid(event.id) || !job::is_uuid(event.job)) refuse(event.id, "has an id or job that is no UUID");
  if (!job::is_time(event.at)) refuse(event.id, "has a time that is none");
  if (!input::is_utf8(event.writer)) refuse(event.id, "has a bench that is no readable text (UTF-8)");
  const auto kind = job::event_kind(text(5));
  if (!kind) refuse(event.id, "is of an unknown kind");
  event.kind = *kind;
  event.body = nlohmann::json::parse(text(6), nullptr, false);
  if (!event.body.is_object()) refuse(event.id, "has a body that is no object");
  event.scrubbed = row.getColumn(7).getInt() != 0;
  if (row.isColumnNull(8)) return event;
  try {
    event.seen = job::seen_from(nlohmann::json::parse(text(8), nullptr, false));
  } catch (const input::InputError& wrong) {
    refuse(event.id, wrong.what());
  }
  return event;
}

job::Event event_of_line(const std::string& line) {
  try {
    return job::from_line(line);
  } catch (const input::InputError& wrong) {
    refuse("in a second form", wrong.what());
  }
}

namespace {

std::string_view by_text(job::Summary::Seen::By by) {
  using By = job::Summary::Seen::By;
  return by == By::answer ? "answer" : by == By::reading ? "reading" : "check";
}

std::string_view retest_text(job::Retest retest) {
  return retest == job::Retest::passed ? "passed" : retest == job::Retest::failed ? "failed" : "open";
}

}  // namespace

job::Retest retest_of_text(const std::string& text) {
  for (const auto retest : {job::Retest::open, job::Retest::passed, job::Retest::failed})
    if (text == retest_text(retest)) return retest;
  throw UnreadableRow("has a retest that is none");
}

job::Summary::Seen::By by_of_text(const std::string& text) {
  using By = job::Summary::Seen::By;
  for (const auto by : {By::answer, By::reading, By::check})
    if (text == by_text(by)) return by;
  throw UnreadableRow("says by whom it was seen in a word that is none");
}

job::Outcome outcome_of_text(const std::string& text) {
  if (const auto outcome = job::outcome(text)) return *outcome;
  throw UnreadableRow("has an outcome that is none");
}

void put_summary(SQLite::Database& db, const job::Summary& s) {
  put(db, "INSERT INTO closed_job VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", s.job, s.locomotive, s.family, s.opened,
      s.closed, std::string(job::name(s.outcome)), int{s.proven}, int{s.unlisted}, int{s.technician}, s.minutes);
  for (const auto& each : s.findings) {
    std::optional<std::int64_t> level;
    if (each.level) level = static_cast<std::int64_t>(*each.level);
    put(db, "INSERT OR IGNORE INTO closed_finding VALUES (?, ?, ?, ?)", s.job, each.finding, level,
        std::string(by_text(each.by)));
  }
  for (const auto& each : s.results)
    put(db, "INSERT OR REPLACE INTO closed_result VALUES (?, ?, ?, ?)", s.job, each.check, each.result, int{each.seen});
  int place = 0;
  for (const auto& each : s.fixes)
    put(db, "INSERT INTO closed_fix VALUES (?, ?, ?, ?, ?)", s.job, ++place, each.repair, each.minutes,
        std::string(retest_text(each.retest)));
  for (const auto& cause : s.causes) put(db, "INSERT OR IGNORE INTO closed_cause VALUES (?, ?)", s.job, cause);
  for (const auto& context : s.contexts)
    put(db, "INSERT OR IGNORE INTO closed_context VALUES (?, ?, 1)", s.job, context);
  for (const auto& context : s.contexts_not)
    put(db, "INSERT OR IGNORE INTO closed_context VALUES (?, ?, 0)", s.job, context);
}

}  // namespace wheeltapper::log
