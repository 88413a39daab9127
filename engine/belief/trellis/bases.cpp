#include "engine/belief/trellis/bases.hpp"

#include <algorithm>
#include <cmath>

namespace wheeltapper::belief {
namespace {

/// One node under "no cause" (column 0) and under each cause alone: the sum of its terms, and of their magnitudes.
struct Columns {
  std::vector<double> value;
  std::vector<double> magnitude;
};

bool cancels(const OpenNode& node) {
  return std::ranges::any_of(node.weight, [](double w) { return w < 0; });
}

Columns columns_of(const OpenNode& node, std::size_t causes) {
  constexpr double kLeast = 1e-30;
  const std::size_t n = node.coordinates(false);
  const auto sums = [&](const double* factor, double& value, double& magnitude) {
    double signed_sum = 0;
    double sum = 0;
    for (std::size_t k = 0; k < n; ++k) {
      const double term = node.weight[k] * node.start[k] * factor[k];
      signed_sum += term;
      sum += std::abs(term);
    }
    magnitude = std::max(sum, kLeast);
    value = std::max(signed_sum, kLeast);
  };
  StateVector still;
  still.fill(1);
  Columns columns;
  double value = 0;
  double magnitude = 0;
  sums(still.data(), value, magnitude);
  columns.value.assign(causes + 1, value);
  columns.magnitude.assign(causes + 1, magnitude);
  for (const Move& move : node.reduced->moves) {
    StateVector factor{};
    write_move(node, move, false, factor.data());
    sums(factor.data(), columns.value[move.cause + 1], columns.magnitude[move.cause + 1]);
  }
  return columns;
}

}  // namespace

std::vector<Basis> choose_bases(const std::vector<Reduced>& nodes, std::span<const double> odds, double most_lost) {
  std::vector<Basis> bases(nodes.size(), Basis::at_most);
  struct Candidate {
    std::size_t node;
    Columns columns;
  };
  std::vector<Candidate> candidates;
  // Weight of each configuration together with the evidence, and its sum of magnitudes with the bases so far.
  std::vector<double> weight(odds.size() + 1, 1.0);
  std::copy(odds.begin(), odds.end(), weight.begin() + 1);
  for (std::size_t s = 0; s < nodes.size(); ++s) {
    if (in_basis(nodes[s], Basis::level).ends_diagonal()) {
      bases[s] = Basis::level;
      continue;
    }
    const OpenNode node = in_basis(nodes[s], Basis::at_most);
    if (!cancels(node)) continue;
    candidates.push_back({s, columns_of(node, odds.size())});
    for (std::size_t i = 0; i < weight.size(); ++i) weight[i] *= candidates.back().columns.value[i];
  }
  std::vector<double> magnitude(weight);
  double sum = 0;
  for (const double w : weight) sum += w;
  for (const Candidate& each : candidates)
    for (std::size_t i = 0; i < magnitude.size(); ++i)
      magnitude[i] *= each.columns.magnitude[i] / each.columns.value[i];
  while (!candidates.empty()) {
    double lost = 0;
    for (const double m : magnitude) lost += m;
    if (lost <= most_lost * sum) break;
    std::size_t best = 0;
    double least = 0;
    for (std::size_t c = 0; c < candidates.size(); ++c) {
      double left = 0;
      for (std::size_t i = 0; i < magnitude.size(); ++i)
        left += magnitude[i] * candidates[c].columns.value[i] / candidates[c].columns.magnitude[i];
      if (c == 0 || left < least) {
        least = left;
        best = c;
      }
    }
    for (std::size_t i = 0; i < magnitude.size(); ++i)
      magnitude[i] *= candidates[best].columns.value[i] / candidates[best].columns.magnitude[i];
    bases[candidates[best].node] = Basis::level;
    candidates.erase(candidates.begin() + static_cast<std::ptrdiff_t>(best));
  }
  return bases;
}

}  // namespace wheeltapper::belief
