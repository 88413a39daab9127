#include "engine/plan/setup.hpp"

#include <algorithm>

namespace wheeltapper::plan {
namespace {

using catalogue::Opens;
using catalogue::Power;

double cost(Opens opens, const SetupCosts& costs) { return costs.opens[static_cast<std::size_t>(opens)]; }

}  // namespace

double minutes_to(const Setup& from, const Needs& needs, const SetupCosts& costs) {
  const bool live_at_once = needs.power == Power::live;
  const double changes =
      (from.plugged_in != live_at_once ? 1 : 0) + (needs.power == Power::unplugged_then_live ? 1 : 0);
  const double opening = needs.opens > from.open ? cost(needs.opens, costs) - cost(from.open, costs) : 0;
  return changes * costs.power_change + std::max(0.0, opening);
}

Setup after_check(const Setup& from, const Needs& needs) {
  const Opens reached = std::max(from.open, std::min(needs.opens, Opens::motor));
  if (needs.power == Power::unplugged) return {false, reached};
  return {true, std::min(reached, Opens::cover)};
}

Setup after_repair(const Setup& from, const Needs& needs) {
  return {true, std::min(std::max(from.open, needs.opens), Opens::cover)};
}

double minutes_to_retest(const Needs& needs, const SetupCosts& costs) {
  return needs.power == Power::unplugged ? costs.power_change : 0;
}

}  // namespace wheeltapper::plan
