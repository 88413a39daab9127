#include "engine/belief/trellis/reduce.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace wheeltapper::belief {
namespace {

void demand(bool holds, const Sign& sign, const char* what) {
  if (!holds) throw std::domain_error("sign " + sign.id + ": " + what);
}

bool is_chance(double x) { return x >= 0 && x <= 1; }

void demand_reach(const Sign& sign, const Reach& reach) {
  double before = 1;
  for (std::size_t s = 0; s < sign.top; ++s) {
    demand(is_chance(reach[s]), sign, "a chance is outside 0 to 1");
    demand(reach[s] <= before, sign, "a chance rises with the level");
    before = reach[s];
  }
}

/// Level -> state; levels above the last possible one have no state.
struct Grouping {
  std::array<std::size_t, kMostLevels + 1> state{};
  std::size_t states = 0;
  std::size_t last_level = 0;
};

/// A level that cannot have been is still needed where a block may take it back to "nothing shows".
Grouping group_levels(const Sign& sign, bool may_block) {
  Grouping group;
  group.last_level = sign.top;
  while (!may_block && group.last_level > 0 && sign.likelihood[group.last_level] == 0) --group.last_level;
  for (std::size_t level = 0; level <= group.last_level; ++level) {
    const bool fresh = level == 0 || sign.likelihood[level] != sign.likelihood[level - 1];
    if (fresh) ++group.states;
    group.state[level] = group.states - 1;
  }
  return group;
}

/// Chance that the level falls into each state, from the chances of reaching.
StateVector by_state(const Sign& sign, const Grouping& group, const Reach& reach) {
  StateVector chance{};
  for (std::size_t level = 0; level <= group.last_level; ++level) {
    const double at_least = level == 0 ? 1.0 : reach[level - 1];
    const double beyond = level == sign.top ? 0.0 : reach[level];
    chance[group.state[level]] += at_least - beyond;
  }
  return chance;
}

bool says_nothing(const Sign& sign, const Grouping& group) {
  return group.states == 1 && group.last_level == sign.top &&
         (sign.blocks.empty() || sign.likelihood_blocked == sign.likelihood[0]);
}

/// A cause may both bring a sign about and block it.
void add_block(Reduced& reduced, const Sign::Block& block) {
  auto found = std::ranges::find(reduced.moves, block.cause, &Move::cause);
  if (found == reduced.moves.end()) {
    Move still{.cause = block.cause, .chance = {}};
    still.chance[0] = 1;
    found = reduced.moves.insert(found, still);
  }
  found->passes *= 1 - block.chance;
  found->blocks += block.chance * (1 - found->blocks);
}

}  // namespace

std::optional<Reduced> reduce(const Sign& sign, std::size_t index) {
  demand(sign.top >= 1 && sign.top <= kMostLevels, sign, "the number of levels is out of range");
  demand_reach(sign, sign.leak);
  bool possible = false;
  for (std::size_t s = 0; s <= sign.top; ++s) {
    demand(sign.likelihood[s] >= 0 && std::isfinite(sign.likelihood[s]), sign, "a likelihood is below 0");
    possible = possible || sign.likelihood[s] > 0;
  }
  demand(sign.likelihood_blocked >= 0 && std::isfinite(sign.likelihood_blocked), sign, "a likelihood is below 0");
  demand(possible || sign.likelihood_blocked > 0, sign, "the observation is impossible at every level");

  const bool may_block = !sign.blocks.empty() && sign.likelihood_blocked > 0;
  const Grouping group = group_levels(sign, may_block);
  if (says_nothing(sign, group)) return std::nullopt;
  Reduced reduced{.sign = index, .levels = group.states, .may_block = may_block, .moves = {}};
  reduced.start = by_state(sign, group, sign.leak);
  for (std::size_t level = 0; level <= group.last_level; ++level)
    reduced.likelihood[group.state[level]] = sign.likelihood[level];
  if (may_block) reduced.likelihood[group.states] = sign.likelihood_blocked;
  reduced.scale = *std::ranges::max_element(reduced.likelihood);
  for (double& each : reduced.likelihood) each /= reduced.scale;
  reduced.moves.reserve(sign.links.size() + sign.blocks.size());
  for (const Sign::Link& link : sign.links) {
    demand_reach(sign, link.reach);
    reduced.moves.push_back({.cause = link.cause, .chance = by_state(sign, group, link.reach)});
  }
  for (const Sign::Block& block : sign.blocks) {
    demand(is_chance(block.chance), sign, "a chance is outside 0 to 1");
    add_block(reduced, block);
  }
  return reduced;
}

}  // namespace wheeltapper::belief
