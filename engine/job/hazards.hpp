#pragma once
#include <map>
#include <set>
#include <string>
#include <vector>

#include "engine/job/job.hpp"

namespace wheeltapper::job {

/// An active hazard: when it was last said or shown to be there.
struct ActiveHazard {
  std::size_t stage = 0;  ///< in which that was
  std::size_t order = 0;  ///< place of the event among those that count
  const Reported* reported =
      nullptr;  ///< a person said so; nothing where a check showed it, or a second form of an entry says it
};

/// The hazards of a job in one stage. A yes stands until somebody who had seen it says no, or does a check that
/// its rules wait for and does not see it; "unsure", a repair and the passing
/// of time end nothing, nor does a no from a bench that had not seen the yes, nor a second form of the same entry.
/// After a bad result of a check that a rule waits for, or is held by, no word on the smell or the smoke ends the rule
/// any more: only all its checks do, come out clean after the bad result, and after a repair if one followed it.
struct Hazards {
  std::map<std::string, ActiveHazard> active;  ///< by finding
  belief::HazardState state;                   ///< the rules in force, for the plan
  std::set<std::string> redo;                  ///< checks whose clean results no longer count
};
Hazards hazards_of(const Job& job, std::size_t stage, const catalogue::Catalogue& catalogue);

/// True if a rule of the catalogue hangs on the finding.
bool is_hazard(const catalogue::Catalogue& catalogue, const std::string& finding);

/// The hazards that a family can have, each once, in the order of the rules.
std::vector<const catalogue::Finding*> hazards_in(const catalogue::Catalogue& catalogue, const std::string& family);

/// The hazards that words written by a person may mean, by the words that the knowledge lists for each: whole words,
/// whatever their case; also where they are denied, as "no, it smokes" and "no smoke" can't be told apart safely.
std::vector<const catalogue::Finding*> hazards_heard(const catalogue::Catalogue& catalogue, const std::string& family,
                                                     std::string_view text);

}  // namespace wheeltapper::job
