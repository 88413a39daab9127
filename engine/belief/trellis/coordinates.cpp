#include "engine/belief/trellis/coordinates.hpp"

#include <algorithm>

namespace wheeltapper::belief {
namespace {

/// factor[k]: chance that the move leaves a sign that was in state k or below there and unblocked.
std::size_t write_factors(const OpenSign& sign, const Move& move, bool merged, double* out) {
  const std::size_t n = sign.coordinates(merged);
  double up_to = 0;
  for (std::size_t k = 0; k < sign.reduced->levels; ++k) {
    up_to += move.chance[k];
    out[k] =
        k + 1 == sign.reduced->levels && sign.reduced->may_block ? move.passes : std::min(up_to, 1.0) * move.passes;
  }
  if (sign.reduced->may_block) out[n - 1] = 1;
  return n;
}

/// With the blocked state merged into the top level, which is weighed already.
std::size_t write_merged(const OpenSign& sign, const Move& move, double* out) {
  const std::size_t n = sign.coordinates(true);
  if (sign.diagonal(true)) {
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
      out[to * n + from] = move.chance[to] * (to + 1 == n ? sign.weight[to] : 1.0);
  }
  return n * n;
}

std::size_t write_matrix(const OpenSign& sign, const Move& move, double* out) {
  const std::size_t n = sign.reduced->states();
  const std::size_t levels = sign.reduced->levels;
  std::fill_n(out, n * n, 0.0);
  double up_to = 0;
  for (std::size_t from = 0; from < levels; ++from) {
    up_to += move.chance[from];
    out[from * n + from] = std::min(up_to, 1.0) * move.passes;
    for (std::size_t to = from + 1; to < levels; ++to) out[to * n + from] = move.chance[to] * move.passes;
    if (sign.reduced->may_block) out[levels * n + from] = move.blocks;
  }
  if (sign.reduced->may_block) out[n * n - 1] = 1;
  return n * n;
}

}  // namespace

bool OpenSign::diagonal(bool merged) const {
  if (basis == Basis::at_most) return true;
  return merged && (reduced->levels == 1 || (reduced->levels == 2 && reduced->likelihood[1] == 0));
}

OpenSign in_basis(const Reduced& r, Basis basis) {
  OpenSign sign{&r, basis, {}, {}};
  if (basis == Basis::level) {
    sign.start = r.start;
    sign.weight = r.likelihood;
    return sign;
  }
  double up_to = 0;
  for (std::size_t k = 0; k < r.levels; ++k) {
    up_to += r.start[k];
    sign.start[k] = std::min(up_to, 1.0);
    sign.weight[k] = r.likelihood[k] - (k + 1 < r.levels ? r.likelihood[k + 1] : 0.0);
  }
  if (r.may_block) {
    sign.start[r.levels] = 1;
    sign.weight[r.levels - 1] -= r.likelihood[r.levels];
    sign.weight[r.levels] = r.likelihood[r.levels];
  }
  return sign;
}

std::size_t write_move(const OpenSign& sign, const Move& move, bool merged, double* out) {
  if (sign.basis == Basis::at_most) return write_factors(sign, move, merged, out);
  return merged ? write_merged(sign, move, out) : write_matrix(sign, move, out);
}

}  // namespace wheeltapper::belief
