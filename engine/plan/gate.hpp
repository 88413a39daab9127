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
  std::vector<std::string> left = {};  ///< checks of the rule that did not come out clean yet
  bool cleared = false;                ///< each of the rule's checks was done, all its results looked for and none seen
};

/// The rules that the observations fire, in the order of the catalogue. Safety reads answers as given: one yes is
/// enough, however little it weighs as evidence, and a finding dropped from the evidence still fires.
std::vector<Gate> gates(const catalogue::Catalogue& catalogue, const belief::Observations& observations);

enum class Held { no, live, everything };
/// What the gates that are not cleared withhold altogether.
Held held(const std::vector<Gate>& gates);

/// True if a check may be done now: an unpowered one unless everything is withheld, and always one that clears a gate
/// without power.
bool allowed(const catalogue::Check& check, const std::vector<Gate>& gates);
/// True if a repair may be done now. Repairs start unplugged; where powered work is withheld, those wait that run the
/// locomotive as part of the repair (they carry the caution for low voltage), and every retest.
bool allowed(const catalogue::Repair& repair, const std::vector<Gate>& gates);

}  // namespace wheeltapper::plan
