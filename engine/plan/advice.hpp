#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/belief/belief.hpp"
#include "engine/plan/gate.hpp"
#include "engine/plan/next_step.hpp"
#include "engine/plan/setup.hpp"

namespace wheeltapper::plan {

/// How minutes, money and risk are weighed. Defaults are elicited judgement; a shop sets its own.
struct Costs {
  double minutes_per_dollar = 1.0;  ///< what a dollar of parts is worth
  /// Minutes to plug in or to unplug and make safe; and put on what must come apart, for the time to close it again and
  /// the chance to do harm: nothing, a cover, the motor or drive, a pressed-on part. What is open is not paid for
  /// again.
  SetupCosts setup{2.0, {0, 4, 20, 40}};
  double beyond_skill = 45;  ///< minutes put on what asks for more skill than there is
  /// A repair that costs more than this many minutes, or opens the motor or drive, is not advised before an inspection
  /// has shown that it is needed, where there is one; nor is one of the method or of a setting, which is soon done and
  /// would be tried on every guess.
  double inspect_first = 45;
  catalogue::Skill skill = catalogue::Skill::intermediate;
};

/// One line of the list for the bench.
struct BenchStep {
  const catalogue::Check* check = nullptr;  ///< one of the two is there
  const catalogue::Repair* repair = nullptr;
  double minutes = 0;          ///< of the work itself
  double chance = 0;           ///< check: that it shows something; repair: that it removes something that is wrong
  bool changes_power = false;  ///< the plug goes in or out before it
};

/// What to do next.
struct Advice {
  std::vector<Gate> gates;
  std::optional<BenchStep> next;  ///< nothing when everything is withheld, or all that there is was done
  double expected_minutes = 0;    ///< cost from here when the advice is followed, were no gate in the way
  bool hand_on = false;  ///< no step pays against handing on (PlanSettings::refer_cost): `next` is the best of them
  double repair_only_minutes = 0;  ///< cost of repairing in the best order without any check
  std::vector<BenchStep> list;     ///< the whole order for the bench, the next step first, each as if those before it
                                   ///< showed or cured nothing; from the third step on by the screening (screening.hpp)
  std::vector<const catalogue::Repair*> repairs;  ///< the best sequence of repairs, for the record
  std::vector<const catalogue::Check*> withheld;  ///< the checks that would have come first but for a gate
};

struct AdviceSettings {
  Costs costs;
  PlanSettings plan;
  Setup setup;  ///< how the bench stands now
  /// A check is only offered if it bears on the suspects this much (relevance()): a cheap inspection at something
  /// unlikely may save a minute on average, and nobody at a bench would see why.
  double bearing = 0.03;
  std::size_t longest_list = 10;
  std::vector<std::string> declined;  ///< ids of checks and repairs that the person at the bench won't do
};

/// The cost of doing something now, in minutes, with the change of the bench that it wants; a repair with plugging in
/// for its retest.
double cost_of(const catalogue::Check& check, const Costs& costs, const Setup& setup);
double cost_of(const catalogue::Repair& repair, const Costs& costs, const Setup& setup);

/// Plans from a belief. Checks whose results were all recorded are not offered again; repairs tried in vain only as
/// their cause stays likely.
Advice advise(const belief::Belief& belief, const belief::Observations& observations,
              const AdviceSettings& settings = {});

}  // namespace wheeltapper::plan
