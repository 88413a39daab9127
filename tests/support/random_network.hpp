#pragma once
#include <cstdint>
#include <vector>

#include "engine/belief/sign.hpp"

namespace wheeltapper::tests {

/// A random two-layer network with everything that the engine knows: graded signs, blocks, plain and softened
/// observations. The seed alone repeats it.
struct RandomProblem {
  std::vector<double> prior;
  std::vector<belief::Sign> signs;
};

struct RandomShape {
  std::size_t causes = 10;
  std::size_t signs = 7;
  std::size_t most_links = 5;
  std::size_t most_top = 3;
  bool blocks = true;
  bool soft = true;
};
RandomProblem random_problem(std::uint32_t seed, const RandomShape& shape);

/// Plain enumeration of all sets of causes: slow and plainly right. At most 20 causes.
struct Enumerated {
  double evidence = 0;
  std::vector<double> posterior;
  std::vector<double> set_probability;  ///< by bit mask, given the evidence
};
Enumerated enumerate(const std::vector<double>& prior, const std::vector<belief::Sign>& signs, double none_weight = 1);

/// P(observation of the sign | exactly these causes present), straight from the definition in sign.hpp.
double observed_given(const belief::Sign& sign, const std::vector<bool>& present);

}  // namespace wheeltapper::tests
