#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/belief/network.hpp"
#include "engine/belief/observed.hpp"

namespace wheeltapper::belief {

/// Who looked. A technician errs half as often as the catalogue's novice (trade notes, elicited judgement).
enum class Observer { novice, technician };

/// A finding as a person reports it.
struct Answer {
  std::string finding;
  /// Level seen, 0 = no. Nothing: "yes", without saying how much.
  std::optional<std::size_t> level;
  bool present() const noexcept { return !level || *level > 0; }
};

/// What a check showed: one of its results, seen or not seen.
struct Outcome {
  std::string check;
  std::string result;
  bool seen = false;
};

/// What a job says of its hazards, which know an order: a yes, what was looked at after it, and by whom.
struct HazardState {
  struct Fired {
    std::string rule;               ///< id
    std::string because;            ///< the finding that stands
    std::vector<std::string> left;  ///< checks that have still to come out clean; empty: all of the rule's did
    std::string note;               ///< why it still stands, where that is not plain; else empty
  };
  std::vector<Fired> fired;  ///< the rules in force, in the catalogue's order
};

/// What was seen in a stage of a job that a repair ended, and the repair.
struct Past {
  std::vector<Answer> answers;
  std::vector<Outcome> outcomes;
  Observed readings = {};
  std::string repair;  ///< id
  bool by_owner = false;
};

/// Share of its chance that a repair has when it is done once more in the same job: what it did not do before it is the
/// less likely to do now (elicited judgement).
inline constexpr double kOnceMore = 0.5;

/// Everything observed in one session, before it is made into nodes.
struct Observations {
  Observer observer = Observer::novice;
  std::vector<Answer> answers;
  std::vector<Outcome> outcomes;
  Observed readings = {};  ///< what was measured
  /// The stages before this one, the first one first. What is above is of this stage, and of those before it what no
  /// repair since can have changed.
  std::vector<Past> past = {};
  std::optional<HazardState> hazards = {};  ///< for safety alone, no evidence; nothing where no job stands behind it
};

/// One piece of evidence in words.
struct Item {
  std::string id;    ///< of the finding, or "check/result"
  std::string name;  ///< the finding's name, or what the result shows
  std::string said;  ///< "yes", "no", a level's name, "2.40 A against at most 2.00 A"
  bool present;      ///< it speaks for the finding being there, as far as it goes
};

/// A piece of evidence that does not count, and why.
struct Dropped {
  std::string id;
  std::string reason;
};

struct Evidence {
  std::vector<FindingNode> nodes;  ///< in step with `items`
  std::vector<Item> items;
  std::vector<Dropped> dropped;
  /// Of the causes being there still, and behind them of how they were there once (past.hpp). Empty: the network's.
  std::vector<double> prior;
  std::vector<std::size_t> instead_of;  ///< as Trellis has it
  bool still_failing = false;           ///< repairs were made, and the trouble is there still
};

/// A reading whose chances leave less than this to all other levels counts as clear: it enters like an answer, with
/// kSlip as its error either way, so that it opens no state (design: belief); one that shows the finding is never
/// feigned by a slip while the finding is blocked, as that would keep a state for a chance of kSlip. Others enter as a
/// likelihood a level.
inline constexpr double kClear = 1e-3;
/// Chance that a clear reading was misread or written down wrongly (elicited judgement).
inline constexpr double kSlip = 0.005;

/// The node of an answer by somebody who says yes falsely with rate `false_yes` and no falsely with `false_no`.
/// The answer is itself a leaky noisy-MAX: with a(s) = false_yes^s,
///   P(answer >= s | causes) = a(s) + (1 - a(s) - false_no) P(finding >= s | causes)
/// holds exactly for no cause and for each cause alone; with several, a node made twice is missed less often. (A reach
/// that would rise with the level by this scheme is held level: a correction of the order of false_yes * false_no.)
/// \param level  as in Answer
FindingNode answered(FindingNode unobserved, std::optional<std::size_t> level, double false_yes, double false_no);

/// Makes nodes of all observations. Answers to a finding that a reading decides as well: the reading counts. A check
/// that looked at a finding counts instead of an answer or a reading. Above a finer yes the plainer forms do not count;
/// a plain no that counts answers all below it that were denied too. A plain yes beside a finer no: both count. A
/// finding that echoes another one counts only where the two differ.
///
/// Stages. What makes a cause show, or a sign come from elsewhere, stays the same when another cause is taken away. So
/// of a sign that was seen in two stages the later word counts as it is, and the earlier one says only what the causes
/// did that went in between: "yes" and then "no", that one of them made it; twice "no", that none did; twice "yes"
/// nothing more. ("No" and then "yes" can only be an error, or new: the later word counts.) With every node drawn anew
/// in each stage, one sign that stays would count as many times as there are stages. Exact for yes/no signs without
/// blocks; of a graded sign that fell, but not to "no", the earlier level is left out. \throws NotInKnowledge  for an
/// id that is not in the catalogue or family, a level that the finding does not have, or a check result that is not
/// there
Evidence gather(const Network& network, const Observations& observations);

}  // namespace wheeltapper::belief
