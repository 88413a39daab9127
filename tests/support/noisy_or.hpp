#pragma once
#include <vector>

#include "engine/belief/trellis.hpp"

namespace wheeltapper::tests {

/// Chance of what was observed of a yes/no node, given that the node is not there and that it is.
struct Seen {
  double given_no;
  double given_yes;
};
inline constexpr Seen kYes{0, 1};
inline constexpr Seen kNo{1, 0};

struct Arrow {
  std::size_t cause;
  double strength;
};

/// A yes/no node of these causes, as a textbook draws it.
inline belief::FindingNode noisy_or(double leak, const std::vector<Arrow>& arrows, Seen seen) {
  belief::FindingNode node;
  node.id = "node";
  node.leak[0] = leak;
  for (const Arrow& each : arrows) node.links.push_back({each.cause, {each.strength}});
  node.likelihood = {seen.given_no, seen.given_yes};
  node.likelihood_blocked = seen.given_no;
  return node;
}

inline belief::Trellis trellis(const std::vector<double>& prior, const std::vector<belief::FindingNode>& nodes) {
  return {prior, nodes};
}

}  // namespace wheeltapper::tests
