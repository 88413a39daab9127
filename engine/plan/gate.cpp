#include "engine/plan/gate.hpp"

#include <algorithm>

#include "engine/plan/known.hpp"

namespace wheeltapper::plan {
namespace {

using belief::Observations;
using catalogue::Catalogue;

/// A check done with all its recorded results not seen.
bool came_out_clean(const std::string& check, const Observations& observations) {
  bool done = false;
  for (const auto& outcome : observations.outcomes)
    if (outcome.check == check) {
      if (outcome.seen) return false;
      done = true;
    }
  return done;
}

}  // namespace

std::vector<Gate> gates(const Catalogue& catalogue, const Observations& observations) {
  const auto yes = seen_yes(catalogue, observations);
  std::vector<Gate> fired;
  for (const auto& rule : catalogue.items().rules) {
    const auto why = std::ranges::find_if(rule.any, [&](const std::string& id) { return yes.contains(id); });
    if (why == rule.any.end()) continue;
    Gate gate{&rule, catalogue.finding(*why)->name, false};
    gate.cleared = !rule.until.empty() && std::ranges::all_of(rule.until, [&](const auto& id) {
      return came_out_clean(id, observations);
    });
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
    case Held::no: return true;
    case Held::live: return unpowered;
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
