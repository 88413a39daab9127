#include <array>
#include <catch2/catch.hpp>

#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"
#include "engine/measure/verdict.hpp"

using namespace wheeltapper::measure;

TEST_CASE("units are found by code and by what people type", "[measure]") {
  CHECK(find_unit("A")->code == "A");
  CHECK(find_unit("amps")->code == "A");
  CHECK(find_unit("in")->code == "[in_i]");
  CHECK(find_unit("F")->code == "[degF]");
  CHECK(find_unit("laps/min")->code == "/min");
  CHECK(find_unit("mA")->code == "mA");
  CHECK(find_unit("Mohm")->code == "MOhm");
  CHECK(find_unit("mohm")->code == "mOhm");
  CHECK_FALSE(find_unit("MV").has_value());
  CHECK_FALSE(find_unit("furlong").has_value());
  CHECK_FALSE(find_unit("").has_value());
}

TEST_CASE("conversion takes the offset for values and leaves it for differences", "[measure]") {
  CHECK(convert(212, unit("[degF]"), unit("Cel")) == Approx(100));
  CHECK(convert_difference(18, unit("[degF]"), unit("Cel")) == Approx(10));
  CHECK(convert(140, unit("[in_i]"), unit("m")) == Approx(3.556));
  CHECK_THROWS_AS(convert(1, unit("A"), unit("V")), wheeltapper::input::InputError);
}

TEST_CASE("typed readings", "[measure]") {
  CHECK(parse_typed("2.3 A").value == 2.3);
  CHECK(parse_typed("2.3A").unit.code == "A");
  CHECK(parse_typed("2.3 A +- 0.05").uncertainty == Approx(0.05 / std::sqrt(3.0)));
  CHECK(parse_typed("2.3 +- 0.05 A").uncertainty == Approx(0.05 / std::sqrt(3.0)));
  CHECK(parse_typed("2.3 A ± 50 mA").uncertainty == Approx(0.05 / std::sqrt(3.0)));
  CHECK(parse_typed("2.3 A u 0.03").uncertainty == 0.03);
  for (const char* wrong :
       {"", "A", "2.3", "2,3 A", "2.3 A +- ", "2.3 A +- -1", "1e999 A", "nan A", "2.3 zorks", "2.3 A u 6 in"}) {
    CAPTURE(wrong);
    CHECK_THROWS_AS(parse_typed(wrong), wheeltapper::input::InputError);
  }
}

TEST_CASE("a measurement refuses what it cannot be", "[measure]") {
  CHECK_THROWS_AS(Measurement(1, 0, unit("A")), wheeltapper::input::DomainError);
  CHECK_THROWS_AS(Measurement(1, -1, unit("A")), wheeltapper::input::DomainError);
  CHECK_THROWS_AS(Measurement(std::numeric_limits<double>::quiet_NaN(), 1, unit("A")), wheeltapper::input::DomainError);
}

TEST_CASE("readings are shown with the digits that they deserve", "[measure]") {
  CHECK(show_with_uncertainty({2.4, 0.046, unit("A")}) == "2.40 ± 0.09 A");
  CHECK(show_with_uncertainty({8.5, 0.085, unit("/min")}) == "8.50 ± 0.17/min");
  CHECK(show({68, 2, unit("Cel")}) == "68 °C");
  CHECK(show({1.7, 0.025, unit("A")}) == "1.70 A");                // beside "1.70 ± 0.05 A"
  for (const double u : {0.0004, 0.012, 0.02, 0.046, 0.3, 7.0}) {  // one rule for both
    const std::string both = show_with_uncertainty({123.456789, u, unit("A")});
    CHECK(both.substr(0, both.find(' ')) + " A" == show({123.456789, u, unit("A")}));
  }
}

TEST_CASE("too close to call says what settles it", "[measure]") {
  const Limits limits{{}, 2.0, unit("A")};
  const Measurement reading(1.97, 0.03, unit("A"));
  CHECK(judge(reading, limits).call == Call::too_close);
  // Distance 0.03 A; 1.645 standard uncertainties must fit into it: 0.0182 A. With 0.01 A fixed the runs must bring
  // 0.03 / sqrt(n) under sqrt(0.0182^2 - 0.01^2) = 0.0152: n = 4.
  const Settling settling = what_settles(reading, limits, 0.03, 0.01);
  REQUIRE(settling.runs.has_value());
  CHECK(*settling.runs == 4);
  CHECK(settling.meter_uncertainty == Approx(0.03 / 1.6448536269514722));
  CHECK_FALSE(what_settles(reading, limits, 0.001, 0.02).runs.has_value());
}

TEST_CASE("what settles a reading between two close limits", "[measure]") {
  const Limits limits{.at_least = 1.9, .at_most = 2.1, .unit = unit("A")};
  const Measurement middle(2.0, 0.06, unit("A"));
  REQUIRE(judge(middle, limits).call == Call::too_close);
  const Settling settling = what_settles(middle, limits, 0.06, 0);
  // Both tails count: 95 % within +-0.1 asks for 0.1 / 1.96, where one limit alone would let 0.1 / 1.645 pass.
  CHECK(settling.meter_uncertainty == Approx(0.1 / 1.959964).epsilon(1e-6));
  REQUIRE(settling.runs);
  CHECK(*settling.runs == 2);
  CHECK(what_settles(middle, limits, 0.06, 0, 0.5).runs == 2);  // any demand in range is taken
  CHECK(what_settles(Measurement(2.1, 0.01, unit("A")), limits, 0.01, 0).meter_uncertainty == Approx(0).margin(1e-9));
}

TEST_CASE("extreme uncertainties stay numbers", "[measure]") {
  CHECK(std::isinf(coverage_factor(std::nextafter(1.0, 0.0), 1e-3)));
  CHECK(effective_degrees_of_freedom(std::vector<Part>{{1e-100, 5}, {1e-100, 5}}) == Approx(10));
  CHECK(show_with_uncertainty(Measurement(1.5e-7, 1e-8, unit("A"))) == "1.5e-07 ± 2.0e-08 A");
  const Limits inverted{.at_least = 2, .at_most = 1, .unit = unit("A")};
  CHECK_THROWS_AS(conformance(Measurement(1, 0.1, unit("A")), inverted), wheeltapper::input::DomainError);
  const Limits no_number{.at_least = std::nan(""), .at_most = {}, .unit = unit("A")};
  CHECK_THROWS_AS(conformance(Measurement(1, 0.1, unit("A")), no_number), wheeltapper::input::DomainError);
}
