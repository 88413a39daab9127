#pragma once
#include <span>
#include <vector>

#include "engine/belief/trellis/coordinates.hpp"

namespace wheeltapper::belief {

/// Which nodes can be carried as "at most" without losing too many digits. What a sum of signed terms loses is the
/// ratio of the sum of their magnitudes to the sum itself; it is estimated here as if at most one cause were present
/// (the trellis measures it afterwards and asks again with a smaller `most_lost` if need be). All start as at_most; the
/// node whose going back to level brings the estimate down most goes back, until it is at most `most_lost`.
/// \param odds  weight of each cause's being present over that of its being absent
/// \param most_lost  below 1: no node that can lose anything
std::vector<Basis> choose_bases(const std::vector<Reduced>& nodes, std::span<const double> odds, double most_lost);

}  // namespace wheeltapper::belief
