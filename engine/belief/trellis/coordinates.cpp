#include "engine/belief/trellis/coordinates.hpp"

#include <algorithm>

namespace wheeltapper::belief {
namespace {

/// factor[k]: chance that the move leaves a node that was in state k or below there and unblocked.
std::size_t write_factors(const OpenNode& node, const Move& move, bool merged, double* out) {
  const std::size_t n = node.coordinates(merged);
  double up_to = 0;
  for (std::size_t k = 0; k < node.reduced->levels; ++k) {
    up_to += move.chance[k];
    out[k] =
        k + 1 == node.reduced->levels && node.reduced->may_block ? move.passes : std::min(up_to, 1.0) * move.passes;
  }
  if (node.reduced->may_block) out[n - 1] = 1;
  return n;
}

/// With the blocked state merged into the top level, which is weighed already.
std::size_t write_merged(const OpenNode& node, const Move& move, double* out) {
  const std::size_t n = node.coordinates(true);
  if (node.diagonal(true)) {
    if (n == 2) out[0] = move.chance[0];
    out[n - 1] = 1;
    return n;
  }
  std::fill_n(out, n * n, 0.0);
  double up_to = 0;
  for (std::size_t from = 0; from < n; ++from) {
    up_to += move.chance[from];
    out[from * n + from] = from + 1 == n ? 1.0 : up_to;
    for (std::size_t to = from + 1; to < n; ++to)
      out[to * n + from] = move.chance[to] * (to + 1 == n ? node.weight[to] : 1.0);
  }
  return n * n;
}

std::size_t write_matrix(const OpenNode& node, const Move& move, double* out) {
  const std::size_t n = node.reduced->states();
  const std::size_t levels = node.reduced->levels;
  std::fill_n(out, n * n, 0.0);
  double up_to = 0;
  for (std::size_t from = 0; from < levels; ++from) {
    up_to += move.chance[from];
    out[from * n + from] = std::min(up_to, 1.0) * move.passes;
    for (std::size_t to = from + 1; to < levels; ++to) out[to * n + from] = move.chance[to] * move.passes;
    if (node.reduced->may_block) out[levels * n + from] = move.blocks;
  }
  if (node.reduced->may_block) out[n * n - 1] = 1;
  return n * n;
}

}  // namespace

bool OpenNode::diagonal(bool merged) const {
  if (basis == Basis::at_most) return true;
  return merged && (reduced->levels == 1 || (reduced->levels == 2 && reduced->likelihood[1] == 0));
}

OpenNode in_basis(const Reduced& r, Basis basis) {
  OpenNode node{&r, basis, {}, {}};
  if (basis == Basis::level) {
    node.start = r.start;
    node.weight = r.likelihood;
    return node;
  }
  double up_to = 0;
  for (std::size_t k = 0; k < r.levels; ++k) {
    up_to += r.start[k];
    node.start[k] = std::min(up_to, 1.0);
    node.weight[k] = r.likelihood[k] - (k + 1 < r.levels ? r.likelihood[k + 1] : 0.0);
  }
  if (r.may_block) {
    node.start[r.levels] = 1;
    node.weight[r.levels - 1] -= r.likelihood[r.levels];
    node.weight[r.levels] = r.likelihood[r.levels];
  }
  return node;
}

std::size_t write_move(const OpenNode& node, const Move& move, bool merged, double* out) {
  if (node.basis == Basis::at_most) return write_factors(node, move, merged, out);
  return merged ? write_merged(node, move, out) : write_matrix(node, move, out);
}

}  // namespace wheeltapper::belief
