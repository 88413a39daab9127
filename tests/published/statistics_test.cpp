// Published intervals of one proportion (S1, S2). Newcombe, Statistics in Medicine 17 (1998) 857-872, Table
// I: the Wilson row was seen in print, the Clopper-Pearson row is from memory, both recomputed; Jeffreys is
// not in that paper, its figures were recomputed. Four-digit figures hold to half a unit of the last digit,
// full ones to 1e-8. The rows of that table with continuity correction, mid-P and Wald are left out: the
// engine does not offer them.
#include <catch2/catch.hpp>

#include "engine/measure/proportion.hpp"

namespace {

using Catch::WithinAbs;
using wheeltapper::measure::clopper_pearson;
using wheeltapper::measure::Interval;
using wheeltapper::measure::jeffreys;
using wheeltapper::measure::wilson;

constexpr double kFull = 1e-8;

void check(const Interval& got, double low, double high, double tolerance) {
  CAPTURE(low, high);
  CHECK_THAT(got.low, WithinAbs(low, tolerance));
  CHECK_THAT(got.high, WithinAbs(high, tolerance));
}

void check_four_digits(const Interval& got, double low, double high) { check(got, low, high, 0.00005); }

TEST_CASE("S1 one proportion: Wilson, printed", "[published][statistics]") {
  check_four_digits(wilson(81, 263), 0.2553, 0.3662);
  check_four_digits(wilson(15, 148), 0.0624, 0.1605);
  check_four_digits(wilson(0, 20), 0, 0.1611);
  check_four_digits(wilson(1, 29), 0.0061, 0.1718);
}

TEST_CASE("S1 one proportion: Wilson, recomputed", "[published][statistics]") {
  check(wilson(81, 263), 0.25528852, 0.36620958, kFull);
  check(wilson(15, 148), 0.06238640, 0.16048724, kFull);
  check(wilson(0, 20), 0, 0.16112516, kFull);
  check(wilson(1, 29), 0.00611321, 0.17175522, kFull);
}

TEST_CASE("S1 one proportion: Wilson, a further point", "[published][statistics]") {
  check(wilson(19, 38), 0.348499283643951, 0.651500716356049, 1e-12);
}

TEST_CASE("S1 one proportion: Clopper-Pearson, printed", "[published][statistics]") {
  check_four_digits(clopper_pearson(81, 263), 0.2527, 0.3676);
  check_four_digits(clopper_pearson(15, 148), 0.0578, 0.1617);
  check_four_digits(clopper_pearson(0, 20), 0, 0.1684);
  check_four_digits(clopper_pearson(1, 29), 0.0009, 0.1776);
}

TEST_CASE("S1 one proportion: Clopper-Pearson, recomputed", "[published][statistics]") {
  check(clopper_pearson(81, 263), 0.25273675, 0.36762192, kFull);
  check(clopper_pearson(15, 148), 0.05784401, 0.16165049, kFull);
  check(clopper_pearson(0, 20), 0, 0.16843347, kFull);
  check(clopper_pearson(1, 29), 0.00087265, 0.17764430, kFull);
}

TEST_CASE("S1 one proportion: Jeffreys, recomputed", "[published][statistics]") {
  check_four_digits(jeffreys(81, 263), 0.2545, 0.3656);
  check_four_digits(jeffreys(15, 148), 0.0604, 0.1576);
  check_four_digits(jeffreys(0, 20), 0, 0.1166);
  check_four_digits(jeffreys(1, 29), 0.0037, 0.1501);
}

TEST_CASE("S1 one proportion: hits and misses change places", "[published][statistics]") {
  check_four_digits(wilson(20, 20), 1 - 0.1611, 1);
  check_four_digits(clopper_pearson(20, 20), 1 - 0.1684, 1);
  check_four_digits(jeffreys(20, 20), 1 - 0.1166, 1);
}

TEST_CASE("S2 exact intervals: further Clopper-Pearson points", "[published][statistics]") {
  // S2a: Conover, Practical Nonparametric Statistics, 1971, p. 97 (from memory). S2b: recomputed.
  check(clopper_pearson(682, 925), 0.7076683, 0.7654066, 0.5e-7);
  check(clopper_pearson(51, 235), 0.166063329808, 0.275268364029, 1e-9);
}

TEST_CASE("S2 exact intervals: four of twenty", "[published][statistics]") {
  check(clopper_pearson(4, 20), 0.05733, 0.43661, 0.5e-5);  // from memory of a library's manual, recomputed
  check(jeffreys(4, 20), 0.07152, 0.40823, 0.5e-5);
}

TEST_CASE("S2 Jeffreys intervals of seven trials", "[published][statistics]") {
  // Brown, Cai and DasGupta, Statistical Science 16 (2001), Table 5 (from memory), recomputed.
  check(jeffreys(0, 7), 0, 0.292, 0.0005);
  check(jeffreys(1, 7), 0.016, 0.501, 0.0005);
  check(jeffreys(2, 7), 0.065, 0.648, 0.0005);
  check(jeffreys(3, 7), 0.139, 0.765, 0.0005);
}

TEST_CASE("S2 no event in twenty: one-sided bound", "[published][statistics]") {
  // Hanley and Lippman-Hand 1983 (from memory): 1 - 0.05^(1/20), the rule of three says 0.15. One-sided 95 %
  // is the upper end of the two-sided 90 %.
  const double bound = clopper_pearson(0, 20, 0.90).high;
  CHECK_THAT(bound, WithinAbs(0.139108340668, 1e-9));
  CHECK(bound < 3.0 / 20);
}

}  // namespace
