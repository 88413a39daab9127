#pragma once
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace wheeltapper::plan {

inline constexpr double kTiny = 1e-9;  ///< chances, and shares of a cost, below this are rounding

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

/// What a check is worth now.
struct CheckValue {
  std::size_t check;
  double cost;                  ///< its own cost + the expected cost of the best sequence after each outcome
  double saving;                ///< minutes that it saves for each minute that it costs; above 1 it pays
  double found;                 ///< chance that it shows any of its results
  std::vector<double> outcome;  ///< chances: of result 1 first, ..., of none last
};

}  // namespace wheeltapper::plan
