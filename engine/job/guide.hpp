#pragma once
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/job/compare.hpp"
#include "engine/job/diagnose.hpp"
#include "engine/job/job.hpp"
#include "engine/plan/question.hpp"

namespace wheeltapper::job {

using Draft = std::pair<EventKind, nlohmann::json>;

/// What is asked now. One question, which one line answers.
struct Prompt {
  enum class Ask {
    text,      ///< any words
    yes_no,    ///< yes, no, unsure
    level,     ///< one of the choices, or yes, no, unsure
    quantity,  ///< a number with its unit
    laps,      ///< "5 laps 35.3 s" or laps a minute
    count,     ///< a whole number
    some,      ///< numbers of the choices, or none
    check,     ///< numbers of what the check showed, or none
    repair,    ///< done, perhaps with its minutes
    outcome,   ///< number of one choice
  };
  std::string key;  ///< what it is about, the same whenever it is asked: "locomotive", "finding:squeal"
  Ask ask = Ask::text;
  std::string question;
  std::string hint;                  ///< how to see it, or how to answer
  std::vector<std::string> choices;  ///< shown with their numbers, from 1
  std::vector<std::string> ids;      ///< of the choices
  std::string unit;                  ///< that a bare number is in
  bool may_skip = true;
  bool caution = false;  ///< a retest: power comes on
};

/// A job with all that follows from its events.
struct Position {
  std::shared_ptr<const catalogue::Catalogue> catalogue;
  Job job;
  Case the_case;
  Diagnosis diagnosis;
  std::vector<plan::Question> questions;  ///< worth asking now
  std::vector<Compared> compared;         ///< the runs of this stage with those before the repair
  Retest retest = Retest::open;           ///< of this stage, when it is not the first
  /// Nothing when the job is closed.
  std::optional<Prompt> prompt;
};

/// Works out where a job stands and what to ask next. The order: intake, hazards, the bench run, what of the old signs
/// is still there after a repair, the questions that save most, then the step that the plan advises; after a repair
/// always the retest. \throws catalogue::BadInput, belief::ImpossibleEvidence  as fold(),
/// case_of() and diagnose()
Position position_of(std::shared_ptr<const catalogue::Catalogue> catalogue, std::vector<Event> events,
                     const DiagnoseSettings& settings = {});

/// The question how to close the job, whatever its stage.
Prompt closing_prompt(const Position& position);

/// The causes that may be said to have been it: what the repairs cure, the likeliest before the last of them first.
std::vector<std::string> suspects(const Position& position, std::size_t most = 6);

/// Hazards that the readings of this stage show and that do not stand yet, as an answer to be written with them: so
/// that they stand until somebody says no, whatever is read later. Empty if there is none.
std::vector<Draft> hazards_read(const Position& position);

/// Words that were written may mean a hazard: the mark that has it asked before anything else (Prompt key "heard").
/// kWholeList in place of words asks with the list of all hazards.
inline constexpr std::string_view kWholeList = "hazard";
std::vector<Draft> hear(const Position& position, std::string_view text);
/// Words that were heard and that nobody who had them before them has confirmed or denied.
std::vector<std::string> unsettled(const Job& job);
/// Key of the mark that settles such words.
std::string settling_key(const std::string& words);

/// What a line of answer comes to: events to append, or a plain sentence why it can't be taken. "skip" is an answer
/// too.
struct Reply {
  std::vector<Draft> drafts;
  std::string trouble;
};
Reply interpret(const Position& position, const Prompt& prompt, std::string_view line);

/// The quantities that the limits ask for in a loaded run and that this stage has not read: what a retest wants.
struct Missing {
  std::string quantity;
  bench::Direction direction;
};
std::vector<Missing> missing_readings(const Position& position);

/// The events of the last answer, to be taken back: those written with it (Seen::with; in old logs those of the same
/// moment); empty where only the opening is left. Reads the events as they are, without folding them.
std::vector<std::string> last_answer(std::vector<Event> events);

/// How far a reading, as reading_body() makes it, lies from its limit, where that is so far that a unit or a point may
/// have slipped (bench::far_from_limit()); such a reading has to be said twice.
std::optional<std::string> far_from_limit(const catalogue::Catalogue& catalogue, const Case& the_case,
                                          const nlohmann::json& body);

/// What a reading answers to, for `interpret` and for single commands: amps and the like, or laps.
/// \throws std::invalid_argument  with a plain sentence
nlohmann::json reading_body(const catalogue::Catalogue& catalogue, const std::string& quantity, std::string_view typed);

}  // namespace wheeltapper::job
