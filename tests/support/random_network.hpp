#pragma once
#include <cstdint>
#include <vector>

#include "engine/belief/finding_node.hpp"

namespace wheeltapper::tests {

/// A random two-layer network with everything that the engine knows: graded nodes, blocks, plain and softened
/// observations. The seed alone repeats it.
struct RandomProblem {
  std::vector<double> prior;
  std::vector<belief::FindingNode> nodes;
};

struct RandomShape {
  std::size_t causes = 10;
  std::size_t nodes = 7;
  std::size_t most_links = 5;
  std::size_t most_top = 3;
  bool blocks = true;
  bool soft = true;
};
RandomProblem random_problem(std::uint32_t seed, const RandomShape& shape);

/// Plain enumeration of all sets of causes: slow and plainly right. At most 20 causes.
/// \param instead_of  as Trellis has it
struct Enumerated {
  double evidence = 0;
  std::vector<double> posterior;
  std::vector<double> set_probability;  ///< by bit mask, given the evidence
};
Enumerated enumerate(const std::vector<double>& prior, const std::vector<belief::FindingNode>& nodes,
                     double none_weight = 1, const std::vector<std::size_t>& instead_of = {});

/// P(observation of the node | exactly these causes present), straight from the definition in node.hpp.
double observed_given(const belief::FindingNode& node, const std::vector<bool>& present);

}  // namespace wheeltapper::tests
