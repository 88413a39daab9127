#pragma once
#include <vector>

#include "engine/belief/trellis.hpp"

namespace wheeltapper::tests {

/// Chance of what was observed of a yes/no sign, given that the sign is not there and that it is.
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

/// A yes/no sign of these causes, as a textbook draws it.
inline belief::Sign noisy_or(double leak, const std::vector<Arrow>& arrows, Seen seen) {
  belief::Sign sign;
  sign.id = "sign";
  sign.leak[0] = leak;
  for (const Arrow& each : arrows) sign.links.push_back({each.cause, {each.strength}});
  sign.likelihood = {seen.given_no, seen.given_yes};
  sign.likelihood_blocked = seen.given_no;
  return sign;
}

inline belief::Trellis trellis(const std::vector<double>& prior, const std::vector<belief::Sign>& signs) {
  return {prior, signs};
}

}  // namespace wheeltapper::tests
