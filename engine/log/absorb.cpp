#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <set>

#include "engine/log/log.hpp"
#include "engine/log/rows.hpp"

namespace wheeltapper::log {

using job::Event;
using job::EventKind;

namespace {

std::vector<std::string> forms_of(SQLite::Database& database, const std::string& event) {
  std::vector<std::string> lines;
  SQLite::Statement statement(database, "SELECT line FROM conflict WHERE event = ? ORDER BY line");
  statement.bind(1, event);
  while (statement.executeStep()) lines.push_back(statement.getColumn(0).getString());
  return lines;
}

/// Of all forms of one event: the one that counts. Where one is scrubbed only scrubbed ones count, joined.
Event settled(std::vector<Event> forms) {
  if (std::ranges::any_of(forms, &Event::scrubbed))
    std::erase_if(forms, [](const Event& form) { return !form.scrubbed; });
  std::ranges::sort(forms, {}, job::to_line);
  Event first = forms.front();
  if (first.scrubbed)
    for (const Event& other : forms) first.body = job::joined_scrub(first.body, other.body);
  return first;
}

}  // namespace

/// True if it changed the job.
bool Log::take_in(const Event& event, Absorbed& absorbed) {
  auto& by_id = statements_->by_id;
  by_id.reset();
  by_id.bind(1, event.id);
  if (!by_id.executeStep()) {
    by_id.reset();
    insert(event);
    ++absorbed.added;
    return true;
  }
  const Event here = event_at(by_id);
  by_id.reset();
  std::vector<Event> forms{here, event};
  const auto lines = forms_of(*database_, event.id);
  const std::string line = job::to_line(event);
  if (here == event || std::ranges::find(lines, line) != lines.end()) {
    ++absorbed.known;
    return false;
  }
  for (const std::string& each : lines) forms.push_back(job::from_line(each));
  const Event one = settled(forms);
  if (one.scrubbed)
    ++absorbed.scrubbed;  // no second form is kept: it may hold what was taken out
  else
    ++absorbed.conflicts;
  put(*database_, "DELETE FROM conflict WHERE event = ?", event.id);
  if (!one.scrubbed)
    for (const Event& form : forms)
      if (!(form == one)) put(*database_, "INSERT OR IGNORE INTO conflict VALUES (?, ?)", event.id, job::to_line(form));
  if (one == here) return false;
  put(*database_, "DELETE FROM event WHERE id = ?", event.id);
  insert(one);
  return true;
}

/// After a redaction came in: owners that an older copy still names stay out, and their name with them. What was
/// written after the redaction stays.
std::size_t Log::keep_out(const std::string& job) {
  const std::vector<Event> all = events(job);
  std::string redacted_at;
  for (const Event& event : all)
    if (event.kind == EventKind::redacted) redacted_at = std::max(redacted_at, event.at);
  if (redacted_at.empty()) return 0;
  std::vector<std::string> names;
  for (const Event& event : all)
    if (event.kind == EventKind::owner && !event.scrubbed && event.at <= redacted_at && event.body.contains("name") &&
        event.body["name"].is_string())
      names.push_back(event.body["name"].get<std::string>());
  std::size_t changed = 0;
  for (const Event& event : all) {
    if (event.at > redacted_at) continue;
    Event clean = event;
    for (const std::string& name : names) clean.body = job::scrub(clean.body, name, event.kind == EventKind::owner);
    if (clean.body == event.body) continue;
    put(*database_, "UPDATE event SET body = ?, scrubbed = 1 WHERE id = ?", clean.body.dump(), event.id);
    put(*database_, "DELETE FROM conflict WHERE event = ?", event.id);
    ++changed;
  }
  return changed;
}

Absorbed Log::absorb(const std::function<std::optional<Event>()>& next) {
  return guarded(path_, [&] {
    Absorbed absorbed;
    SQLite::Transaction transaction = writing(*database_);
    std::set<std::string> touched;
    while (const auto event = next())
      if (take_in(*event, absorbed)) touched.insert(event->job);
    for (const std::string& each : touched) {
      absorbed.scrubbed += keep_out(each);
      write_summary(each);
    }
    transaction.commit();
    if (absorbed.scrubbed > 0)
      database_->exec("PRAGMA wal_checkpoint(TRUNCATE); VACUUM; PRAGMA wal_checkpoint(TRUNCATE)");
    return absorbed;
  });
}

std::size_t Log::redact(const std::string& name, const std::function<Event(const std::string& job)>& stamp) {
  return guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    std::vector<Event> changed;
    for_each_event([&](const Event& event) {
      Event clean = event;
      const nlohmann::json named = job::scrub(event.body, name, false);
      if (named == event.body) return;
      clean.body = event.kind == EventKind::owner ? job::scrub(event.body, name, true) : named;
      clean.scrubbed = true;
      changed.push_back(std::move(clean));
    });
    std::set<std::string> touched;
    for (const Event& clean : changed) {
      put(*database_, "UPDATE event SET body = ?, scrubbed = 1 WHERE id = ?", clean.body.dump(), clean.id);
      put(*database_, "DELETE FROM conflict WHERE event = ?", clean.id);
      touched.insert(clean.job);
    }
    for (const std::string& line : conflicts())  // a second form that names the person though the first does not
      if (Event form = job::from_line(line); job::scrub(form.body, name, false) != form.body)
        put(*database_, "DELETE FROM conflict WHERE event = ?", form.id);
    for (const std::string& each : touched) {
      Event note = stamp(each);
      auto& last = statements_->last_number;
      last.reset();
      last.bind(1, each);
      last.executeStep();
      note.number = last.getColumn(0).getInt64() + 1;
      last.reset();
      insert(note);
      write_summary(each);
    }
    transaction.commit();
    database_->exec("PRAGMA wal_checkpoint(TRUNCATE); VACUUM; PRAGMA wal_checkpoint(TRUNCATE)");
    return changed.size();
  });
}

}  // namespace wheeltapper::log
