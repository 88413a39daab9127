#pragma once
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "engine/job/job.hpp"
#include "engine/job/person.hpp"
#include "engine/job/store.hpp"
#include "engine/job/summary.hpp"

namespace SQLite {
class Database;
}

namespace wheeltapper::log {

/// The log can't be used as it was meant to. what() is one sentence: the file, what is wrong, the mend.
class LogError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// A log of an older version was to be opened for reading only.
class OlderVersion : public LogError {
 public:
  using LogError::LogError;
};

struct Settings {
  enum class Open { create, existing, read_only } open = Open::create;
  /// True: a power cut loses nothing that was acknowledged (SQLite's synchronous FULL). False: a power cut may lose the
  /// last events, a crash of the program still none (NORMAL); for bulk work and slow cards.
  bool full_sync = true;
  int wait_ms = 10000;  ///< how long to wait for another bench that is writing
};

/// Makes the rows of a closed job from its events; nothing for one that is open or can't be read any more.
using Summarise = std::function<std::optional<job::Summary>(const job::Job&)>;

/// An event from elsewhere that was not taken in, and why.
struct SetAside {
  std::string line;
  std::string why;
};

/// How events from elsewhere are taken in.
struct AbsorbSettings {
  /// Whether persons that were taken out elsewhere are taken out of what is here. False: where that would change an
  /// entry here, nothing is taken in (RedactionsWanted).
  bool redactions = false;
  /// UTC; a redaction that says it is from more than a day later is set aside. Empty: whatever time it says.
  std::string now = {};
  /// What is wrong with a job as its events would then be, in words; nothing if it can be used. A job that can't be
  /// used gets those of the new events with which it can, one after the other. Empty: all are taken.
  std::function<std::optional<std::string>(const std::vector<job::Event>&)> unfit = {};
};

/// Taking events in would take words out of entries that are here, and nobody said that it may.
class RedactionsWanted : public LogError {
 public:
  RedactionsWanted(const std::string& what, std::vector<std::string> touched)
      : LogError(what), touched_(std::move(touched)) {}
  /// The entries in short: what they hold now.
  const std::vector<std::string>& touched() const noexcept { return touched_; }

 private:
  std::vector<std::string> touched_;
};

/// The job of the log itself: it holds who was taken out and nothing else, and is in no list.
inline constexpr std::string_view kOwnJob = "00000000-0000-0000-0000-000000000000";

/// What absorbing events from elsewhere did.
struct MergeResult {
  std::size_t added = 0;      ///< new here
  std::size_t known = 0;      ///< were here already, alike
  std::size_t scrubbed = 0;   ///< forms of which a person was taken out
  std::size_t conflicts = 0;  ///< new second forms of one event; both are kept
  bool rewritten = true;      ///< as Log::Redacted
  std::vector<SetAside> set_aside = {};
};

/// All jobs of a shop in one SQLite file: append-only events, and tables of the closed jobs that follow from them. An
/// event is acknowledged (a function returns) after the transaction that holds it was committed. Several processes may
/// have the file open and write; each waits its turn. Not for several threads at once.
class Log final : public job::Store {
 public:
  /// Opens, and where allowed creates and migrates. \throws LogError  for a file that is no log, is damaged, of a newer
  /// version, read-only or locked for longer than Settings::wait_ms
  Log(const std::string& path, const Settings& settings, Summarise summarise);
  ~Log() override;

  const std::string& path() const noexcept { return path_; }

  /// Drafts without `seen` count as written by somebody who had all before them. \throws LogError  also for a job whose
  /// entries are damaged, or a draft that could not be read back
  std::vector<job::Event> append(std::vector<job::Event> drafts) override;
  std::vector<job::Event> events(const std::string& job) override;
  std::vector<job::JobLine> jobs() override;
  /// The jobs whose id starts so.
  std::vector<std::string> jobs_like(const std::string& start);
  /// Calls `use` for every event, in the order of job, number and id.
  void for_each_event(const std::function<void(const job::Event&)>& use);
  /// Second forms of events that are here already in another form, as lines (event.hpp), sorted.
  std::vector<std::string> conflicts();

  /// Takes events from elsewhere, all or none: one that is not here is added; one that is here alike changes nothing;
  /// of two forms of one event the one whose line comes first counts, the other is kept as a conflict. Persons that
  /// were taken out here or there are taken out of every form that was not written in knowledge of that. The result is
  /// the same in whatever order and however often events come. `next` hands out the events one after the other and
  /// nothing at their end.
  MergeResult absorb(const std::function<std::optional<job::Event>()>& next, const AbsorbSettings& settings = {});

  /// Takes a person out wherever the name stands (person.hpp) in any event, and out of whatever is merged later that
  /// was written without knowing of it, whatever its clock said. Notes it by a `redacted` event in the log's own job,
  /// made from `stamp(job)`, whose body it sets, also where the name stands nowhere yet. Rewrites the file so that no
  /// free page holds the name; where that is cut short, the next opening goes on with it.
  struct Redacted {
    std::size_t events = 0;
    bool rewritten = true;  ///< false: another program holds the file, and its free pages may still hold the name
  };
  Redacted redact(const job::Person& person, const std::function<job::Event(const std::string& job)>& stamp);

  /// Copies the log while others may go on writing (SQLite's online backup). \throws LogError  if `to` exists, or the
  /// log is damaged
  void backup(const std::string& to);
  /// Everything that is wrong: SQLite's integrity and foreign keys, tables that are not ours, entries that are not as
  /// they were written or are missing (chain.hpp), jobs that don't fold, rows of closed jobs that do not follow from
  /// their events. Empty: sound.
  std::vector<std::string> problems();
  /// The first thing that is wrong with the entries themselves, or with the file below them; quicker than problems().
  std::optional<std::string> damage();
  /// Makes the rows of all closed jobs anew.
  void rebuild();
  /// A fingerprint of all events and conflicts: equal logs, equal text. RFC 9562 version 5, one over the other.
  std::string fingerprint();

  /// For the queries of this folder.
  SQLite::Database& database() noexcept { return *database_; }

 private:
  struct Statements;
  void open(const Settings& settings);
  void write_summary(const std::string& job);
  void insert(const job::Event& event);
  std::vector<job::Person> redactions();
  bool take_in(const job::Event& event, MergeResult& absorbed);
  void take_job(std::vector<job::Event> incoming, const AbsorbSettings& settings, MergeResult& absorbed);
  std::int64_t next_number(const std::string& job);
  std::optional<std::string> unfit_alone(const job::Event& event, const AbsorbSettings& settings);
  std::set<std::string> holding(const std::vector<job::Person>& redactions, std::size_t& forms);
  std::set<std::string> take_out_fresh(const std::vector<job::Person>& known, const AbsorbSettings& settings,
                                       MergeResult& absorbed);
  std::set<std::string> keep_out(const std::vector<job::Person>& redactions, MergeResult& absorbed);
  void settle(const std::string& event, std::vector<job::Event> forms);
  bool rewrite();
  void finish_redaction();
  void mark_known(job::Event& draft, const std::vector<job::Person>& known);
  void chain_on(const job::Event& event);
  void demand_sound_job(const std::string& job);
  void demand_sound_file();
  void check_entries(std::vector<std::string>& found);
  void check_rows(std::vector<std::string>& found);

  std::string path_;
  Summarise summarise_;
  std::unique_ptr<SQLite::Database> database_;
  std::unique_ptr<Statements> statements_;
  bool read_only_ = false;
  std::set<std::string> sound_;  // jobs whose entries were looked at since the log was opened
};

}  // namespace wheeltapper::log
