#pragma once
#include <span>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "engine/belief/trellis/passes.hpp"

namespace wheeltapper::belief {

/// What a Trellis holds.
struct Trellis::Plan {
  std::vector<double> prior;
  std::vector<FindingNode> observed;  ///< as they were given
  double weight_of_none = 1;
  std::vector<std::size_t> instead_of;
  std::vector<double> present;  ///< by cause: its prior, with the nodes of one state folded in
  std::vector<double> absent;
  PreparedSum problem;
  double scale = 1;      ///< of the likelihoods; everything below is without it
  double evidence = 0;   ///< none_weight taken into account
  double taken_out = 0;  ///< (1 - none_weight) * P(evidence, no cause)
  double none_present = 0;
  std::vector<double> posterior;

  Weights weights() const { return {present, absent}; }
  void solve(std::span<const FindingNode> nodes, const TrellisLimits& limits, double none_weight);
};

}  // namespace wheeltapper::belief
