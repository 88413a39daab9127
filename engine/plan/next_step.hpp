#pragma once
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "engine/belief/trellis.hpp"

namespace wheeltapper::plan {

/// A repair as the planner sees it; or an inspection and the repair only if it shows something.
struct RepairOption {
  std::string id;
  double cost = 0;  ///< in minutes, above 0: the work with its retest, parts, the change of power, the risk
  struct Cure {
    std::size_t cause;
    double chance;     ///< that it removes the cause; with an inspection: that the inspection shows it and the repair
                       ///< removes it
    double shown = 1;  ///< with an inspection: that it shows the cause
  };
  std::vector<Cure> cures;
  struct Inspection {
    std::size_t repair;  ///< index of the same repair without an inspection
    std::size_t check;   ///< index among the checks
    double minutes;      ///< its cost
    double otherwise;  ///< chance that it shows something for another reason: another cause, one that it rarely shows,
                       ///< or falsely
  };
  std::optional<Inspection> inspection = {};
  /// Not to be done untested: it opens much, or costs much (inspection_before).
  bool inspect_first = false;
};

/// A result that a check may show, as the planner sees it: a yes/no node.
struct ResultOption {
  std::string id;
  double silent_alone = 1;  ///< chance that it stays away when no cause brings it about
  struct Silent {
    std::size_t cause;
    double factor;  ///< by which that chance falls when this cause is present
  };
  std::vector<Silent> silent;
};

struct CheckOption {
  std::string id;
  double cost = 0;                    ///< in minutes, above 0
  std::vector<ResultOption> results;  ///< in the order in which they are looked for
};

struct PlanSettings {
  double refer_cost = 600;   ///< minutes that it costs to give up and hand the locomotive on (elicited judgement)
  std::size_t longest = 7;   ///< repairs in a sequence before handing on is assumed
  std::size_t permuted = 3;  ///< first repairs of a sequence put in the best order by trying every set of them
  /// A check that pays comes first only if it bears on the suspects at least this share of what the one that pays and
  /// bears most does: what saves a minute by ruling out a stranger is no first step.
  double bears_beside = 1.0 / 3;
  /// A check pays only if it lowers the expected cost by this share: the elicited numbers are no finer.
  double pays_from = 0.005;
  std::size_t looked_at = 5;  ///< checks evaluated exactly, after a screening that takes one cause at a time
};

/// Repairs one after the other, each followed by a retest, until it passes; then handing on.
struct Sequence {
  std::vector<std::size_t> repairs;    ///< indices into the options
  std::vector<double> failing_before;  ///< chance that the trouble is still there when repair k starts; first 1
  double failing_after = 1;            ///< chance that it is still there after the last
  double cost = 0;                     ///< expected, in minutes
};

/// What a check is worth now.
struct CheckValue {
  std::size_t check;
  double cost;                  ///< its own cost + the expected cost of the best sequence after each outcome
  double saving;                ///< minutes that it saves for each minute that it costs; above 1 it pays
  double found;                 ///< chance that it shows any of its results
  std::vector<double> outcome;  ///< chances: of result 1 first, ..., of none last
};

struct NextStep {
  Sequence repairs;  ///< the best found without any further check: its cost is exact
  Sequence looked;  ///< the cheapest found, with inspections or without (indices into with_inspections, inspection.hpp)
  std::vector<CheckValue> checks;  ///< looked at exactly: the one to do first, the others by saving
  /// The check to do now. Of those that lower the expected cost and bear on the suspects, the one that saves most for
  /// each minute of its own: a cheap inspection before the long one that would tell more, as the long one can still
  /// follow. If none lowers it, the inspection of the first repair of `looked`. Nothing: do that repair at once.
  std::optional<std::size_t> check;
  double cost = 0;  ///< expected minutes from here when this advice is followed for one step
};

/// The sequence of repairs with the least expected cost that the search finds, given the evidence in the trellis.
/// With a set S repaired the trouble is still there with chance 1 - P(no cause left | evidence), where a cause in S is
/// left with 1 - its chance to be cured and one outside S if it is present, and an unlisted cause always: one forward
/// pass a set, exact with several causes at once. Repairs are first put in the order of chance per minute, each given
/// that those before it did not help; of the first `permuted` the best order is taken from a table over all their
/// subsets; a sequence ends where handing on is cheaper.
Sequence best_sequence(const belief::Trellis& trellis, const std::vector<RepairOption>& repairs,
                       const PlanSettings& settings = {});

/// One-step look-ahead over all checks and repairs: for every check its cost plus, over its outcomes, their chance
/// times the expected cost of the best sequence after it, in which repairs may have their inspections. Outcomes: none
/// of the results, or result j first. A result whose finding can be blocked counts here as if it could not; the
/// inference after it was seen is exact again.
NextStep next_step(const belief::Trellis& trellis, const std::vector<CheckOption>& checks,
                   const std::vector<RepairOption>& repairs, const PlanSettings& settings = {});

/// A belief boiled down to one cause at a time: the chance that each cause is THE cause. They sum to at most 1; what is
/// missing is a cause that no repair here removes. Rough where two causes matter, and cheap: it screens checks for
/// next_step(), which then weighs them exactly, and prints a whole list.
using OneCause = std::vector<double>;
OneCause one_cause(const std::vector<double>& posterior, double none_present);
/// The checks' values under that simplification, the one most worth its minutes first.
std::vector<CheckValue> screen(const OneCause& belief, const std::vector<CheckOption>& checks,
                               const std::vector<RepairOption>& repairs, const PlanSettings& settings);
/// The best sequence of repairs under it: by chance per minute, until handing on is cheaper.
Sequence rough_sequence(const OneCause& belief, const std::vector<RepairOption>& repairs, const PlanSettings& settings);
/// The belief after a check showed nothing, and after a repair did not help.
OneCause after_nothing(const OneCause& belief, const CheckOption& check);
OneCause after_failing(const OneCause& belief, const RepairOption& repair);

}  // namespace wheeltapper::plan
