// Accuracy statements of meters (M6): percent of the reading with percent of the range or steps of the last
// digit. The printed figure is the bound; the standard uncertainty is that bound over the root of three (JCGM
// 100:2008, 4.3.7), recomputed.
#include "engine/measure/meter.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cmath>

#include "engine/measure/measurement.hpp"

namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using wheeltapper::measure::accuracy_bounds;
using wheeltapper::measure::combined_uncertainty;
using wheeltapper::measure::Meter;
using wheeltapper::measure::standard_uncertainty;

constexpr double kRounding = 1e-12;

Meter meter_for_volts() {
  Meter meter;
  meter.unit = wheeltapper::measure::unit("V");
  return meter;
}

double percent_of(double bounds, double of) { return 100 * bounds / of; }

TEST_CASE("M6a parts per million of reading and of range", "[published][measure]") {
  // JCGM 100:2008, 4.3.7 Example 2 and 5.1.5 (printed figures from memory: 15, 8.7 and 15 microvolt, 219e-12
  // V2).
  constexpr double kReading = 0.928571;
  Meter meter = meter_for_volts();
  meter.percent_of_reading = 14e-4;
  meter.percent_of_range = 2e-4;
  meter.range = 1;
  CHECK_THAT(accuracy_bounds(meter, kReading), WithinAbs(15e-6, 0.5e-6));
  CHECK_THAT(accuracy_bounds(meter, kReading), WithinAbs(14.9999940e-6, 0.5e-13));
  const double u = standard_uncertainty(meter, kReading);
  CHECK_THAT(u, WithinAbs(8.7e-6, 0.05e-6));
  CHECK_THAT(u, WithinAbs(8.66025e-6, 0.5e-11));
  const double with_scatter = combined_uncertainty(std::array{u, 12e-6});
  CHECK_THAT(with_scatter, WithinAbs(15e-6, 0.5e-6));
  CHECK_THAT(with_scatter, WithinAbs(14.80e-6, 0.005e-6));
  CHECK_THAT(with_scatter * with_scatter, WithinAbs(219e-12, 0.5e-12));
}

TEST_CASE("M6b percent of reading and one digit", "[published][measure]") {
  // Bell, Electronic Instrumentation and Measurements, 2nd ed., Example 6-2.
  Meter meter = meter_for_volts();
  meter.percent_of_reading = 0.6;
  meter.counts = 1;
  meter.step = 0.1;
  CHECK_THAT(accuracy_bounds(meter, 20), WithinAbs(0.22, kRounding));
  CHECK_THAT(percent_of(accuracy_bounds(meter, 20), 20), WithinAbs(1.1, kRounding));
  CHECK_THAT(standard_uncertainty(meter, 20), WithinRel(0.127017059222, 1e-9));
}

TEST_CASE("M6c percent of full scale of an analogue meter", "[published][measure]") {
  // Same example. It states no division, so nothing is added for reading it off.
  Meter meter = meter_for_volts();
  meter.percent_of_range = 2;
  meter.range = 25;
  CHECK_THAT(accuracy_bounds(meter, 20), WithinAbs(0.5, kRounding));
  CHECK_THAT(percent_of(accuracy_bounds(meter, 20), 20), WithinAbs(2.5, kRounding));
  CHECK_THAT(standard_uncertainty(meter, 20), WithinAbs(0.288675, 0.5e-6));
}

TEST_CASE("M6d percent of reading and one coarse digit", "[published][measure]") {
  // Rajput, Example 5.2.
  Meter meter = meter_for_volts();
  meter.percent_of_reading = 0.5;
  meter.counts = 1;
  meter.step = 0.005;
  CHECK_THAT(accuracy_bounds(meter, 2), WithinAbs(0.015, kRounding));
  CHECK_THAT(standard_uncertainty(meter, 2), WithinAbs(0.008660, 0.5e-6));
}

TEST_CASE("M6e percent of reading and two digits", "[published][measure]") {
  Meter meter = meter_for_volts();
  meter.percent_of_reading = 0.08;
  meter.counts = 2;
  meter.step = 0.001;
  CHECK_THAT(2.000 - accuracy_bounds(meter, 2.000), WithinAbs(1.9964, kRounding));
  CHECK_THAT(2.000 + accuracy_bounds(meter, 2.000), WithinAbs(2.0036, kRounding));
  CHECK_THAT(standard_uncertainty(meter, 2.000), WithinAbs(0.002078, 0.5e-6));
}

TEST_CASE("M6f percent of reading and percent of range", "[published][measure]") {
  Meter meter = meter_for_volts();
  meter.percent_of_reading = 0.0020;
  meter.percent_of_range = 0.0005;
  meter.range = 10;
  CHECK_THAT(accuracy_bounds(meter, 5), WithinAbs(150e-6, kRounding));
  CHECK_THAT(accuracy_bounds(meter, 5) / 5, WithinAbs(30e-6, kRounding));
  CHECK_THAT(standard_uncertainty(meter, 5), WithinAbs(86.6e-6, 0.05e-6));
}

TEST_CASE("M6g one per cent of full scale against one per cent of the value", "[published][measure]") {
  // Sawhney and Sawhney, Example 3.3.
  Meter of_scale = meter_for_volts();
  of_scale.percent_of_range = 1;
  of_scale.range = 1000;
  CHECK_THAT(100 - accuracy_bounds(of_scale, 100), WithinAbs(90, kRounding));
  CHECK_THAT(100 + accuracy_bounds(of_scale, 100), WithinAbs(110, kRounding));
  Meter of_value = meter_for_volts();
  of_value.percent_of_reading = 1;
  CHECK_THAT(100 - accuracy_bounds(of_value, 100), WithinAbs(99, kRounding));
  CHECK_THAT(100 + accuracy_bounds(of_value, 100), WithinAbs(101, kRounding));
}

TEST_CASE("M6h an error as per cent of the reading and of full scale", "[published][measure]") {
  // Gupta, Example 10.1: scale of 25 V. A meter has bounds without a sign, so the signs of the errors are
  // left out: the printed per cents, as an accuracy statement, must give back the sizes of the errors.
  struct Row {
    double reading;
    double error;
    double of_reading;  // printed
    double of_scale;    // printed
  };
  for (const Row& row : {Row{5, 0.25, 5, 1}, Row{10, 0.25, 2.5, 1}, Row{20, 0.4, 2, 1.6}}) {
    CAPTURE(row.reading);
    Meter by_reading = meter_for_volts();
    by_reading.percent_of_reading = row.of_reading;
    CHECK_THAT(accuracy_bounds(by_reading, row.reading), WithinAbs(row.error, kRounding));
    Meter by_scale = meter_for_volts();
    by_scale.percent_of_range = row.of_scale;
    by_scale.range = 25;
    CHECK_THAT(accuracy_bounds(by_scale, row.reading), WithinAbs(row.error, kRounding));
  }
}

TEST_CASE("M6 what one digit means", "[published][measure]") {
  // +1 digit on 1.4869 A is 0.0001 A; +4 digits on 166.51 mV is 0.04 mV.
  Meter amps;
  amps.unit = wheeltapper::measure::unit("A");
  amps.counts = 1;
  amps.step = 0.0001;
  CHECK_THAT(accuracy_bounds(amps, 1.4869), WithinAbs(0.0001, kRounding));
  Meter millivolts;
  millivolts.unit = wheeltapper::measure::unit("mV");
  millivolts.counts = 4;
  millivolts.step = 0.01;
  CHECK_THAT(accuracy_bounds(millivolts, 166.51), WithinAbs(0.04, kRounding));
}

TEST_CASE("M5a a digital meter that states no digits: its rounding", "[published][measure]") {
  Meter meter = meter_for_volts();
  meter.step = 0.1;
  CHECK_THAT(standard_uncertainty(meter, 20), WithinRel(0.288675134594813 * 0.1, 1e-9));
}

TEST_CASE("M5g an analogue scale read to half a division", "[published][measure]") {
  Meter meter = meter_for_volts();
  meter.division = 1;
  meter.read_to = 0.5;
  CHECK_THAT(standard_uncertainty(meter, 20), WithinAbs(0.29, 0.005));
  CHECK_THAT(standard_uncertainty(meter, 20), WithinRel(0.288675134594813, 1e-9));
}

}  // namespace
