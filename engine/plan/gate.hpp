#pragma once
#include <string>
#include <vector>

#include "engine/belief/evidence.hpp"
#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::plan {

/// A safety rule that a hazard fired.
struct Gate {
  const catalogue::Rule* rule;
  std::string because;                 ///< the name of the finding that fired it
  std::vector<std::string> left = {};  ///< checks of the rule that did not come out clean yet, or came out bad
  bool cleared = false;                ///< each of the rule's checks was done, all its results looked for and none seen
};

/// The rules that the observations fire, in the order of the catalogue. Safety reads answers as given: one yes is
/// enough, however little it weighs as evidence, and a finding dropped from the evidence still fires. Where the
/// observations come from a job, what it knows of the order of things decides (belief::HazardState).
std::vector<Gate> gates(const catalogue::Catalogue& catalogue, const belief::Observations& observations);

/// What the gates that are not cleared withhold, the strictest of them; `no` if there is none.
enum class Withheld { no, live, everything, touch };
Withheld withheld(const std::vector<Gate>& gates);
/// The same of one gate.
Withheld withheld(const Gate& gate);

/// True if a check may be done now: every gate that is not cleared must allow it. One that withholds power allows what
/// is unpowered, one that withholds everything only the unpowered checks that clear it, one that forbids to touch none.
bool allowed(const catalogue::Check& check, const std::vector<Gate>& gates);
/// True if a repair may be done now: nothing is withheld, or only power and the repair needs none.
bool allowed(const catalogue::Repair& repair, const std::vector<Gate>& gates);

/// True if one of the gates that are not cleared waits for the check.
bool waits_for(const std::vector<Gate>& gates, const std::string& check);

/// Those whose sentences a person is told: of the gates that are not cleared the strictest alone, as what a milder one
/// says to do (unplug it, look for the short) a stricter one may forbid.
std::vector<const Gate*> speaking(const std::vector<Gate>& gates);

}  // namespace wheeltapper::plan
