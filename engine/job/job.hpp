#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/cases/case.hpp"
#include "engine/job/event.hpp"
#include "engine/job/lineage.hpp"
#include "engine/job/topic.hpp"

namespace wheeltapper::job {

enum class Outcome { cured, not_cured, no_fault, referred, scrapped };
inline constexpr std::array kOutcomes{Outcome::cured, Outcome::not_cured, Outcome::no_fault, Outcome::referred,
                                      Outcome::scrapped};
/// "cured", "not-cured", ...
std::string_view name(Outcome outcome);
/// "cured", "no fault found", ...
std::string_view words(Outcome outcome);
std::optional<Outcome> outcome(std::string_view text);

/// How a stage's retest went (job_case.hpp).
enum class Retest { open, passed, failed };

/// A word and the stage of the job in which it fell.
struct Reported {
  std::string word;
  std::size_t stage = 0;
  std::size_t order = 0;  ///< index of its event among those that count
};

/// One locomotive's visit as its events tell it. A stage is what lies between two repairs: 0 as it came, 1 after the
/// first repair, and so on.
struct Job {
  struct StageRun {
    nlohmann::json run;  ///< as in a case file
    std::size_t stage;
    std::string at;
  };
  struct Checked {
    std::string check;
    std::map<std::string, bool> seen;  ///< by result; one that is missing was not looked for
    std::optional<double> minutes;
    std::size_t stage;
    std::string at;
    std::size_t order;  ///< place of its event among those that count
  };
  struct Repaired {
    std::string repair;
    std::optional<double> minutes;
    bool by_owner = false;
    std::string at;
    std::size_t order = 0;  ///< place of its event among those that count
  };
  struct Closing {
    Outcome outcome;
    std::vector<std::string> causes;
    bool unlisted = false;  ///< it was something that is not in the knowledge
    std::string at;
  };

  std::string id;
  std::vector<Event> events;                       ///< all that count, in their order
  std::vector<Event> undone;                       ///< those that were taken back
  nlohmann::json head = nlohmann::json::object();  ///< of the case file, as opened and told
  std::string owner;
  std::vector<StageRun> runs;
  std::map<std::string, std::vector<Reported>> answers;  ///< by finding: every word
  std::map<std::string, bool> known;                     ///< by context
  std::vector<Checked> checks;
  std::vector<Repaired> repairs;
  std::map<std::size_t, bool> retests;  ///< by stage: how it went by eye
  std::map<Topic, Reported> marks;      ///< what was asked or settled besides
  std::vector<std::string> notes;
  std::optional<Closing> closing;
  std::vector<std::string> apart;  ///< sentences: events that two benches wrote apart from each other
  std::map<std::string, std::vector<Event>> second_forms;  ///< by event: the forms beside the one that counts

  /// True if the writer of the event at `later` had the one at `earlier` before them; places in `events`.
  bool saw(std::size_t later, std::size_t earlier) const { return lineage.saw(places[later], places[earlier]); }
  Lineage lineage;
  std::vector<std::size_t> places;  ///< of `events` in the lineage, which has those taken back as well

  std::size_t stage() const noexcept { return repairs.size(); }
  bool has_runs(std::size_t stage) const;
  /// The word on a finding that held in a stage: its own, else that of the last stage before it; nothing if there is
  /// none.
  const Reported* answer(const std::string& finding, std::size_t in_stage) const;
  std::string opened_at() const { return events.empty() ? std::string() : events.front().at; }
  std::string locomotive() const;
  /// Findings answered yes before the last repair and not since: they say how it was, not how it is.
  std::vector<std::string> stale_answers() const;
};

/// Folds the events of one job, in the order of number and id; second forms are set aside. \throws input::BadInput
/// for an event whose body is not as its kind wants it (the message names the event)
Job fold(std::vector<Event> events);

/// Of events in their order: which count, being neither taken back nor a second form. Taking back can be taken back.
std::vector<bool> counting(const std::vector<Event>& events);

/// The events of the last answer, to be taken back: those written with it (Seen::with; in old logs those of the same
/// moment); empty where only the opening is left. Reads the events as they are, without folding them.
std::vector<std::string> last_answer(std::vector<Event> events);

/// The order of events in a job.
bool before(const Event& a, const Event& b);

}  // namespace wheeltapper::job
