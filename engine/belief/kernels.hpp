#pragma once
#include <cstddef>

namespace wheeltapper::belief {

/// The dense loops of the trellis, plain so that the compiler vectorises them. A state vector of `states` entries with
/// `lanes` hypotheses side by side is laid out [state][lane]. An axis of `n` levels with `inner` numbers (stride *
/// lanes) between neighbouring levels occurs `outer` times: entry (o, k, i) stands at (o * n + k) * inner + i.
/// Pointers may be equal where it says "in place", else they do not overlap.

/// to[.., r, ..] = sum over c of matrix[r * n + c] * from[.., c, ..]; in place allowed.
void apply_axis(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
                const double* matrix);

/// to = absent * stay + present[lane] * moved, over `states` entries of `lanes` lanes (1 or 4).
void mix(double* to, const double* stay, const double* moved, double absent, const double* present,
         std::size_t states, std::size_t lanes);

/// sum[lane] += sum over states of a * b.
void dot(const double* a, const double* b, double* sum, std::size_t states, std::size_t lanes);

/// to[.., i] = sum over k of weight[k] * from[.., k, i]: settles an axis.
void contract(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
              const double* weight);

/// to[.., k, i] = weight[k] * from[.., i]: the transpose of contract.
void expand(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
            const double* weight);

/// to[k][state][lane] = start[k * lanes + lane] * from[state][lane]: opens a new outermost axis.
void open_axis(const double* from, double* to, std::size_t n, std::size_t states, std::size_t lanes,
               const double* start);

/// The transpose of open_axis: to[state][lane] = sum over k of start[k * lanes + lane] * back[k][state][lane].
void close_open_axis(const double* back, double* to, std::size_t n, std::size_t states, std::size_t lanes,
                     const double* start);

}  // namespace wheeltapper::belief
