#pragma once
#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include "engine/belief/finding_node.hpp"

namespace wheeltapper::belief {

/// Most states of one node: all levels and "blocked".
inline constexpr std::size_t kMostNodeStates = kMostLevels + 2;

/// One number a state.
using StateVector = std::array<double, kMostNodeStates>;

/// What a present cause does to a node's state. A level never falls and a block is never lifted: from level state s the
/// node stays with `passes` * (chance[0] + ... + chance[s]), rises to t with passes * chance[t], and is blocked with
/// `blocks`.
struct Move {
  std::size_t cause;
  StateVector chance;  ///< of the level states, with this cause alone and no leak
  double passes = 1;   ///< chance that it does not block
  double blocks = 0;   ///< 1 - passes, not taken from 1
};

/// A node cut down to the states that matter. Levels next to each other with the same likelihood are one state;
/// levels above the highest possible one can't be left again and are dropped, unless a block can still hide them;
/// "blocked" is the last state, and only where it is possible. A node with a single state folds into the weights of its
/// causes.
struct Reduced {
  std::size_t node;          ///< index among the nodes given
  double scale = 1;          ///< taken out of the likelihoods: the largest is 1
  std::size_t levels;        ///< level states, at least 1
  bool may_block = false;    ///< one more state: blocked
  StateVector start{};       ///< before any cause: the leak
  StateVector likelihood{};  ///< of the observation, by state
  std::vector<Move> moves;   ///< by the causes that are linked or that block
  std::size_t states() const { return levels + (may_block ? 1 : 0); }
};

/// The reduced form, or nothing when the observation says nothing (the same likelihood everywhere).
/// \throws std::domain_error  if a chance is outside [0, 1], a reach rises with the level, a likelihood is not a finite
///                            number of at least 0, or every one is 0
std::optional<Reduced> reduce(const FindingNode& node, std::size_t index);

}  // namespace wheeltapper::belief
