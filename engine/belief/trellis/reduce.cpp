#include "engine/belief/trellis/reduce.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace wheeltapper::belief {
namespace {

void demand(bool holds, const FindingNode& node, const char* what) {
  if (!holds) throw std::domain_error("node " + node.id + ": " + what);
}

bool is_chance(double x) { return x >= 0 && x <= 1; }

void demand_reach(const FindingNode& node, const Reach& reach) {
  double before = 1;
  for (std::size_t s = 0; s < node.top; ++s) {
    demand(is_chance(reach[s]), node, "a chance is outside 0 to 1");
    demand(reach[s] <= before, node, "a chance rises with the level");
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
Grouping group_levels(const FindingNode& node, bool may_block) {
  Grouping group;
  group.last_level = node.top;
  while (!may_block && group.last_level > 0 && node.likelihood[group.last_level] == 0) --group.last_level;
  for (std::size_t level = 0; level <= group.last_level; ++level) {
    const bool fresh = level == 0 || node.likelihood[level] != node.likelihood[level - 1];
    if (fresh) ++group.states;
    group.state[level] = group.states - 1;
  }
  return group;
}

/// Chance that the level falls into each state, from the chances of reaching.
StateVector by_state(const FindingNode& node, const Grouping& group, const Reach& reach) {
  StateVector chance{};
  for (std::size_t level = 0; level <= group.last_level; ++level) {
    const double at_least = level == 0 ? 1.0 : reach[level - 1];
    const double beyond = level == node.top ? 0.0 : reach[level];
    chance[group.state[level]] += at_least - beyond;
  }
  return chance;
}

bool says_nothing(const FindingNode& node, const Grouping& group) {
  return group.states == 1 && group.last_level == node.top &&
         (node.blocks.empty() || node.likelihood_blocked == node.likelihood[0]);
}

/// A cause may both bring a node about and block it.
void add_block(Reduced& reduced, const FindingNode::Block& block) {
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

std::optional<Reduced> reduce(const FindingNode& node, std::size_t index) {
  demand(node.top >= 1 && node.top <= kMostLevels, node, "the number of levels is out of range");
  demand_reach(node, node.leak);
  bool possible = false;
  for (std::size_t s = 0; s <= node.top; ++s) {
    demand(node.likelihood[s] >= 0 && std::isfinite(node.likelihood[s]), node, "a likelihood is below 0");
    possible = possible || node.likelihood[s] > 0;
  }
  demand(node.likelihood_blocked >= 0 && std::isfinite(node.likelihood_blocked), node, "a likelihood is below 0");
  demand(possible || node.likelihood_blocked > 0, node, "the observation is impossible at every level");

  const bool may_block = !node.blocks.empty() && node.likelihood_blocked > 0;
  const Grouping group = group_levels(node, may_block);
  if (says_nothing(node, group)) return std::nullopt;
  Reduced reduced{.node = index, .levels = group.states, .may_block = may_block, .moves = {}};
  reduced.start = by_state(node, group, node.leak);
  for (std::size_t level = 0; level <= group.last_level; ++level)
    reduced.likelihood[group.state[level]] = node.likelihood[level];
  if (may_block) reduced.likelihood[group.states] = node.likelihood_blocked;
  reduced.scale = *std::ranges::max_element(reduced.likelihood);
  for (double& each : reduced.likelihood) each /= reduced.scale;
  reduced.moves.reserve(node.links.size() + node.blocks.size());
  for (const FindingNode::Link& link : node.links) {
    demand_reach(node, link.reach);
    reduced.moves.push_back({.cause = link.cause, .chance = by_state(node, group, link.reach)});
  }
  for (const FindingNode::Block& block : node.blocks) {
    demand(is_chance(block.chance), node, "a chance is outside 0 to 1");
    add_block(reduced, block);
  }
  return reduced;
}

}  // namespace wheeltapper::belief
