#include "engine/plan/gate.hpp"

#include <algorithm>

#include "engine/plan/known.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Observations;
using catalogue::Catalogue;

/// A check of which every result was looked for and none seen.
bool came_out_clean(const catalogue::Check& check, const Observations& observations) {
  const auto recorded = [&](const std::string& result, bool seen) {
    return std::ranges::any_of(observations.outcomes, [&](const auto& outcome) {
      return outcome.check == check.id && outcome.result == result && outcome.seen == seen;
    });
  };
  return std::ranges::all_of(check.results, [&](const catalogue::Result& result) {
    return recorded(result.id, false) && !recorded(result.id, true);
  });
}

}  // namespace

std::vector<Gate> gates(const Catalogue& catalogue, const Observations& observations) {
  const auto yes = seen_yes(catalogue, observations);
  std::vector<Gate> fired;
  for (const auto& rule : catalogue.items().rules) {
    const auto why = std::ranges::find_if(rule.any, [&](const std::string& id) { return yes.contains(id); });
    if (why == rule.any.end()) continue;
    Gate gate{&rule, catalogue.finding(*why)->name, {}, false};
    for (const std::string& id : rule.until)
      if (!came_out_clean(*catalogue.check(id), observations)) gate.left.push_back(id);
    gate.cleared = !rule.until.empty() && gate.left.empty();
    fired.push_back(std::move(gate));
  }
  return fired;
}

Held held(const std::vector<Gate>& gates) {
  Held most = Held::no;
  for (const Gate& gate : gates)
    if (!gate.cleared) most = std::max(most, gate.rule->everything ? Held::everything : Held::live);
  return most;
}

bool allowed(const catalogue::Check& check, const std::vector<Gate>& gates) {
  const bool unpowered = check.power == catalogue::Power::unplugged;
  switch (held(gates)) {
    case Held::no:
      return true;
    case Held::live:
      return unpowered;
    case Held::everything:
      return unpowered && std::ranges::any_of(gates, [&](const Gate& gate) {
               const auto& until = gate.rule->until;
               return !gate.cleared && std::ranges::find(until, check.id) != until.end();
             });
  }
  return false;
}

bool allowed(const catalogue::Repair& repair, const std::vector<Gate>& gates) {
  const auto& cautions = repair.cautions;
  const bool runs_under_power = std::ranges::find(cautions, "caution-low-voltage-live") != cautions.end();
  const Held most = held(gates);
  return most == Held::no || (most == Held::live && !runs_under_power);
}

}  // namespace wheeltapper::plan
