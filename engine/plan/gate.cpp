#include "engine/plan/gate.hpp"

#include <algorithm>

#include "engine/plan/decided_findings.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Observations;
using catalogue::Catalogue;
using catalogue::Check;
using catalogue::Power;
using catalogue::Rule;
using catalogue::Withhold;

bool has(const std::vector<std::string>& list, const std::string& id) {
  return std::ranges::find(list, id) != list.end();
}

bool recorded(const Observations& observations, const std::string& check, const std::string& result, bool seen) {
  return std::ranges::any_of(observations.outcomes, [&](const auto& outcome) {
    return outcome.check == check && outcome.result == result && outcome.seen == seen;
  });
}

/// A check of which every result was looked for and none seen.
bool came_out_clean(const Check& check, const Observations& observations) {
  return std::ranges::all_of(check.results, [&](const catalogue::Result& result) {
    return recorded(observations, check.id, result.id, false) && !recorded(observations, check.id, result.id, true);
  });
}

bool came_out_bad(const Check& check, const Observations& observations) {
  return std::ranges::any_of(check.results, [&](const catalogue::Result& result) {
    return recorded(observations, check.id, result.id, true);
  });
}

/// What is left to do by the observations alone, which have no order.
std::vector<std::string> left_of(const Rule& rule, const Catalogue& catalogue, const Observations& observations) {
  std::vector<std::string> left;
  for (const std::string& id : rule.until)
    if (!came_out_clean(*catalogue.check(id), observations)) left.push_back(id);
  for (const std::string& id : rule.hold)
    if (came_out_bad(*catalogue.check(id), observations)) left.push_back(id);
  return left;
}

const belief::HazardState::Fired* fired_in_job(const Observations& observations, const Rule& rule) {
  if (!observations.hazards) return nullptr;
  const auto& fired = observations.hazards->fired;
  const auto found = std::ranges::find(fired, rule.id, &belief::HazardState::Fired::rule);
  return found == fired.end() ? nullptr : &*found;
}

bool allows(const Gate& gate, const Check& check) {
  const bool unpowered = check.power == Power::unplugged;
  switch (withheld(gate)) {
    case Withheld::no:
      return true;
    case Withheld::live:
      return unpowered;
    case Withheld::everything:
      return unpowered && has(gate.rule->until, check.id);
    case Withheld::touch:
      return false;
  }
  return false;
}

}  // namespace

std::vector<Gate> gates(const Catalogue& catalogue, const Observations& observations) {
  const auto yes = seen_yes(catalogue, observations);
  std::vector<Gate> all;
  for (const auto& rule : catalogue.items().rules) {
    const auto why = std::ranges::find_if(rule.any, [&](const std::string& id) { return yes.contains(id); });
    const auto* in_job = fired_in_job(observations, rule);
    if (why == rule.any.end() && in_job == nullptr) continue;
    Gate gate{&rule, catalogue.finding(in_job != nullptr ? in_job->because : *why)->name, {}, false};
    if (in_job != nullptr) gate.because += in_job->note;
    // What only a reading shows in a job has no place in its order: nothing that was done before can clear it.
    gate.left = in_job != nullptr      ? in_job->left
                : observations.hazards ? rule.until
                                       : left_of(rule, catalogue, observations);
    gate.cleared = !rule.until.empty() && gate.left.empty();
    all.push_back(std::move(gate));
  }
  return all;
}

Withheld withheld(const Gate& gate) {
  if (gate.cleared) return Withheld::no;
  switch (gate.rule->withhold) {
    case Withhold::live:
      return Withheld::live;
    case Withhold::everything:
      return Withheld::everything;
    case Withhold::touch:
      return Withheld::touch;
  }
  return Withheld::touch;
}

Withheld withheld(const std::vector<Gate>& gates) {
  Withheld most = Withheld::no;
  for (const Gate& gate : gates) most = std::max(most, withheld(gate));
  return most;
}

bool allowed(const Check& check, const std::vector<Gate>& gates) {
  return std::ranges::all_of(gates, [&](const Gate& gate) { return allows(gate, check); });
}

bool allowed(const catalogue::Repair& repair, const std::vector<Gate>& gates) {
  const Withheld most = withheld(gates);
  return most == Withheld::no || (most == Withheld::live && repair.power == Power::unplugged);
}

bool waits_for(const std::vector<Gate>& gates, const std::string& check) {
  return std::ranges::any_of(gates, [&](const Gate& gate) { return !gate.cleared && has(gate.left, check); });
}

std::vector<const Gate*> speaking(const std::vector<Gate>& gates) {
  const Withheld most = withheld(gates);
  std::vector<const Gate*> said;
  for (const Gate& gate : gates)
    if (most != Withheld::no && withheld(gate) == most) said.push_back(&gate);
  return said;
}

}  // namespace wheeltapper::plan
