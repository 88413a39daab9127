#pragma once
#include <optional>
#include <span>
#include <vector>

#include "engine/belief/sign.hpp"

namespace wheeltapper::belief {

/// Most states of one sign: all levels and "blocked".
inline constexpr std::size_t kMostSignStates = kMostLevels + 2;

/// What a present cause does to a sign's state: a lower-triangular matrix, as a level never falls and a block is
/// never lifted. Entry (to, from) stands at to * states + from.
struct Move {
  std::size_t cause;
  std::array<double, kMostSignStates * kMostSignStates> matrix{};
};

/// A sign cut down to the states that matter. Levels next to each other with the same likelihood are one state;
/// levels above the highest possible one can't be left again and are dropped, unless a block can still hide them;
/// "blocked" is a state only where it is possible. A sign with a single state folds into the weights of its causes.
struct Reduced {
  std::size_t sign;    ///< index among the signs given
  std::size_t states;  ///< 1 .. kMostSignStates
  std::array<double, kMostSignStates> start{};       ///< before any cause: the leak
  std::array<double, kMostSignStates> likelihood{};  ///< of the observation, by state
  std::vector<Move> moves;                           ///< by the causes that are linked or that block
};

/// The reduced form, or nothing when the observation says nothing (the same likelihood everywhere).
/// \throws std::domain_error  if a chance is outside [0, 1], a reach rises with the level, or every likelihood is 0
std::optional<Reduced> reduce(const Sign& sign, std::size_t index);

}  // namespace wheeltapper::belief
