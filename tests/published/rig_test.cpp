// Sums about the rig: copper, leads, waves, warmth, loops and scale speed, against standards and textbook problems.
#include "engine/bench/rig.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "engine/bench/session.hpp"
#include "engine/bench/warmth.hpp"
#include "engine/bench/wire.hpp"
#include "engine/measure/propagate.hpp"

namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using namespace wheeltapper::bench;
namespace measure = wheeltapper::measure;

constexpr double kInch = 0.0254;
constexpr double kFoot = 12 * kInch;

TEST_CASE("E1, E2 wire gauges and their ohms", "[published][rig]") {
  // ASTM B258 diameters; ohms of 1000 ft at 20 C as printed in public wire tables (hyperphysics, cirris), half a unit
  // of the last printed digit.
  struct Row {
    int gauge;
    double inch, mm, mm2, ohms, half;
  };
  for (const Row& row :
       {Row{14, 0.06408, 1.6277, 2.0809, 2.525, 0.0005}, Row{16, 0.05082, 1.2908, 1.3087, 4.016, 0.0005},
        Row{18, 0.04030, 1.0237, 0.8230, 6.385, 0.0005}, Row{20, 0.03196, 0.8118, 0.5176, 10.15, 0.005},
        Row{22, 0.02535, 0.6438, 0.3255, 16.14, 0.005}, Row{24, 0.02010, 0.5106, 0.2047, 25.67, 0.005},
        Row{26, 0.01594, 0.4049, 0.1288, 40.81, 0.005}, Row{28, 0.01264, 0.3211, 0.0810, 64.90, 0.005},
        Row{30, 0.01003, 0.2546, 0.0509, 103.2, 0.05}}) {
    INFO("gauge " << row.gauge);
    CHECK_THAT(awg_diameter(row.gauge) / kInch, WithinAbs(row.inch, 0.5e-5));
    CHECK_THAT(awg_diameter(row.gauge) * 1e3, WithinAbs(row.mm, 0.5e-4));
    CHECK_THAT(awg_area(row.gauge) * 1e6, WithinAbs(row.mm2, 0.5e-4));
    const Wire wire = parse_wire(std::to_string(row.gauge) + " AWG");
    CHECK_THAT(ohms_a_metre(wire) * 1000 * kFoot, WithinAbs(row.ohms, row.half));
  }
  CHECK_THAT(awg_diameter(14) / awg_diameter(15), WithinRel(1.1229321965, 1e-9));
  CHECK_THAT(awg_area(14) / awg_area(17), WithinRel(2.0050315195, 1e-9));
}

TEST_CASE("E3 ohms at 75 C", "[published][rig]") {
  // NEC chapter 9 table 8, uncoated solid copper, within 0.15 % (the code rounds circular mils first).
  for (const auto& [gauge, ohms] : {std::pair{18, 7.77}, {16, 4.89}, {14, 3.07}, {12, 1.93}, {10, 1.21}})
    CHECK_THAT(ohms_a_metre({awg_area(gauge), {}}, 75) * 1000 * kFoot, WithinRel(ohms, gauge == 10 ? 0.004 : 0.0015));
}

TEST_CASE("E4 standard copper", "[published][rig]") {
  // IEC 60028:1925.
  CHECK_THAT(kCopperOhmMetre * 1e6, WithinAbs(0.017241, 0.5e-6));
  CHECK_THAT(intercept_of(kCopperAlpha20, 20), WithinAbs(234.453, 0.0005));
}

TEST_CASE("E5 temperature rise by resistance, and the trap of the reference temperature", "[published][rig]") {
  // E5a, d: Kulshreshtha, Basic Electrical Engineering, Examples 2.18 and 2.17: alpha at 0 C.
  CHECK_THAT(winding_rise(3.42, 4.22, 20, 20, intercept_of(0.00426, 0)), WithinAbs(59.59, 0.005));
  CHECK_THAT(winding_rise(3.42, 4.22, 20, 20), WithinAbs(59.649, 0.0005));
  const double k = intercept_of(0.00426, 0);
  CHECK_THAT(126 * (k - 35) / (k + 20), WithinAbs(98.80, 0.005));
  CHECK_THAT(ohms_at(126, 1 / (k + 20), 20, -35), WithinAbs(98.80, 0.005));
  // E5b: a public forum problem: k = 234.5.
  CHECK_THAT(winding_rise(80, 100, 20, 20, 234.5), WithinAbs(63.63, 0.006));  // printed 63.63; 63.625 in full
  CHECK_THAT(winding_rise(80, 100, 20, 20, 234.5), WithinAbs(63.625, 1e-9));
  CHECK_THAT(winding_rise(80, 100, 20, 20), WithinAbs(63.75, 1e-9));
  // E5c: the same 4.3e-3 a degree, but taken AT 20 C: it ends at 57 C, not at the
  // 60.8 of k = 235.
  CHECK_THAT(20 + winding_rise(50, 58, 20, 20, intercept_of(4.3e-3, 20)), WithinAbs(57.209, 0.0005));
  CHECK_THAT(20 + winding_rise(50, 58, 20, 20), WithinAbs(60.80, 0.005));
  // E5e: 0.15 Ohm at 25 C, alpha at 25 C; loss at 30 A from 135 to 180 W.
  CHECK_THAT(ohms_at(0.15, 0.00393, 25, 110), WithinAbs(0.200, 0.0005));
  CHECK_THAT(ohms_at(0.15, 0.00393, 25, 110), WithinAbs(0.2001075, 1e-9));
  CHECK_THAT(30 * 30 * ohms_at(0.15, 0.00393, 25, 110), WithinAbs(180, 0.5));
}

TEST_CASE("E6 thermal classes", "[published][rig]") {
  // IEC 60085.
  for (const auto& [letter, celsius] : {std::pair{"Y", 90.0},
                                        {"A", 105},
                                        {"E", 120},
                                        {"B", 130},
                                        {"F", 155},
                                        {"H", 180},
                                        {"200", 200},
                                        {"220", 220},
                                        {"250", 250}})
    CHECK(thermal_class(letter)->celsius == celsius);
  CHECK_FALSE(thermal_class("Z"));
  CHECK(class_for(110)->letter == "E");
  CHECK_FALSE(class_for(251));
}

TEST_CASE("E7 voltage drop of leads", "[published][rig]") {
  // A public worked example: 24 V, 0.8 A, 250 ft of 14 AWG at 2.525 Ohm for 1000 ft: 1.2625 Ohm, 1.01 V.
  const Leads leads{.wire = parse_wire("14 AWG"), .length = 250 * kFoot};
  CHECK_THAT(lead_ohms(leads), WithinAbs(1.2625, 0.0005));
  CHECK_THAT(lead_drop(leads, 0.8), WithinAbs(1.01, 0.005));
  CHECK_THAT(lead_drop({.wire = leads.wire, .length = 500 * kFoot}, 0.8), WithinAbs(2.02, 0.005));
  // OpenStax, University Physics vol. 2, 9.3: 20.0 m of 2.053 mm copper at 1.68e-8 Ohm m: 0.10 Ohm.
  const double area = parse_wire("2.053 mm").area;
  CHECK_THAT(ohms_a_metre({area, {}}) / kCopperOhmMetre * 1.68e-8 * 20.0, WithinAbs(0.10150127, 5e-9));
  // Kulshreshtha, Examples 2.1 and 2.2: length x4 at half the diameter 5 -> 80 Ohm; drawn to three times: 10 -> 90.
  CHECK_THAT(5 * 4 * ohms_a_metre({area / 4, {}}) / ohms_a_metre({area, {}}), WithinRel(80.0, 1e-12));
  CHECK_THAT(10 * 3 * ohms_a_metre({area / 3, {}}) / ohms_a_metre({area, {}}), WithinRel(90.0, 1e-12));
  // OpenStax: 25 m of 0.100 mm gold wire, 2.44e-8 Ohm m, alpha 0.0034 at 20 C: 112 Ohm at 150 C.
  const double gold = 2.44e-8 / (std::numbers::pi * 0.05e-3 * 0.05e-3) * 25.0;
  CHECK_THAT(ohms_at(gold, 0.0034, 20, 150), WithinAbs(111.9967, 0.00005));
  // Copper 0.500 (alpha 0.0039) and iron 0.525 Ohm (0.0065) at 20 C are equal at 2.91 C.
  CHECK_THAT(ohms_at(0.500, 0.0039, 20, 2.905982906), WithinAbs(ohms_at(0.525, 0.0065, 20, 2.905982906), 1e-9));
}

TEST_CASE("E13 extra-low voltage", "[published][rig]") {
  CHECK(kExtraLow.ac == 50);  // IEC 61558-1:2005, 3.7.16
  CHECK(kExtraLow.dc == 120);
  CHECK(kUntouchedDryIndoors.ac == 25);  // EN 60204, PELV, dry and indoors
  CHECK(kUntouchedDryIndoors.dc == 60);
  CHECK(kToyVolts == 24);  // Directive 2009/48/EC
  // The reversing pulse of NEM 640 stays below what needs no protection against touch.
  CHECK(kAcReversingPulseVolts <= kUntouchedDryIndoors.ac);
}

TEST_CASE("E14, R2 mean and effective value of rectified waves", "[published][rig]") {
  // NEM 630, edition 1982: k = 1, 0.90, 0.64.
  CHECK(mean_factor(Wave::pure_dc) == 1);
  CHECK_THAT(mean_factor(Wave::full_wave), WithinAbs(0.90, 0.005));
  CHECK_THAT(mean_factor(Wave::half_wave), WithinAbs(0.64, 0.005));
  CHECK_THAT(mean_factor(Wave::full_wave), WithinAbs(0.9003163162, 5e-11));
  CHECK_THAT(mean_factor(Wave::half_wave), WithinAbs(0.6366197724, 5e-11));
  CHECK_THAT(1 / mean_factor(Wave::full_wave), WithinAbs(1.1107207345, 5e-11));  // form factor
  // A chopped wave, by numerical integration of the sine itself.
  for (const double angle : {0.0, 0.5, std::numbers::pi / 2, 2.5}) {
    double mean = 0;
    double square = 0;
    constexpr int kSteps = 200000;
    for (int i = 0; i < kSteps; ++i) {
      const double t = (i + 0.5) * std::numbers::pi / kSteps;
      const double v = t < angle ? 0 : std::sin(t);
      mean += v / kSteps;
      square += v * v / kSteps;
    }
    CHECK_THAT(average_meter_share(angle), WithinRel(mean * 1.1107207345395915 / std::sqrt(square), 2e-5));
  }
  CHECK_THAT(average_meter_share(std::numbers::pi / 2), WithinAbs(std::numbers::sqrt2 / 2, 1e-12));
}

TEST_CASE("R1, R2 nominal volts", "[published][rig]") {
  CHECK(kNominalAcVolts == 16);  // NEM 640, edition 1988
  CHECK(kAcReversingPulseVolts == 24);
  CHECK(kAcReversingPulseLeast == 0.1);
  CHECK(kAcReversingPulseMost == 3);
  CHECK(nominal_dc_volts(6.5) == 8);  // NEM 630, edition 1982
  CHECK(nominal_dc_volts(9) == 12);
  CHECK(nominal_dc_volts(22.5) == 12);
  CHECK(nominal_dc_volts(32) == 16);
  CHECK(nominal_dc_volts(45) == 16);
}

TEST_CASE("R6 scale speed", "[published][rig]") {
  // Hobby forums and a public tips page; the sums are exact.
  CHECK_THAT(scale_miles_an_hour(18 * kInch / 5.2, 87.1), WithinAbs(17.1, 0.05));
  CHECK_THAT(scale_miles_an_hour(18 * kInch / 5.2, 87.1), WithinAbs(17.130681818, 5e-10));
  CHECK_THAT(scale_miles_an_hour(kFoot, 32), WithinAbs(21.8, 0.05));
  // With a clock four times as fast, scale speed counts four times.
  CHECK_THAT(1.517241379 * 4 * scale_miles_an_hour(kInch, 87), WithinAbs(30, 1e-6));
  CHECK_THAT(4 * scale_miles_an_hour(6 * kInch, 87), WithinAbs(118.636363636, 5e-10));
  CHECK_THAT(scale_miles_an_hour(kInch, 87.1), WithinAbs(4.948863636, 5e-10));
  CHECK_THAT(scale_miles_an_hour(kFoot, 87.1), WithinAbs(59.386363636, 5e-10));
  CHECK_THAT(scale_km_an_hour(1, 87), WithinAbs(87 * 3.6, 1e-9));
}

TEST_CASE("A loop of twelve curved and two straight pieces of ten inches", "[published][rig]") {
  // Common practice, no source: 140 in once round, so nine laps a minute are 21 in a second.
  const std::array pieces{Section{.radius = {}, .degrees = 30, .length = 10 * kInch, .count = 12},
                          Section{.radius = {}, .degrees = 0, .length = 10 * kInch, .count = 2}};
  const LoopLength loop = loop_length(pieces);
  CHECK_THAT(loop.metres / kInch, WithinAbs(140, 1e-9));
  CHECK_THAT(loop.turned, WithinAbs(360, 1e-9));
  CHECK_THAT(loop.curve_share, WithinAbs(120.0 / 140, 1e-12));
  const measure::Measurement speed =
      track_speed({9, 0.1, measure::unit("/min")}, {loop.metres, 0.01, measure::unit("m")});
  CHECK_THAT(speed.in(measure::unit("[in_i]/s")).value(), WithinAbs(21, 1e-9));
  // Twelve pieces of 30 degrees on 19 in and four straights of 10 in: 159.4 in (recomputed: 2 pi 19 + 40).
  const std::array other{Section{.radius = 19 * kInch, .degrees = 30, .length = {}, .count = 12},
                         Section{.radius = {}, .degrees = 0, .length = 10 * kInch, .count = 4}};
  CHECK_THAT(loop_length(other).metres / kInch, WithinAbs(159.4, 0.05));
}

TEST_CASE("M2 resistance and reactance from correlated volts, amps and phase", "[published][measure]") {
  // JCGM 100:2008, H.2, Tables H.2 to H.4; full figures recomputed in R.
  Eigen::MatrixXd sets(5, 3);
  sets << 5.007, 19.663e-3, 1.0456, 4.994, 19.639e-3, 1.0438, 5.005, 19.640e-3, 1.0468, 4.990, 19.685e-3, 1.0428, 4.999,
      19.678e-3, 1.0433;
  const measure::Estimates in = measure::means_of_sets(sets);
  CHECK_THAT(in.uncertainty(0), WithinAbs(0.0032, 0.00005));
  CHECK_THAT(in.uncertainty(1), WithinAbs(0.0095e-3, 0.00005e-3));
  CHECK_THAT(in.uncertainty(2), WithinAbs(0.00075, 0.000005));
  CHECK_THAT(in.correlation(0, 1), WithinAbs(-0.36, 0.005));
  CHECK_THAT(in.correlation(0, 2), WithinAbs(0.86, 0.005));
  CHECK_THAT(in.correlation(1, 2), WithinAbs(-0.65, 0.005));
  const auto model = [](const Eigen::VectorXd& x) {
    const double z = x(0) / x(1);
    return Eigen::VectorXd(Eigen::Vector3d(z * std::cos(x(2)), z * std::sin(x(2)), z));
  };
  const measure::Estimates out = measure::propagate(in, model);
  CHECK_THAT(out.value(0), WithinAbs(127.732169928, 5e-10));
  CHECK_THAT(out.value(1), WithinAbs(219.846511913, 5e-10));
  CHECK_THAT(out.value(2), WithinAbs(254.259701948, 5e-10));
  CHECK_THAT(out.uncertainty(0), WithinRel(0.071071407397, 1e-6));
  CHECK_THAT(out.uncertainty(1), WithinRel(0.295581677359, 1e-6));
  CHECK_THAT(out.uncertainty(2), WithinRel(0.236336130082, 1e-6));
  CHECK_THAT(out.correlation(0, 1), WithinAbs(-0.588429784424, 1e-6));
  CHECK_THAT(out.correlation(0, 2), WithinAbs(-0.485259224210, 1e-6));
  CHECK_THAT(out.correlation(1, 2), WithinAbs(0.992511648949, 1e-6));
  // Without the correlations: 0.195, 0.201, 0.204.
  measure::Estimates alone = in;
  alone.covariance = in.covariance.diagonal().asDiagonal();
  const measure::Estimates apart = measure::propagate(alone, model);
  CHECK_THAT(apart.uncertainty(0), WithinAbs(0.195, 0.0005));
  CHECK_THAT(apart.uncertainty(1), WithinAbs(0.201, 0.0005));
  CHECK_THAT(apart.uncertainty(2), WithinAbs(0.204, 0.0005));
  // By sampling the same, to its own scatter.
  const measure::Sampled drawn = measure::propagate_by_sampling(in, model, 200000, 7);
  CHECK_THAT(drawn.result.uncertainty(0), WithinRel(0.0710714, 0.01));
  CHECK_THAT(drawn.result.correlation(0, 1), WithinAbs(-0.5884, 0.01));
  CHECK_THAT(drawn.high(2) - drawn.low(2), WithinRel(2 * 1.96 * 0.236336, 0.01));
}

}  // namespace
