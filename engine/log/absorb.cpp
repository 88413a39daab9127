#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <functional>
#include <map>
#include <set>
#include <span>

#include "engine/input/problem.hpp"
#include "engine/log/log.hpp"
#include "engine/log/rows.hpp"

namespace wheeltapper::log {

using job::Event;
using job::EventKind;

namespace {

constexpr std::int64_t kHighestNumber = 900'000;  // what comes from elsewhere leaves room for more

std::vector<std::string> lines_of(SQLite::Database& database, const std::string& event) {
  std::vector<std::string> lines;
  SQLite::Statement statement(database, "SELECT line FROM conflict WHERE event = ? ORDER BY line");
  statement.bind(1, event);
  while (statement.executeStep()) lines.push_back(statement.getColumn(0).getString());
  return lines;
}

/// Whoever wrote the event knew that the person was taken out, and wrote the name all the same.
bool knows(const Event& event, const job::Person& person) {
  return event.seen && std::ranges::find(event.seen->knows, person.salt()) != event.seen->knows.end();
}

Event cleaned(Event event, const std::vector<job::Person>& persons) {
  for (const job::Person& person : persons)
    if (!knows(event, person)) event = job::without(event, person);
  return event;
}

/// The line of an event as it would be if no locomotive had got another name: forms that differ in that alone are one.
std::string plain_line(const Event& event) {
  std::string line = job::to_line(event);
  const std::string mark = std::string(job::kTakenOut) + " ";
  constexpr std::size_t kDigits = 8;
  for (auto at = line.find(mark); at != std::string::npos; at = line.find(mark, at + 1))
    if (at + mark.size() + kDigits <= line.size()) line.replace(at + mark.size(), kDigits, kDigits, 'x');
  return line;
}

/// One time more than a day ahead of another, by their dates; an empty one is never passed.
bool far_beyond(const std::string& at, const std::string& now) {
  return !now.empty() && at > now && job::days_between(now, at) > 1;
}

std::string in_short(const Event& event) {
  constexpr std::size_t kShown = 100;
  std::string text = fmt::format("{} {} {}", event.at.substr(0, 10), job::name(event.kind), event.body.dump());
  if (text.size() > kShown) {
    text.resize(kShown);
    while (!input::is_utf8(text)) text.pop_back();
    text += " ...";
  }
  return text;
}

}  // namespace

/// A redaction whose fingerprint is that of a common word is none.
std::vector<job::Person> Log::redactions() {
  std::vector<job::Person> all;
  const auto take = [&](const Event& event) {
    auto person = job::Person::of(event);
    if (!person || person->is_common_word()) return;
    if (std::ranges::find(all, *person) == all.end()) all.push_back(std::move(*person));
  };
  SQLite::Statement statement(*database_, fmt::format("SELECT {} FROM event WHERE kind = 'redacted'", kEventColumns));
  while (statement.executeStep()) take(event_at(statement));
  for (const std::string& line : conflicts()) take(event_of_line(line));  // any form of one counts
  return all;
}

/// Whose name was taken out and is written again here is there by intent.
void Log::mark_known(Event& draft, const std::vector<job::Person>& known) {
  for (const job::Person& each : known) {
    if (knows(draft, each) || job::without(draft, each) == draft) continue;
    if (!draft.seen) draft.seen = job::seen_of(events(draft.job));
    draft.seen->knows.push_back(each.salt());
  }
}

/// Writes the forms of one event: the one whose line comes first counts, the others are its conflicts.
void Log::settle(const std::string& event, std::vector<Event> forms) {
  for (Event& each : forms) each.second = false;
  std::ranges::sort(forms, {}, job::to_line);
  std::map<std::string, Event> distinct;  // of forms alike but for a locomotive's new name, the first
  for (Event& each : forms) distinct.try_emplace(plain_line(each), each);
  forms.clear();
  for (auto& [plain, each] : distinct) forms.push_back(std::move(each));
  std::ranges::sort(forms, {}, job::to_line);
  for (const std::string& line : lines_of(*database_, event)) mix_form(*database_, line);
  put(*database_, "DELETE FROM conflict WHERE event = ?", event);
  put(*database_, "DELETE FROM event WHERE id = ?", event);
  insert(forms.front());
  for (std::size_t i = 1; i < forms.size(); ++i) {
    const std::string line = job::to_line(forms[i]);
    put(*database_, "INSERT INTO conflict VALUES (?, ?, ?)", event, line, digest_of(line));
    mix_form(*database_, line);
  }
}

/// True if it changed anything.
bool Log::take_in(const Event& event, MergeResult& absorbed) {
  auto& by_id = statements_->by_id;
  by_id.tryReset();
  by_id.bind(1, event.id);
  if (!by_id.executeStep()) {
    by_id.tryReset();
    insert(event);
    ++absorbed.added;
    return true;
  }
  const Event here = event_at(by_id);
  by_id.tryReset();
  const auto lines = lines_of(*database_, event.id);
  if (here == event || std::ranges::find(lines, job::to_line(event)) != lines.end()) {
    ++absorbed.known;
    return false;
  }
  std::vector<Event> forms{here, event};
  for (const std::string& each : lines) forms.push_back(event_of_line(each));
  settle(event.id, std::move(forms));
  if (lines_of(*database_, event.id).size() > lines.size())
    ++absorbed.conflicts;
  else
    ++absorbed.known;
  return true;
}

/// What is wrong with one event, whatever stands beside it; nothing if it may be tried.
std::optional<std::string> Log::unfit_alone(const Event& event, const AbsorbSettings& settings) {
  if (event.number > kHighestNumber)
    return fmt::format("has the number {}, which leaves no room for more", event.number);
  SQLite::Statement row(*database_, "SELECT job FROM event WHERE id = ?");
  row.bind(1, event.id);
  if (row.executeStep() && row.getColumn(0).getString() != event.job) return "has the id of an entry of another job";
  if (event.job == kOwnJob && event.kind != EventKind::redacted)
    return "is of the log's own job, which holds none such";
  if (event.kind != EventKind::redacted) return std::nullopt;
  if (far_beyond(event.at, settings.now))
    return fmt::format("takes a person out and is dated {}, which is to come", event.at);
  const auto person = job::Person::of(event);
  if (person && person->is_common_word()) return "takes out a common word, which is no person";
  return std::nullopt;
}

/// The new events of one job: all that the job can be used with.
void Log::take_job(std::vector<Event> incoming, const AbsorbSettings& settings, MergeResult& absorbed) {
  const std::string job = incoming.front().job;
  const auto set_aside = [&](const Event& event, std::string why) {
    absorbed.set_aside.push_back({job::to_line(event), std::move(why)});
  };
  std::erase_if(incoming, [&](const Event& event) {
    auto wrong = unfit_alone(event, settings);
    if (wrong) set_aside(event, std::move(*wrong));
    return wrong.has_value();
  });
  const auto wrong_with = [&](std::span<const Event> some) -> std::optional<std::string> {
    const MergeResult before = absorbed;
    database_->exec("SAVEPOINT take_job");
    bool changed = false;
    for (const Event& event : some) changed = take_in(event, absorbed) || changed;
    const auto wrong = changed && settings.unfit && job != kOwnJob ? settings.unfit(events(job)) : std::nullopt;
    if (wrong) {
      database_->exec("ROLLBACK TO take_job");
      absorbed = before;
    }
    database_->exec("RELEASE take_job");
    return wrong;
  };
  std::ranges::stable_sort(incoming, job::before);
  // Halves, so that one bad entry among many costs a few looks at the job and not one for each entry.
  const std::function<void(std::span<const Event>)> take = [&](std::span<const Event> some) {
    if (some.empty()) return;
    auto wrong = wrong_with(some);
    if (!wrong) return;
    if (some.size() == 1) {
      set_aside(some.front(), std::move(*wrong));
      return;
    }
    take(some.first(some.size() / 2));
    take(some.subspan(some.size() / 2));
  };
  take(incoming);
}

/// Takes persons out of all that is here already. Returns the jobs that changed.
std::set<std::string> Log::keep_out(const std::vector<job::Person>& redactions, MergeResult& absorbed) {
  std::set<std::string> touched;
  for (const std::string& id : holding(redactions, absorbed.scrubbed)) {
    std::vector<Event> forms;
    {
      SQLite::Statement row(*database_, fmt::format("SELECT {} FROM event WHERE id = ?", kEventColumns));
      row.bind(1, id);
      row.executeStep();
      forms.push_back(cleaned(event_at(row), redactions));
    }
    for (const std::string& line : lines_of(*database_, id)) forms.push_back(cleaned(event_of_line(line), redactions));
    for (const Event& form : forms) {
      if (!touched.contains(form.job)) demand_sound_job(form.job);  // a new digest must not hide old damage
      touched.insert(form.job);
    }
    settle(id, std::move(forms));
  }
  return touched;
}

/// The events of which a form holds one of the persons; counts the forms.
std::set<std::string> Log::holding(const std::vector<job::Person>& redactions, std::size_t& forms) {
  std::set<std::string> ids;
  if (redactions.empty()) return ids;
  const auto look = [&](const Event& event) {
    if (cleaned(event, redactions) == event) return;
    ids.insert(event.id);
    ++forms;
  };
  for_each_event(look);
  for (const std::string& line : conflicts()) look(event_of_line(line));
  return ids;
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
    if (!checkpoint()) return false;
    database_->exec("UPDATE state SET unwiped = 0");
    return true;
  } catch (const SQLite::Exception& wrong) {
    if (wrong.getErrorCode() == SQLITE_BUSY || wrong.getErrorCode() == SQLITE_LOCKED) return false;
    throw;
  }
}

/// A redaction that was cut short after it was written: the pages that it freed are still to be wiped.
void Log::finish_redaction() {
  if (database_->execAndGet("SELECT unwiped FROM state").getInt() != 0) rewrite();
}

MergeResult Log::absorb(const std::function<std::optional<Event>()>& next, const AbsorbSettings& settings) {
  return guarded(path_, [&] {
    MergeResult absorbed;
    SQLite::Transaction transaction = writing(*database_);
    const auto known = redactions();
    std::map<std::string, std::vector<Event>> incoming;
    while (const auto event = next()) {
      Event clean = cleaned(*event, known);
      if (!(clean == *event)) ++absorbed.scrubbed;
      incoming[clean.job].push_back(std::move(clean));
    }
    std::set<std::string> touched;
    for (auto& [job, events] : incoming) {
      demand_sound_job(job);
      touched.insert(job);
      take_job(std::move(events), settings, absorbed);
    }
    const std::size_t before = absorbed.scrubbed;
    touched.merge(take_out_fresh(known, settings, absorbed));
    for (const std::string& each : touched) {
      seal(*database_, each);
      write_summary(each);
    }
    const bool wipe = absorbed.scrubbed > before;
    if (wipe) database_->exec("UPDATE state SET unwiped = 1");
    transaction.commit();
    if (wipe) absorbed.rewritten = rewrite();
    return absorbed;
  });
}

/// Persons whose redaction came in now are taken out of all that is here.
std::set<std::string> Log::take_out_fresh(const std::vector<job::Person>& known, const AbsorbSettings& settings,
                                          MergeResult& absorbed) {
  auto fresh = redactions();
  std::erase_if(fresh, [&](const job::Person& each) { return std::ranges::find(known, each) != known.end(); });
  std::size_t forms = 0;
  const auto ids = holding(fresh, forms);
  if (!ids.empty() && !settings.redactions) {
    std::vector<std::string> touched;
    for_each_event([&](const Event& event) {
      if (ids.contains(event.id)) touched.push_back(in_short(event));
    });
    throw RedactionsWanted(fmt::format("{}: persons were taken out there, and taking that over takes words out of {} "
                                       "entr{} here; nothing was taken in. Where that is meant, say --redactions",
                                       path_, ids.size(), ids.size() == 1 ? "y" : "ies"),
                           std::move(touched));
  }
  return keep_out(fresh, absorbed);
}

Log::Redacted Log::redact(const job::Person& person, const std::function<Event(const std::string& job)>& stamp) {
  return guarded(path_, [&] {
    SQLite::Transaction transaction = writing(*database_);
    MergeResult absorbed;
    std::set<std::string> touched = keep_out({person}, absorbed);
    Event note = stamp(std::string(kOwnJob));
    note.kind = EventKind::redacted;
    note.body = person.body();
    note.number = next_number(note.job);
    note.seen = job::seen_of(events(note.job));
    insert(note);
    touched.insert(note.job);
    for (const std::string& each : touched) {
      seal(*database_, each);
      write_summary(each);
    }
    database_->exec("UPDATE state SET unwiped = 1");
    transaction.commit();
    return Redacted{absorbed.scrubbed, rewrite()};
  });
}

}  // namespace wheeltapper::log
