#include "engine/log/rows.hpp"

#include "engine/catalogue/problem.hpp"

namespace wheeltapper::log {

job::Event event_at(SQLite::Statement& row) {
  job::Event event;
  event.job = row.getColumn(0).getString();
  event.number = row.getColumn(1).getInt64();
  event.id = row.getColumn(2).getString();
  event.at = row.getColumn(3).getString();
  event.bench = row.getColumn(4).getString();
  const auto kind = job::event_kind(row.getColumn(5).getString());
  if (!kind) throw catalogue::BadInput({{"event " + event.id, "", "is of an unknown kind", ""}});
  event.kind = *kind;
  event.body = nlohmann::json::parse(row.getColumn(6).getString(), nullptr, false);
  if (!event.body.is_object())
    throw catalogue::BadInput({{"event " + event.id, "", "has a body that is no object", ""}});
  event.scrubbed = row.getColumn(7).getInt() != 0;
  return event;
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
