// Published statistics of the repair log (S1, S2, S4, S6). Newcombe, Statistics in Medicine 17 (1998) 857-872, Table
// I: the Wilson row was seen in print, the Clopper-Pearson row is from memory, both recomputed; Jeffreys is
// not in that paper, its figures were recomputed. Four-digit figures hold to half a unit of the last digit,
// full ones to 1e-8. The rows of that table with continuity correction, mid-P and Wald are left out: the
// engine does not offer them.
#include <boost/math/distributions/normal.hpp>
#include <catch2/catch.hpp>

#include "engine/measure/proportion.hpp"
#include "engine/measure/robust.hpp"
#include "engine/measure/survival.hpp"

namespace {

using Catch::WithinAbs;
using wheeltapper::measure::clopper_pearson;
using wheeltapper::measure::Interval;
using wheeltapper::measure::jeffreys;
using wheeltapper::measure::wilson;

constexpr double kSeriesDigits = 1e-8;

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
  check(wilson(81, 263), 0.25528852, 0.36620958, kSeriesDigits);
  check(wilson(15, 148), 0.06238640, 0.16048724, kSeriesDigits);
  check(wilson(0, 20), 0, 0.16112516, kSeriesDigits);
  check(wilson(1, 29), 0.00611321, 0.17175522, kSeriesDigits);
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
  check(clopper_pearson(81, 263), 0.25273675, 0.36762192, kSeriesDigits);
  check(clopper_pearson(15, 148), 0.05784401, 0.16165049, kSeriesDigits);
  check(clopper_pearson(0, 20), 0, 0.16843347, kSeriesDigits);
  check(clopper_pearson(1, 29), 0.00087265, 0.17764430, kSeriesDigits);
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

TEST_CASE("S4 beta posterior of 437 in 980", "[published][statistics]") {
  // Gelman et al., Bayesian Data Analysis, section 2.4: uniform prior, Beta(438, 544). Printed figures from memory,
  // full ones recomputed with R.
  const auto got = wheeltapper::measure::beta_posterior(437, 980);
  CHECK_THAT(got.mean, WithinAbs(0.4460285132383, 1e-12));
  CHECK_THAT(got.deviation, WithinAbs(0.0158543433182, 1e-12));
  CHECK_THAT(got.median, WithinAbs(0.4459918579019, 1e-10));
  check(got.interval, 0.4150654924550, 0.4771997706294, 1e-10);
  check(got.interval, 0.415, 0.477, 0.0005);
}

TEST_CASE("S4 rule of succession", "[published][statistics]") {
  // Laplace's sunrise (from memory): (s + 1) / (n + 2).
  CHECK_THAT(wheeltapper::measure::beta_posterior(1826213, 1826213).mean, WithinAbs(1826214.0 / 1826215, 1e-15));
}

TEST_CASE("S6 Kaplan-Meier: remission of leukaemia", "[published][statistics]") {
  // Freireich et al., Blood 21 (1963) 699-716. Data seen in a public package (gehan), printed results from memory,
  // recomputed with R's survival.
  using wheeltapper::measure::Lasted;
  std::vector<Lasted> treated;
  for (const double week : {6, 6, 6, 7, 10, 13, 16, 22, 23}) treated.push_back({week, true});
  for (const double week : {6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35}) treated.push_back({week, false});
  const auto steps = wheeltapper::measure::kaplan_meier(treated);
  const double weeks[] = {6, 7, 10, 13, 16, 22, 23};
  const double full[] = {0.8571428571, 0.8067226891, 0.7529411765, 0.6901960784,
                         0.6274509804, 0.5378151261, 0.4481792717};
  const double printed[] = {0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448};
  const double errors[] = {0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346};
  REQUIRE(steps.size() == 7);
  for (std::size_t i = 0; i < 7; ++i) {
    CHECK(steps[i].time == weeks[i]);
    CHECK_THAT(steps[i].surviving, WithinAbs(full[i], 1e-10));
    CHECK_THAT(steps[i].surviving, WithinAbs(printed[i], 0.0005));
    CHECK_THAT(steps[i].error, WithinAbs(errors[i], 0.00005));
  }
  CHECK(wheeltapper::measure::median_survival(steps) == 23);
  CHECK(wheeltapper::measure::surviving_at(steps, 5.9) == 1);
  CHECK(wheeltapper::measure::surviving_at(steps, 12) == steps[2].surviving);
  std::vector<Lasted> control;
  for (const double week : {1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23})
    control.push_back({week, true});
  CHECK(wheeltapper::measure::median_survival(wheeltapper::measure::kaplan_meier(control)) == 8);
}

TEST_CASE("a robust deviation is that of a normal distribution", "[published][statistics]") {
  // The factor recomputed by Boost.Math's normal quantile: half of all values lie within quantile(3/4) of the middle.
  const boost::math::normal_distribution<> normal;
  CHECK_THAT(measure::kDeviationByMedian, WithinAbs(1 / boost::math::quantile(normal, 0.75), 1e-15));
  CHECK(measure::median({3, 1, 2}) == 2);
  CHECK(measure::median({4, 1, 3, 2}) == 2.5);
  CHECK_THAT(measure::robust_deviation({-1, 1, 2, -1000, 0.5}), WithinAbs(measure::kDeviationByMedian, 1e-15));
  CHECK_THROWS_AS(measure::median({}), wheeltapper::input::DomainError);
}

}  // namespace
