// Published numbers of measurement uncertainty: the end gauge (M1), twenty readings (M4), bounds made into
// standard uncertainties (M5), coverage factors (M7). JCGM 100:2008 ("GUM"). "Printed" figures hold to half a
// unit of the last digit; "recomputed" ones to a relative 1e-9.
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <vector>

#include "engine/measure/measurement.hpp"

namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using wheeltapper::measure::combined_uncertainty;
using wheeltapper::measure::coverage_factor;
using wheeltapper::measure::effective_degrees_of_freedom;
using wheeltapper::measure::from_coverage;
using wheeltapper::measure::from_resolution;
using wheeltapper::measure::Part;
using wheeltapper::measure::rectangular;
using wheeltapper::measure::repeats;
using wheeltapper::measure::triangular;

constexpr double kTableDigits = 1e-9;
constexpr double kInfinite = std::numeric_limits<double>::infinity();

// --- M1. JCGM 100:2008, Annex H.1: calibration of an end gauge, in nanometres
// ------------------------------------------

constexpr double kGauge = 50000623;  // length of the standard

std::vector<Part> difference_parts() { return {{5.8, 24}, {3.9, 5}, {6.7, 8}}; }

/// The four first-order terms. As in the annex, the difference enters as 9.7 nm with 25.6 degrees of freedom.
std::vector<Part> end_gauge_parts() {
  return {{25, 18}, {9.7, 25.6}, {kGauge * 0.1 * 0.58e-6, 50}, {kGauge * 11.5e-6 * 0.029, 2}};
}

double combined(const std::vector<Part>& parts) {
  std::vector<double> terms;
  for (const Part& part : parts) terms.push_back(part.uncertainty);
  return combined_uncertainty(terms);
}

TEST_CASE("M1 end gauge: the difference of lengths", "[published][measure]") {
  CHECK_THAT(combined(difference_parts()), WithinAbs(9.7, 0.05));
  CHECK_THAT(combined(difference_parts()), WithinRel(9.68194195397, kTableDigits));
}

TEST_CASE("M1 end gauge: degrees of freedom of the difference", "[published][measure]") {
  // Printed 25.6 (25.6376319398 recomputed): that takes the rounded 9.7 nm as the formula's numerator.
  // Unrounded the same formula gives 25.447.
  const double unrounded = effective_degrees_of_freedom(difference_parts());
  CHECK_THAT(unrounded, WithinAbs(25.447, 0.0005));
  CHECK_THAT(unrounded * std::pow(9.7 / combined(difference_parts()), 4), WithinRel(25.6376319398, kTableDigits));
}

TEST_CASE("M1 end gauge: the thermal terms", "[published][measure]") {
  // Printed 2.9 and 16.6 nm, from bounds of 1e-6/C and 0.05 C; the recomputed figures below take the rounded
  // inputs 0.58e-6/C and 0.029 C, which make 16.68 of the second.
  CHECK_THAT(kGauge * 0.1 * rectangular(1e-6), WithinAbs(2.9, 0.05));
  CHECK_THAT(kGauge * 11.5e-6 * rectangular(0.05), WithinAbs(16.6, 0.05));
  CHECK_THAT(rectangular(1e-6), WithinAbs(0.58e-6, 0.005e-6));
  CHECK_THAT(rectangular(0.05), WithinAbs(0.029, 0.0005));
}

TEST_CASE("M1 end gauge: combined standard uncertainty", "[published][measure]") {
  const double u = combined(end_gauge_parts());
  CHECK_THAT(u, WithinAbs(32, 0.5));
  CHECK_THAT(u, WithinAbs(31.71, 0.005));  // printed in a worked repeat of the annex
  CHECK_THAT(u, WithinRel(31.7106096404, kTableDigits));
}

TEST_CASE("M1 end gauge: effective degrees of freedom", "[published][measure]") {
  const double degrees = effective_degrees_of_freedom(end_gauge_parts());
  CHECK(std::floor(degrees) == 16);  // printed, cut down to the whole number
  CHECK_THAT(degrees, WithinAbs(16.7, 0.05));
  CHECK_THAT(degrees, WithinRel(16.656062703, kTableDigits));
}

TEST_CASE("M1 end gauge: rounding u first spoils the degrees of freedom", "[published][measure]") {
  // The trap: 16.7 needs the unrounded u. The printed, rounded terms with 32 nm as numerator give 17.5.
  const std::vector<Part> rounded{{25, 18}, {9.7, 25.6}, {2.9, 50}, {16.6, 2}};
  const double with_rounded = effective_degrees_of_freedom(rounded) * std::pow(32 / combined(rounded), 4);
  CHECK_THAT(with_rounded, WithinAbs(17.5, 0.05));
}

TEST_CASE("M1 end gauge: expanded uncertainty for 99 per cent", "[published][measure]") {
  const double u = combined(end_gauge_parts());
  const double t = coverage_factor(0.99, 16);
  CHECK_THAT(t, WithinAbs(2.92, 0.005));
  CHECK_THAT(t, WithinRel(2.92078162243, kTableDigits));
  CHECK_THAT(t * u, WithinAbs(93, 0.5));
  CHECK_THAT(t * u, WithinAbs(92.62, 0.005));  // printed in a worked repeat of the annex
  CHECK_THAT(t * u, WithinRel(92.6197658737, kTableDigits));
  CHECK_THAT(t * 32, WithinAbs(93.465, 0.0005));
}

TEST_CASE("M1 end gauge: with the second-order terms", "[published][measure]") {
  const double first_order = combined(end_gauge_parts());
  CHECK_THAT(combined_uncertainty(std::array{first_order, 11.7, 1.7}), WithinAbs(34, 0.5));  // all printed
  // Recomputed with the rounded inputs, which make 11.9 of the 11.7.
  const double expansion_and_temperature = kGauge * 0.58e-6 * 0.41;
  const double expansion_and_difference = kGauge * 1.2e-6 * 0.029;
  CHECK_THAT(expansion_and_difference, WithinAbs(1.7, 0.05));
  CHECK_THAT(combined_uncertainty(std::array{first_order, expansion_and_temperature, expansion_and_difference}),
             WithinRel(33.9111495268, kTableDigits));
}

// --- M4. JCGM 100:2008, 4.4.3, 4.4.5, 4.4.6. The readings are from memory; they reproduce the printed
// results. ----------

constexpr std::array kTemperatures{96.90,  98.18,  98.25,  98.61,  99.03,  99.49,  99.56,  99.74,  99.89,  100.07,
                                   100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72};

TEST_CASE("M4 twenty readings: mean and its scatter", "[published][measure]") {
  const auto seen = repeats(kTemperatures);
  CHECK_THAT(seen.mean, WithinAbs(100.145, 1e-9));
  CHECK_THAT(seen.mean, WithinAbs(100.14, 0.0050001));  // printed: 100.145 cut, not rounded up
  CHECK_THAT(seen.deviation, WithinAbs(1.49, 0.005));
  CHECK_THAT(seen.deviation, WithinRel(1.48884448306, kTableDigits));
  CHECK_THAT(seen.deviation_of_mean, WithinAbs(0.33, 0.005));
  CHECK_THAT(seen.deviation_of_mean, WithinRel(0.332915747205, kTableDigits));
  CHECK(seen.degrees_of_freedom == 19);
}

TEST_CASE("M4 limits of 96 and 104 degrees: rectangular and triangular", "[published][measure]") {
  CHECK_THAT(rectangular(4), WithinAbs(2.3, 0.05));
  CHECK_THAT(rectangular(4), WithinRel(2.30940107676, kTableDigits));
  CHECK_THAT(triangular(4), WithinAbs(1.6, 0.05));
  CHECK_THAT(triangular(4), WithinRel(1.63299316186, kTableDigits));
}

// --- M5. Printed figures from memory, all recomputed. M5a and M5g through a meter: see meter_test.cpp.
// ------------------

TEST_CASE("M5a a step of the last digit", "[published][measure]") {  // F.2.2.1
  CHECK_THAT(from_resolution(1), WithinAbs(0.29, 0.005));
  CHECK_THAT(from_resolution(1), WithinRel(0.288675134594813, kTableDigits));
}

TEST_CASE("M5b bounds, all places alike", "[published][measure]") {  // 4.3.7
  CHECK_THAT(rectangular(1), WithinAbs(0.58, 0.005));
  CHECK_THAT(rectangular(1), WithinRel(0.577350269189626, kTableDigits));
}

TEST_CASE("M5c bounds, the middle likelier", "[published][measure]") {  // 4.3.9
  CHECK_THAT(triangular(1), WithinAbs(0.41, 0.005));
  CHECK_THAT(triangular(1), WithinRel(0.408248290463863, kTableDigits));
}

TEST_CASE("M5d an interval of 99 per cent", "[published][measure]") {  // 4.3.4, micro-ohm
  CHECK_THAT(from_coverage(129, 0.99), WithinAbs(50, 0.5));
  CHECK_THAT(from_coverage(129, 0.99), WithinRel(50.0809583237, kTableDigits));
}

TEST_CASE("M5e an interval of even odds", "[published][measure]") {  // 4.3.5, mm
  CHECK_THAT(from_coverage(0.04, 0.50), WithinAbs(0.06, 0.005));
  CHECK_THAT(from_coverage(0.04, 0.50), WithinRel(0.0593040887402, kTableDigits));
  CHECK_THAT(from_coverage(1, 0.50), WithinRel(1.482602218506, kTableDigits));
}

TEST_CASE("M5f bounds of an expansion coefficient", "[published][measure]") {  // 4.3.7 Example 1
  CHECK_THAT(rectangular(0.40e-6), WithinAbs(0.23e-6, 0.005e-6));
  CHECK_THAT(rectangular(0.40e-6), WithinRel(0.230940107676e-6, kTableDigits));
}

TEST_CASE("M5g half a division either way", "[published][measure]") {
  CHECK_THAT(rectangular(0.5), WithinAbs(0.29, 0.005));
  CHECK_THAT(rectangular(0.5), WithinRel(0.288675134594813, kTableDigits));
}

// --- M7. JCGM 100:2008, Table G.2. From memory, every entry recomputed from Student's t with the coverage as
// written in the head of the table.
// ----------------------------------------------------------------------------------------------

constexpr std::array kCoverage{0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973};

struct FactorRow {
  double degrees;
  std::array<double, kCoverage.size()> factor;
};

constexpr std::array<FactorRow, 15> kFactors{{{1, {1.84, 6.31, 12.71, 13.97, 63.66, 235.78}},
                                              {2, {1.32, 2.92, 4.30, 4.53, 9.92, 19.21}},
                                              {3, {1.20, 2.35, 3.18, 3.31, 5.84, 9.22}},
                                              {4, {1.14, 2.13, 2.78, 2.87, 4.60, 6.62}},
                                              {5, {1.11, 2.02, 2.57, 2.65, 4.03, 5.51}},
                                              {6, {1.09, 1.94, 2.45, 2.52, 3.71, 4.90}},
                                              {7, {1.08, 1.89, 2.36, 2.43, 3.50, 4.53}},
                                              {8, {1.07, 1.86, 2.31, 2.37, 3.36, 4.28}},
                                              {9, {1.06, 1.83, 2.26, 2.32, 3.25, 4.09}},
                                              {10, {1.05, 1.81, 2.23, 2.28, 3.17, 3.96}},
                                              {15, {1.03, 1.75, 2.13, 2.18, 2.95, 3.59}},
                                              {20, {1.03, 1.72, 2.09, 2.13, 2.85, 3.42}},
                                              {30, {1.02, 1.70, 2.04, 2.09, 2.75, 3.27}},
                                              {50, {1.01, 1.68, 2.01, 2.05, 2.68, 3.16}},
                                              {100, {1.01, 1.66, 1.98, 2.03, 2.63, 3.08}}}};

TEST_CASE("M7 Student coverage factors: the table", "[published][measure]") {
  for (const FactorRow& row : kFactors)
    for (std::size_t c = 0; c < kCoverage.size(); ++c) {
      CAPTURE(row.degrees, kCoverage[c]);
      CHECK_THAT(coverage_factor(kCoverage[c], row.degrees), WithinAbs(row.factor[c], 0.005));
    }
}

TEST_CASE("M7 Student coverage factors: the last row, infinite degrees of freedom", "[published][measure]") {
  CHECK_THAT(coverage_factor(0.6827, kInfinite), WithinAbs(1.00, 0.005));
  CHECK_THAT(coverage_factor(0.90, kInfinite), WithinAbs(1.645, 0.0005));
  CHECK_THAT(coverage_factor(0.95, kInfinite), WithinAbs(1.960, 0.0005));
  CHECK_THAT(coverage_factor(0.9545, kInfinite), WithinAbs(2.000, 0.0005));
  CHECK_THAT(coverage_factor(0.99, kInfinite), WithinAbs(2.576, 0.0005));
  CHECK_THAT(coverage_factor(0.9973, kInfinite), WithinAbs(3.000, 0.0005));
}

}  // namespace
