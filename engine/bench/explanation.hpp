#pragma once
#include <array>
#include <cstddef>

namespace wheeltapper::bench {

/// What can differ in a drive: the torque that it needs, the ohms in the motor's path, the motor's flux.
enum class Index { drag, ohms, flux };
inline constexpr std::array kIndexes{Index::drag, Index::ohms, Index::flux};

/// A value with its standard uncertainty and the interval that holds the truth 95 times in 100.
struct Estimate {
  double value;
  double uncertainty;
  double low, high;
};

/// One explanation: which indexes differ from the baseline's, and by how much if it is those alone.
struct Explanation {
  std::array<bool, 3> differs{};  ///< by Index
  std::array<Estimate, 3>
      estimate{};     ///< drag ratio, added Ohm, flux ratio; 1, 0, 1 without uncertainty where it does not
  double misfit = 0;  ///< chi-square
  double chance = 0;  ///< of all explanations
  std::size_t count() const;
};

}  // namespace wheeltapper::bench
