#include "tests/support/random_network.hpp"

#include <algorithm>
#include <random>

namespace wheeltapper::tests {
namespace {

using belief::FindingNode;

class Dice {
 public:
  explicit Dice(std::uint32_t seed) : engine_(seed) {}
  double chance(double low = 0, double high = 1) { return std::uniform_real_distribution<>(low, high)(engine_); }
  std::size_t upto(std::size_t most) { return std::uniform_int_distribution<std::size_t>(0, most)(engine_); }
  bool one_in(std::size_t n) { return upto(n - 1) == 0; }
  std::mt19937& engine() { return engine_; }

 private:
  std::mt19937 engine_;
};

belief::Reach falling(Dice& dice, std::size_t top, double high) {
  belief::Reach reach{};
  double before = high;
  for (std::size_t s = 0; s < top; ++s) {
    reach[s] = dice.chance(0, before);
    before = reach[s];
  }
  return reach;
}

void observe(Dice& dice, FindingNode& node, bool soft) {
  node.likelihood.fill(0);
  if (soft && dice.one_in(3)) {
    for (std::size_t s = 0; s <= node.top; ++s) node.likelihood[s] = dice.one_in(6) ? 0 : dice.chance();
    if (node.top > 1 && dice.one_in(3)) node.likelihood[1] = node.likelihood[0];  // levels that are one state
    node.likelihood[dice.upto(node.top)] += 0.1;
    node.likelihood_blocked = dice.one_in(2) ? node.likelihood[0] : dice.chance();
    return;
  }
  const std::size_t level = dice.upto(node.top);
  node.likelihood[level] = 1;
  node.likelihood_blocked = node.likelihood[0];
  if (dice.one_in(3)) node.likelihood_blocked = 0.1;
}

}  // namespace

RandomProblem random_problem(std::uint32_t seed, const RandomShape& shape) {
  Dice dice(seed);
  RandomProblem problem;
  for (std::size_t i = 0; i < shape.causes; ++i) problem.prior.push_back(dice.chance(0.005, 0.3));
  for (std::size_t f = 0; f < shape.nodes; ++f) {
    FindingNode node{
        .id = "node-" + std::to_string(f), .top = 1 + dice.upto(shape.most_top - 1), .links = {}, .blocks = {}};
    node.leak = falling(dice, node.top, 0.2);
    std::vector<std::size_t> causes(shape.causes);
    for (std::size_t i = 0; i < causes.size(); ++i) causes[i] = i;
    std::shuffle(causes.begin(), causes.end(), dice.engine());
    const std::size_t links = 1 + dice.upto(std::min(shape.most_links, shape.causes) - 1);
    for (std::size_t i = 0; i < links; ++i) node.links.push_back({causes[i], falling(dice, node.top, 1)});
    // A block may come from a cause that is linked as well.
    if (shape.blocks && dice.one_in(2)) node.blocks.push_back({causes[dice.upto(links - 1)], dice.chance()});
    if (shape.blocks && dice.one_in(3) && links < causes.size()) node.blocks.push_back({causes[links], dice.chance()});
    observe(dice, node, shape.soft);
    problem.nodes.push_back(std::move(node));
  }
  return problem;
}

double observed_given(const FindingNode& node, const std::vector<bool>& present) {
  double unblocked = 1;
  for (const auto& block : node.blocks)
    if (present[block.cause]) unblocked *= 1 - block.chance;
  double seen = 0;
  double below = 0;  // P(level < s)
  for (std::size_t s = 0; s <= node.top; ++s) {
    double at_most = 1;
    if (s < node.top) {
      at_most = 1 - node.leak[s];
      for (const auto& link : node.links)
        if (present[link.cause]) at_most *= 1 - link.reach[s];
    }
    seen += (at_most - below) * node.likelihood[s];
    below = at_most;
  }
  return unblocked * seen + (1 - unblocked) * node.likelihood_blocked;
}

namespace {

/// P(exactly these causes), of which at most one of a group can be there.
double chance_of_set(const std::vector<double>& prior, const std::vector<bool>& present,
                     const std::vector<std::size_t>& instead_of) {
  const std::size_t current = prior.size() - instead_of.size();
  double chance = 1;
  for (std::size_t i = 0; i < current; ++i) {
    double none = 1 - prior[i];
    std::size_t there = present[i] ? 1 : 0;
    double weight = present[i] ? prior[i] : 1;
    for (std::size_t k = 0; k < instead_of.size(); ++k) {
      if (instead_of[k] != i) continue;
      none -= prior[current + k];
      if (!present[current + k]) continue;
      ++there;
      weight *= prior[current + k];
    }
    chance *= there == 0 ? none : there == 1 ? weight : 0;
  }
  return chance;
}

}  // namespace

Enumerated enumerate(const std::vector<double>& prior, const std::vector<FindingNode>& nodes, double none_weight,
                     const std::vector<std::size_t>& instead_of) {
  const std::size_t n = prior.size();
  Enumerated result;
  result.posterior.assign(n, 0);
  result.set_probability.assign(std::size_t{1} << n, 0);
  for (std::size_t bits = 0; bits < result.set_probability.size(); ++bits) {
    std::vector<bool> present(n);
    double weight = bits == 0 ? none_weight : 1;
    for (std::size_t i = 0; i < n; ++i) present[i] = (bits >> i & 1U) != 0;
    weight *= chance_of_set(prior, present, instead_of);
    for (const FindingNode& node : nodes) weight *= observed_given(node, present);
    result.set_probability[bits] = weight;
    result.evidence += weight;
    for (std::size_t i = 0; i < n; ++i)
      if (present[i]) result.posterior[i] += weight;
  }
  for (double& each : result.posterior) each /= result.evidence;
  for (double& each : result.set_probability) each /= result.evidence;
  return result;
}

}  // namespace wheeltapper::tests
