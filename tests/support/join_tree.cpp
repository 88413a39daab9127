#include "tests/support/join_tree.hpp"

#include <dlib/bayes_utils.h>
#include <dlib/directed_graph.h>
#include <dlib/graph.h>
#include <dlib/graph_utils.h>

#include <algorithm>
#include <set>

#include "tests/support/random_network.hpp"

namespace wheeltapper::tests {
namespace {

using Bayes = dlib::directed_graph<dlib::bayes_node>::kernel_1a_c;
using Cliques =
    dlib::graph<dlib::set<unsigned long>::compare_1b_c, dlib::set<unsigned long>::compare_1b_c>::kernel_1a_c;
namespace node = dlib::bayes_node_utils;

/// P(each level of the node, blocked last | set of causes), straight from the definition.
std::vector<double> level_chances(const belief::FindingNode& node, const std::vector<bool>& present) {
  std::vector<double> chances;
  for (std::size_t s = 0; s <= node.top + 1; ++s) {
    belief::FindingNode only = node;
    only.likelihood.fill(0);
    only.likelihood_blocked = s > node.top ? 1 : 0;
    if (s <= node.top) only.likelihood[s] = 1;
    chances.push_back(observed_given(only, present));
  }
  return chances;
}

std::vector<std::size_t> parents_of(const belief::FindingNode& node) {
  std::set<std::size_t> all;
  for (const auto& link : node.links) all.insert(link.cause);
  for (const auto& block : node.blocks) all.insert(block.cause);
  return {all.begin(), all.end()};
}

}  // namespace

struct JoinTree::Network {
  Bayes bayes;
  Cliques cliques;
  std::size_t causes = 0;
};

JoinTree::JoinTree(const std::vector<double>& prior, const std::vector<belief::FindingNode>& nodes)
    : network_(std::make_unique<Network>()) {
  Bayes& bayes = network_->bayes;
  const std::size_t n = prior.size();
  network_->causes = n;
  bayes.set_number_of_nodes(n + 2 * nodes.size() + (n - 1));
  dlib::assignment given;
  for (std::size_t i = 0; i < n; ++i) {
    node::set_node_num_values(bayes, i, 2);
    node::set_node_probability(bayes, i, 0, given, 1 - prior[i]);
    node::set_node_probability(bayes, i, 1, given, prior[i]);
  }
  for (std::size_t f = 0; f < nodes.size(); ++f) {
    const belief::FindingNode& node = nodes[f];
    const unsigned long level_node = n + 2 * f;
    const unsigned long seen_node = level_node + 1;
    const auto parents = parents_of(node);
    const std::size_t states = node.top + 2;
    node::set_node_num_values(bayes, level_node, states);
    node::set_node_num_values(bayes, seen_node, 2);
    for (const std::size_t parent : parents) bayes.add_edge(parent, level_node);
    bayes.add_edge(level_node, seen_node);
    for (std::size_t bits = 0; bits < (std::size_t{1} << parents.size()); ++bits) {
      std::vector<bool> present(n, false);
      dlib::assignment with;
      for (std::size_t p = 0; p < parents.size(); ++p) {
        present[parents[p]] = (bits >> p & 1U) != 0;
        with.add(parents[p], bits >> p & 1U);
      }
      const auto chances = level_chances(node, present);
      for (std::size_t s = 0; s < states; ++s) node::set_node_probability(bayes, level_node, s, with, chances[s]);
    }
    double largest = node.likelihood_blocked;
    for (std::size_t s = 0; s <= node.top; ++s) largest = std::max(largest, node.likelihood[s]);
    for (std::size_t s = 0; s < states; ++s) {
      const double seen = (s > node.top ? node.likelihood_blocked : node.likelihood[s]) / largest;
      dlib::assignment with;
      with.add(level_node, s);
      node::set_node_probability(bayes, seen_node, 1, with, seen);
      node::set_node_probability(bayes, seen_node, 0, with, 1 - seen);
    }
    node::set_node_value(bayes, seen_node, 1);
    node::set_node_as_evidence(bayes, seen_node);
  }
  // The library wants a connected graph: a node that says nothing hangs below each two neighbours.
  for (std::size_t i = 0; i + 1 < n; ++i) {
    const unsigned long link = n + 2 * nodes.size() + i;
    node::set_node_num_values(bayes, link, 2);
    bayes.add_edge(i, link);
    bayes.add_edge(i + 1, link);
    for (unsigned long bits = 0; bits < 4; ++bits) {
      dlib::assignment with;
      with.add(i, bits & 1U);
      with.add(i + 1, bits >> 1U);
      node::set_node_probability(bayes, link, 0, with, 0.5);
      node::set_node_probability(bayes, link, 1, with, 0.5);
    }
  }
  dlib::create_moral_graph(bayes, network_->cliques);
  dlib::create_join_tree(network_->cliques, network_->cliques);
}

JoinTree::~JoinTree() = default;

std::vector<double> JoinTree::posterior() const {
  const dlib::bayesian_network_join_tree solution(network_->bayes, network_->cliques);
  std::vector<double> result;
  for (std::size_t i = 0; i < network_->causes; ++i) result.push_back(solution.probability(i)(1));
  return result;
}

}  // namespace wheeltapper::tests
