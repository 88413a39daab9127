#pragma once
#include <set>
#include <string>

#include "engine/belief/evidence.hpp"
#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::plan {

/// What the observations say about findings as plain yes and no, with what follows from them: a yes answers its plainer
/// forms with yes and what it rules out with no; a no answers its finer forms. It decides what is worth asking, and
/// what must not be done; it is not evidence. A yes wins over a no, also one that only follows.
struct DecidedFindings {
  std::set<std::string> yes;
  std::set<std::string> no;
  bool has(const std::string& finding) const { return yes.contains(finding) || no.contains(finding); }
};

/// Safety reads only what was seen: the findings answered yes, shown by a check or by a reading, nothing that follows.
std::set<std::string> seen_yes(const catalogue::Catalogue& catalogue, const belief::Observations& observations);

DecidedFindings decided_findings(const catalogue::Catalogue& catalogue, const belief::Observations& observations);

}  // namespace wheeltapper::plan
