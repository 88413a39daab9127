#include "engine/plan/decided_findings.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Observations;
using catalogue::Catalogue;
using catalogue::Finding;

/// Calls `use(finding, present)` for everything seen, one way or another.
template <typename Use>
void for_each_seen(const Catalogue& catalogue, const Observations& observations, Use&& use) {
  for (const auto& answer : observations.answers) use(answer.finding, answer.present());
  for (const auto& outcome : observations.outcomes)
    if (const auto* check = catalogue.check(outcome.check))
      for (const auto& result : check->results)
        if (result.id == outcome.result && !result.finding.empty()) use(result.finding, outcome.seen);
  for (const auto& [id, chances] : observations.readings.all()) use(id, chances.present());
}

void add_yes(const Catalogue& catalogue, const std::string& id, std::set<std::string>& yes) {
  if (!yes.insert(id).second) return;
  for (const std::string& plainer : catalogue.finding(id)->refines) add_yes(catalogue, plainer, yes);
}

}  // namespace

std::set<std::string> seen_yes(const Catalogue& catalogue, const Observations& observations) {
  std::set<std::string> yes;
  for_each_seen(catalogue, observations, [&](const std::string& id, bool present) {
    if (present) yes.insert(id);
  });
  return yes;
}

DecidedFindings decided_findings(const Catalogue& catalogue, const Observations& observations) {
  DecidedFindings result;
  for_each_seen(catalogue, observations, [&](const std::string& id, bool present) {
    if (present)
      add_yes(catalogue, id, result.yes);
    else
      result.no.insert(id);
  });
  for (const Finding& finding : catalogue.items().findings)
    for (const std::string& other : finding.implies_no) {  // neither can hold beside the other
      if (result.yes.contains(finding.id)) result.no.insert(other);
      if (result.yes.contains(other)) result.no.insert(finding.id);
    }
  for (bool grew = true; grew;) {  // a no to a plain form is one to its finer forms, however far down
    grew = false;
    for (const Finding& finding : catalogue.items().findings)
      for (const std::string& plainer : finding.refines)
        if (result.no.contains(plainer) && !result.yes.contains(plainer) && !result.yes.contains(finding.id))
          grew = result.no.insert(finding.id).second || grew;
  }
  for (const std::string& id : result.yes) result.no.erase(id);
  return result;
}

}  // namespace wheeltapper::plan
