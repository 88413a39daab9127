#include "engine/belief/trellis/kernels.hpp"

#include <algorithm>

#include "engine/belief/trellis/reduce.hpp"

// Two versions of each loop, chosen when the program starts: one for processors with 256-bit vectors, one for all.
// Sanitizers run before such a choice can be made, so they get the plain version.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__)
#define WHEELTAPPER_WIDE __attribute__((target_clones("arch=haswell", "default")))
#else
#define WHEELTAPPER_WIDE
#endif
// The loops read and write the same places only in step, never ahead of each other.
#if defined(__clang__)  // its own pragma warns wherever the loop is not vectorised, as in every build without -O2
#define WHEELTAPPER_IN_STEP
#else
#define WHEELTAPPER_IN_STEP _Pragma("GCC ivdep")
#endif

namespace wheeltapper::belief {
namespace {

/// Two coordinates next to each other: the pairs stand side by side and the compiler shuffles them.
WHEELTAPPER_WIDE void apply_pairs(const double* from, double* to, std::size_t pairs, double m00, double m01, double m10,
                                  double m11) {
  WHEELTAPPER_IN_STEP
  for (std::size_t i = 0; i < pairs; ++i) {
    const double low = from[2 * i];
    const double high = from[2 * i + 1];
    to[2 * i] = m00 * low + m01 * high;
    to[2 * i + 1] = m10 * low + m11 * high;
  }
}

/// Two coordinates two apart: blocks of four.
WHEELTAPPER_WIDE void apply_fours(const double* from, double* to, std::size_t fours, double m00, double m01, double m10,
                                  double m11) {
  WHEELTAPPER_IN_STEP
  for (std::size_t i = 0; i < fours; ++i) {
    const double a = from[4 * i], b = from[4 * i + 1], c = from[4 * i + 2], d = from[4 * i + 3];
    to[4 * i] = m00 * a + m01 * c;
    to[4 * i + 1] = m00 * b + m01 * d;
    to[4 * i + 2] = m10 * a + m11 * c;
    to[4 * i + 3] = m10 * b + m11 * d;
  }
}

WHEELTAPPER_WIDE void apply_two_lower(const double* from, double* to, std::size_t outer, std::size_t inner, double m00,
                                      double m10, double m11) {
  for (std::size_t o = 0; o < outer; ++o) {
    const double* f = from + o * 2 * inner;
    double* t = to + o * 2 * inner;
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < inner; ++i) {
      const double low = f[i];
      const double high = f[inner + i];
      t[i] = m00 * low;
      t[inner + i] = m10 * low + m11 * high;
    }
  }
}

WHEELTAPPER_WIDE void apply_two_upper(const double* from, double* to, std::size_t outer, std::size_t inner, double m00,
                                      double m01, double m11) {
  for (std::size_t o = 0; o < outer; ++o) {
    const double* f = from + o * 2 * inner;
    double* t = to + o * 2 * inner;
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < inner; ++i) {
      const double low = f[i];
      const double high = f[inner + i];
      t[i] = m00 * low + m01 * high;
      t[inner + i] = m11 * high;
    }
  }
}

void apply_two(const double* from, double* to, std::size_t outer, std::size_t inner, const double* m, bool transposed) {
  const double m01 = transposed ? m[2] : 0;
  const double m10 = transposed ? 0 : m[2];
  if (inner == 1)
    apply_pairs(from, to, outer, m[0], m01, m10, m[3]);
  else if (inner == 2)
    apply_fours(from, to, outer, m[0], m01, m10, m[3]);
  else if (transposed)
    apply_two_upper(from, to, outer, inner, m[0], m01, m[3]);
  else
    apply_two_lower(from, to, outer, inner, m[0], m10, m[3]);
}

WHEELTAPPER_WIDE void apply_any(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
                                const double* m) {
  for (std::size_t o = 0; o < outer; ++o)
    for (std::size_t i = 0; i < inner; ++i) {
      double old[kMostNodeStates];
      for (std::size_t k = 0; k < n; ++k) old[k] = from[(o * n + k) * inner + i];
      for (std::size_t r = 0; r < n; ++r) {
        double sum = 0;
        for (std::size_t c = 0; c < n; ++c) sum += m[r * n + c] * old[c];
        to[(o * n + r) * inner + i] = sum;
      }
    }
}

WHEELTAPPER_WIDE void apply_three(const double* from, double* to, std::size_t outer, std::size_t inner,
                                  const double* m) {
  const double m00 = m[0], m01 = m[1], m02 = m[2], m10 = m[3], m11 = m[4], m12 = m[5], m20 = m[6], m21 = m[7],
               m22 = m[8];
  for (std::size_t o = 0; o < outer; ++o) {
    const double* f = from + o * 3 * inner;
    double* t = to + o * 3 * inner;
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < inner; ++i) {
      const double a = f[i];
      const double b = f[inner + i];
      const double c = f[2 * inner + i];
      t[i] = m00 * a + m01 * b + m02 * c;
      t[inner + i] = m10 * a + m11 * b + m12 * c;
      t[2 * inner + i] = m20 * a + m21 * b + m22 * c;
    }
  }
}

WHEELTAPPER_WIDE void add_scaled(const double* from, double* to, double weight, std::size_t size, bool first) {
  if (first) {
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < size; ++i) to[i] = weight * from[i];
  } else {
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < size; ++i) to[i] += weight * from[i];
  }
}

/// Four running sums, so that the additions need not wait for each other.
struct Sums {
  double s[4] = {0, 0, 0, 0};
  double total() const { return (s[0] + s[1]) + (s[2] + s[3]); }
};

}  // namespace

void apply_axis(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
                const double* matrix, bool transposed) {
  if (n == 2) {
    apply_two(from, to, outer, inner, matrix, transposed);
    return;
  }
  double turned[kMostNodeStates * kMostNodeStates];
  if (transposed) {
    for (std::size_t r = 0; r < n; ++r)
      for (std::size_t c = 0; c < n; ++c) turned[c * n + r] = matrix[r * n + c];
    matrix = turned;
  }
  if (n == 3)
    apply_three(from, to, outer, inner, matrix);
  else
    apply_any(from, to, outer, n, inner, matrix);
}

WHEELTAPPER_WIDE void extend_lanes(double* lane, std::size_t size, std::size_t n, const double* factor) {
  for (std::size_t k = n; k-- > 0;) {
    const double by = factor[k];
    double* out = lane + k * size;
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < size; ++i) out[i] = by * lane[i];
  }
}

WHEELTAPPER_WIDE void scale_lanes(const double* from, double* to, std::size_t outer, std::size_t lanes, double absent,
                                  const double* lane) {
  for (std::size_t o = 0; o < outer; ++o) {
    const double* f = from + o * lanes;
    double* t = to + o * lanes;
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < lanes; ++i) t[i] = (absent + lane[i]) * f[i];
  }
}

WHEELTAPPER_WIDE void mix_lanes(const double* stay, const double* moved, double* to, std::size_t outer,
                                std::size_t lanes, double absent, const double* lane) {
  for (std::size_t o = 0; o < outer; ++o) {
    const double* s = stay + o * lanes;
    const double* m = moved + o * lanes;
    double* t = to + o * lanes;
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < lanes; ++i) t[i] = absent * s[i] + lane[i] * m[i];
  }
}

WHEELTAPPER_WIDE double dot_lanes(const double* before, const double* moved, std::size_t outer, std::size_t lanes,
                                  const double* lane) {
  Sums sums;
  double rest = 0;
  const std::size_t fours = lanes / 4 * 4;
  for (std::size_t o = 0; o < outer; ++o) {
    const double* b = before + o * lanes;
    const double* m = moved + o * lanes;
    for (std::size_t i = 0; i < fours; i += 4)
      for (std::size_t j = 0; j < 4; ++j) sums.s[j] += b[i + j] * (lane[i + j] * m[i + j]);
    for (std::size_t i = fours; i < lanes; ++i) rest += b[i] * (lane[i] * m[i]);
  }
  return sums.total() + rest;
}

WHEELTAPPER_WIDE double dot(const double* a, const double* b, std::size_t size) {
  Sums sums;
  const std::size_t fours = size / 4 * 4;
  for (std::size_t i = 0; i < fours; i += 4)
    for (std::size_t j = 0; j < 4; ++j) sums.s[j] += a[i + j] * b[i + j];
  double rest = 0;
  for (std::size_t i = fours; i < size; ++i) rest += a[i] * b[i];
  return sums.total() + rest;
}

void contract(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
              const double* weight) {
  for (std::size_t o = 0; o < outer; ++o)
    for (std::size_t k = 0; k < n; ++k)
      add_scaled(from + (o * n + k) * inner, to + o * inner, weight[k], inner, k == 0);
}

void expand(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner, const double* weight) {
  for (std::size_t o = 0; o < outer; ++o)
    for (std::size_t k = 0; k < n; ++k) add_scaled(from + o * inner, to + (o * n + k) * inner, weight[k], inner, true);
}

}  // namespace wheeltapper::belief
