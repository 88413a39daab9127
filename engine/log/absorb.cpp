#include <SQLiteCpp/SQLiteCpp.h>

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
  SQLite::Statement statement(
      *database_, "SELECT job, number, id, at, bench, kind, body, scrubbed FROM event WHERE kind = 'redacted'");
  while (statement.executeStep()) {
    const Event event = event_at(statement);
    if (auto person = job::Person::of(event)) {
      Redaction redaction{std::move(*person), event.at};
      if (std::ranges::find(all, redaction) == all.end()) all.push_back(std::move(redaction));
    }
  }
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
  const auto lines = lines_of(*database_, event.id);
  if (here == event || std::ranges::find(lines, job::to_line(event)) != lines.end()) {
    ++absorbed.known;
    return false;
  }
  std::vector<Event> forms{here, event};
  for (const std::string& each : lines) forms.push_back(job::from_line(each));
  settle(event.id, std::move(forms));
  ++absorbed.conflicts;
  return true;
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

void Log::rewrite() { database_->exec("PRAGMA wal_checkpoint(TRUNCATE); VACUUM; PRAGMA wal_checkpoint(TRUNCATE)"); }

Absorbed Log::absorb(const std::function<std::optional<Event>()>& next) {
  return guarded(path_, [&] {
    Absorbed absorbed;
    SQLite::Transaction transaction = writing(*database_);
    const auto known = redactions();
    std::set<std::string> touched;
    while (const auto event = next()) {
      const Event clean = cleaned(*event, known);
      if (!(clean == *event)) ++absorbed.scrubbed;
      if (take_in(clean, absorbed)) touched.insert(clean.job);
    }
    auto fresh = redactions();
    std::erase_if(fresh, [&](const Redaction& each) { return std::ranges::find(known, each) != known.end(); });
    const std::size_t before = absorbed.scrubbed;
    touched.merge(keep_out(fresh, absorbed));
    for (const std::string& each : touched) write_summary(each);
    transaction.commit();
    if (absorbed.scrubbed > before) rewrite();
    return absorbed;
  });
}

std::size_t Log::redact(const job::Person& person, const std::function<Event(const std::string& job)>& stamp) {
  return guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    Absorbed absorbed;
    const std::string until = stamp({}).at;
    std::set<std::string> touched = keep_out({{person, until}}, absorbed);
    for (const std::string& each : touched) {
      Event note = stamp(each);
      note.kind = EventKind::redacted;
      note.body = person.body();
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
    rewrite();
    return absorbed.scrubbed;
  });
}

}  // namespace wheeltapper::log
