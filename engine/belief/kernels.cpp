#include "engine/belief/kernels.hpp"

#include "engine/belief/sign.hpp"

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

constexpr std::size_t kMostStates = kMostLevels + 2;

/// Two levels next to each other: the pairs stand side by side and the compiler shuffles them.
WHEELTAPPER_WIDE void apply_pairs(const double* from, double* to, std::size_t pairs, const double* m) {
  const double m00 = m[0], m01 = m[1], m10 = m[2], m11 = m[3];
  WHEELTAPPER_IN_STEP
  for (std::size_t i = 0; i < pairs; ++i) {
    const double low = from[2 * i];
    const double high = from[2 * i + 1];
    to[2 * i] = m00 * low + m01 * high;
    to[2 * i + 1] = m10 * low + m11 * high;
  }
}

/// Two levels two apart: blocks of four.
WHEELTAPPER_WIDE void apply_fours(const double* from, double* to, std::size_t fours, const double* m) {
  const double m00 = m[0], m01 = m[1], m10 = m[2], m11 = m[3];
  WHEELTAPPER_IN_STEP
  for (std::size_t i = 0; i < fours; ++i) {
    const double a = from[4 * i], b = from[4 * i + 1], c = from[4 * i + 2], d = from[4 * i + 3];
    to[4 * i] = m00 * a + m01 * c;
    to[4 * i + 1] = m00 * b + m01 * d;
    to[4 * i + 2] = m10 * a + m11 * c;
    to[4 * i + 3] = m10 * b + m11 * d;
  }
}

WHEELTAPPER_WIDE void apply_two(const double* from, double* to, std::size_t outer, std::size_t inner,
                                const double* m) {
  const double m00 = m[0], m01 = m[1], m10 = m[2], m11 = m[3];
  for (std::size_t o = 0; o < outer; ++o) {
    const double* f = from + o * 2 * inner;
    double* t = to + o * 2 * inner;
    WHEELTAPPER_IN_STEP
    for (std::size_t i = 0; i < inner; ++i) {
      const double low = f[i];
      const double high = f[inner + i];
      t[i] = m00 * low + m01 * high;
      t[inner + i] = m10 * low + m11 * high;
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

void apply_any(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner, const double* m) {
  for (std::size_t o = 0; o < outer; ++o)
    for (std::size_t i = 0; i < inner; ++i) {
      double old[kMostStates];
      for (std::size_t k = 0; k < n; ++k) old[k] = from[(o * n + k) * inner + i];
      for (std::size_t r = 0; r < n; ++r) {
        double sum = 0;
        for (std::size_t c = 0; c < n; ++c) sum += m[r * n + c] * old[c];
        to[(o * n + r) * inner + i] = sum;
      }
    }
}

WHEELTAPPER_WIDE void mix_one(double* to, const double* stay, const double* moved, double absent, double present,
                              std::size_t states) {
  WHEELTAPPER_IN_STEP
  for (std::size_t i = 0; i < states; ++i) to[i] = absent * stay[i] + present * moved[i];
}

WHEELTAPPER_WIDE void mix_four(double* to, const double* stay, const double* moved, double absent,
                               const double* present, std::size_t states) {
  const double p0 = present[0], p1 = present[1], p2 = present[2], p3 = present[3];
  WHEELTAPPER_IN_STEP
  for (std::size_t i = 0; i < states; ++i) {
    to[4 * i] = absent * stay[4 * i] + p0 * moved[4 * i];
    to[4 * i + 1] = absent * stay[4 * i + 1] + p1 * moved[4 * i + 1];
    to[4 * i + 2] = absent * stay[4 * i + 2] + p2 * moved[4 * i + 2];
    to[4 * i + 3] = absent * stay[4 * i + 3] + p3 * moved[4 * i + 3];
  }
}

/// Four running sums, so that the additions need not wait for each other.
WHEELTAPPER_WIDE void dot_four_wide(const double* a, const double* b, double* sum, std::size_t fours) {
  double s0 = 0, s1 = 0, s2 = 0, s3 = 0;
  for (std::size_t i = 0; i < fours; ++i) {
    s0 += a[4 * i] * b[4 * i];
    s1 += a[4 * i + 1] * b[4 * i + 1];
    s2 += a[4 * i + 2] * b[4 * i + 2];
    s3 += a[4 * i + 3] * b[4 * i + 3];
  }
  sum[0] += s0;
  sum[1] += s1;
  sum[2] += s2;
  sum[3] += s3;
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

/// to (+)= start[lane] * from, for one state of the new axis.
void add_by_lane(const double* from, double* to, const double* start, std::size_t states, std::size_t lanes,
                 bool first) {
  if (lanes == 1) {
    add_scaled(from, to, start[0], states, first);
    return;
  }
  for (std::size_t i = 0; i < states; ++i)
    for (std::size_t l = 0; l < lanes; ++l) {
      const double add = start[l] * from[i * lanes + l];
      to[i * lanes + l] = first ? add : to[i * lanes + l] + add;
    }
}

}  // namespace

void apply_axis(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
                const double* matrix) {
  if (n == 2 && inner == 1)
    apply_pairs(from, to, outer, matrix);
  else if (n == 2 && inner == 2)
    apply_fours(from, to, outer, matrix);
  else if (n == 2)
    apply_two(from, to, outer, inner, matrix);
  else if (n == 3)
    apply_three(from, to, outer, inner, matrix);
  else
    apply_any(from, to, outer, n, inner, matrix);
}

void mix(double* to, const double* stay, const double* moved, double absent, const double* present,
         std::size_t states, std::size_t lanes) {
  if (lanes == 1)
    mix_one(to, stay, moved, absent, present[0], states);
  else
    mix_four(to, stay, moved, absent, present, states);
}

void dot(const double* a, const double* b, double* sum, std::size_t states, std::size_t lanes) {
  if (lanes == 4) {
    dot_four_wide(a, b, sum, states);
    return;
  }
  double parts[4] = {0, 0, 0, 0};
  const std::size_t fours = states / 4;
  dot_four_wide(a, b, parts, fours);
  double rest = 0;
  for (std::size_t i = fours * 4; i < states; ++i) rest += a[i] * b[i];
  sum[0] += (parts[0] + parts[1]) + (parts[2] + parts[3]) + rest;
}

void contract(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
              const double* weight) {
  for (std::size_t o = 0; o < outer; ++o)
    for (std::size_t k = 0; k < n; ++k)
      add_scaled(from + (o * n + k) * inner, to + o * inner, weight[k], inner, k == 0);
}

void expand(const double* from, double* to, std::size_t outer, std::size_t n, std::size_t inner,
            const double* weight) {
  for (std::size_t o = 0; o < outer; ++o)
    for (std::size_t k = 0; k < n; ++k)
      add_scaled(from + o * inner, to + (o * n + k) * inner, weight[k], inner, true);
}

void open_axis(const double* from, double* to, std::size_t n, std::size_t states, std::size_t lanes,
               const double* start) {
  for (std::size_t k = 0; k < n; ++k)
    add_by_lane(from, to + k * states * lanes, start + k * lanes, states, lanes, true);
}

void close_open_axis(const double* back, double* to, std::size_t n, std::size_t states, std::size_t lanes,
                     const double* start) {
  for (std::size_t k = 0; k < n; ++k)
    add_by_lane(back + k * states * lanes, to, start + k * lanes, states, lanes, k == 0);
}

}  // namespace wheeltapper::belief
