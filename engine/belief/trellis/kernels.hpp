#pragma once
#include <cstddef>

namespace wheeltapper::belief {

/// The dense loops of the trellis, plain so that the compiler vectorises them. An axis of `n` coordinates with `inner`
/// numbers between neighbours occurs `outer` times: entry (o, k, i) stands at (o * n + k) * inner + i. Pointers do not
/// overlap except where it says "in place".

/// to[o][r][i] = sum over c of matrix[r * n + c] * from[o][c][i], the matrix lower triangular; in place allowed.
/// `transposed`: matrix[c * n + r] instead.
void apply_axis(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
                const double* matrix, bool transposed);

/// lane[k][i] = factor[k] * lane[i] for k = 0 .. n-1, in place over the `size` entries that are there.
void extend_lanes(double* lane, std::size_t size, std::size_t n, const double* factor);

/// to[o][i] = (absent + lane[i]) * from[o][i]; in place allowed.
void scale_lanes(const double* from, double* to, std::size_t outer, std::size_t lanes, double absent,
                 const double* lane);

/// to[o][i] = absent * stay[o][i] + lane[i] * moved[o][i]; to may be stay or moved.
void mix_lanes(const double* stay, const double* moved, double* to, std::size_t outer, std::size_t lanes, double absent,
               const double* lane);

/// sum over all of before[o][i] * lane[i] * moved[o][i].
double dot_lanes(const double* before, const double* moved, std::size_t outer, std::size_t lanes, const double* lane);

/// sum of a[i] * b[i].
double dot(const double* a, const double* b, std::size_t size);

/// to[o][i] = sum over k of weight[k] * from[o][k][i]: settles an axis.
void contract(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
              const double* weight);

/// to[o][k][i] = weight[k] * from[o][i]: opens an axis; the transpose of contract.
void expand(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner, const double* weight);

}  // namespace wheeltapper::belief
