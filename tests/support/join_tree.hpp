#pragma once
#include <memory>
#include <vector>

#include "engine/belief/finding_node.hpp"

namespace wheeltapper::tests {

/// The same network in dlib 19.24 (bayes_utils.h): each cause a node of two states, each finding a node of its levels
/// and "blocked" below the causes it is tied to, each observation a likelihood child that is seen. Posteriors come from
/// its join tree, the exact general-purpose method.
class JoinTree {
 public:
  JoinTree(const std::vector<double>& prior, const std::vector<belief::FindingNode>& nodes);
  ~JoinTree();
  JoinTree(const JoinTree&) = delete;
  JoinTree& operator=(const JoinTree&) = delete;
  /// One propagation over the join tree, whose structure was made before.
  std::vector<double> posterior() const;

 private:
  struct Network;
  std::unique_ptr<Network> network_;
};

}  // namespace wheeltapper::tests
