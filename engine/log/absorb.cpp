#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include <algorithm>
#include <set>

#include "engine/log/log.hpp"
#include "engine/log/rows.hpp"

namespace wheeltapper::log {

using job::Event;
using job::EventKind;

/// A person, and until when they were taken out: who comes back later comes of their own will.
struct Log::Redaction {
  job::Person person;
  std::string until;
  friend bool operator==(const Redaction&, const Redaction&) = default;
};

namespace {

std::vector<std::string> lines_of(SQLite::Database& database, const std::string& event) {
  std::vector<std::string> lines;
  SQLite::Statement statement(database, "SELECT line FROM conflict WHERE event = ? ORDER BY line");
  statement.bind(1, event);
  while (statement.executeStep()) lines.push_back(statement.getColumn(0).getString());
  return lines;
}

template <typename Redactions>
Event cleaned(Event event, const Redactions& redactions) {
  for (const auto& redaction : redactions)
    if (event.at <= redaction.until) event = job::without(event, redaction.person);
  return event;
}

}  // namespace

std::vector<Log::Redaction> Log::redactions() {
  std::vector<Redaction> all;
  const auto take = [&](const Event& event) {
    auto person = job::Person::of(event);
    if (!person) return;
    Redaction redaction{std::move(*person), event.at};
    if (std::ranges::find(all, redaction) == all.end()) all.push_back(std::move(redaction));
  };
  SQLite::Statement statement(
      *database_, "SELECT job, number, id, at, bench, kind, body, scrubbed FROM event WHERE kind = 'redacted'");
  while (statement.executeStep()) take(event_at(statement));
  for (const std::string& line : conflicts()) take(job::from_line(line));  // any form of one counts
  return all;
}

/// Writes the forms of one event: the one whose line comes first counts, the others are its conflicts.
void Log::settle(const std::string& event, std::vector<Event> forms) {
  std::ranges::sort(forms, {}, job::to_line);
  forms.erase(std::unique(forms.begin(), forms.end()), forms.end());
  put(*database_, "DELETE FROM conflict WHERE event = ?", event);
  put(*database_, "DELETE FROM event WHERE id = ?", event);
  insert(forms.front());
  for (std::size_t i = 1; i < forms.size(); ++i)
    put(*database_, "INSERT INTO conflict VALUES (?, ?)", event, job::to_line(forms[i]));
}

/// Returns the jobs that it changed: two where the forms of one event name different ones.
std::set<std::string> Log::take_in(const Event& event, Absorbed& absorbed) {
  auto& by_id = statements_->by_id;
  by_id.tryReset();
  by_id.bind(1, event.id);
  if (!by_id.executeStep()) {
    by_id.tryReset();
    insert(event);
    ++absorbed.added;
    return {event.job};
  }
  const Event here = event_at(by_id);
  by_id.tryReset();
  const auto lines = lines_of(*database_, event.id);
  if (here == event || std::ranges::find(lines, job::to_line(event)) != lines.end()) {
    ++absorbed.known;
    return {};
  }
  std::vector<Event> forms{here, event};
  for (const std::string& each : lines) forms.push_back(job::from_line(each));
  settle(event.id, std::move(forms));
  ++absorbed.conflicts;
  return {here.job, event.job};
}

/// Takes persons out of all that is here already. Returns the jobs that changed.
std::set<std::string> Log::keep_out(const std::vector<Redaction>& redactions, Absorbed& absorbed) {
  std::set<std::string> touched;
  if (redactions.empty()) return touched;
  std::set<std::string> events;
  const auto look = [&](const Event& event) {
    if (cleaned(event, redactions) == event) return;
    events.insert(event.id);
    ++absorbed.scrubbed;
  };
  for_each_event(look);
  for (const std::string& line : conflicts()) look(job::from_line(line));
  for (const std::string& id : events) {
    std::vector<Event> forms;
    {
      SQLite::Statement row(*database_,
                            "SELECT job, number, id, at, bench, kind, body, scrubbed FROM event WHERE id = ?");
      row.bind(1, id);
      row.executeStep();
      forms.push_back(cleaned(event_at(row), redactions));
    }
    for (const std::string& line : lines_of(*database_, id)) forms.push_back(cleaned(job::from_line(line), redactions));
    for (const Event& form : forms) touched.insert(form.job);
    settle(id, std::move(forms));
  }
  return touched;
}

/// False if somebody else is in the way. Nothing is lost by that: what was written stands.
bool Log::rewrite() {
  const auto checkpoint = [&] {
    SQLite::Statement row(*database_, "PRAGMA wal_checkpoint(TRUNCATE)");
    return row.executeStep() && row.getColumn(0).getInt() == 0;
  };
  try {
    if (!checkpoint()) return false;
    database_->exec("VACUUM");
    return checkpoint();
  } catch (const SQLite::Exception& wrong) {
    if (wrong.getErrorCode() == SQLITE_BUSY || wrong.getErrorCode() == SQLITE_LOCKED) return false;
    throw;
  }
}

Absorbed Log::absorb(const std::function<std::optional<Event>()>& next) {
  return guarded(path_, [&] {
    Absorbed absorbed;
    SQLite::Transaction transaction = writing(*database_);
    const auto known = redactions();
    std::set<std::string> touched;
    while (const auto event = next()) {
      const Event clean = cleaned(*event, known);
      if (!(clean == *event)) ++absorbed.scrubbed;
      for (const std::string& job : take_in(clean, absorbed)) touched.insert(job);
    }
    auto fresh = redactions();
    std::erase_if(fresh, [&](const Redaction& each) { return std::ranges::find(known, each) != known.end(); });
    const std::size_t before = absorbed.scrubbed;
    touched.merge(keep_out(fresh, absorbed));
    for (const std::string& each : touched) write_summary(each);
    transaction.commit();
    if (absorbed.scrubbed > before) absorbed.rewritten = rewrite();
    return absorbed;
  });
}

Log::Redacted Log::redact(const job::Person& person, const std::function<Event(const std::string& job)>& stamp) {
  return guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    std::string until = stamp({}).at;  // or later, where another bench's clock was ahead
    const auto look = [&](const Event& event) {
      if (!(job::without(event, person) == event)) until = std::max(until, event.at);
    };
    for_each_event(look);
    for (const std::string& line : conflicts()) look(job::from_line(line));
    Absorbed absorbed;
    const std::set<std::string> touched = keep_out({{person, until}}, absorbed);
    for (const std::string& each : touched) {
      Event note = stamp(each);
      note.kind = EventKind::redacted;
      note.at = until;
      note.body = person.body();
      note.number = next_number(each);
      insert(note);
      write_summary(each);
    }
    transaction.commit();
    return Redacted{absorbed.scrubbed, rewrite()};
  });
}

}  // namespace wheeltapper::log
