#pragma once
#include <array>
#include <cstddef>
#include <string>
#include <vector>

namespace wheeltapper::belief {

/// Levels above 0 that a node may have at most.
inline constexpr std::size_t kMostLevels = 5;

/// Chances of reaching level 1, 2, ... or more; entries beyond the node's top level are 0. Never rising.
using Reach = std::array<double, kMostLevels>;

/// One observed finding, ready for inference: a leaky noisy-MAX of its causes (design: belief), seen through a
/// likelihood for each level. With the causes i that are present,
///   P(level <= s) = (1 - leak[s]) * product of (1 - reach_i[s])        s = 0 .. top-1, reach[s] is for level s+1
/// and with probability 1 - product of (1 - blocks_i) the node is blocked: it stays at level 0 whatever the causes
/// do, and is then observed with `likelihood_blocked` (for a plain observation that is likelihood[0]).
/// A yes/no node has top = 1 and is a leaky noisy-OR.
struct FindingNode {
  struct Link {
    std::size_t cause;
    Reach reach;
  };
  struct Block {
    std::size_t cause;
    double chance;
  };
  std::string id;                                    ///< of the finding or "check/result", for explanations
  std::size_t top = 1;                               ///< highest level, 1 .. kMostLevels
  Reach leak{};                                      ///< without any cause
  std::vector<Link> links;                           ///< each cause at most once
  std::vector<Block> blocks;                         ///< each cause at most once
  std::array<double, kMostLevels + 1> likelihood{};  ///< of what was observed, given level 0 .. top; at least 0
  double likelihood_blocked = 0;
};

}  // namespace wheeltapper::belief
