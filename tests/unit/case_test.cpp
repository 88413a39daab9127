#include <catch2/catch.hpp>

#include "engine/bench/analysis.hpp"
#include "engine/cases/diagnose.hpp"
#include "engine/input/problem.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;

namespace {

cases::Case read(const std::string& text) { return cases::read_case(text, "case.json", *tests::small_catalogue()); }

}  // namespace

TEST_CASE("meters, repeats and typical uncertainties", "[job]") {
  const auto the_case = read(R"({"title": "t", "locomotive": {"family": "ac-series"},
    "rig": {"meters": {"amps": {"unit": "A", "percent-of-reading": 1.5, "counts": 2, "step": 0.01}}},
    "runs": [{"kind": "loaded", "laps": 5, "time": ["33 s", "34 s", "35 s"],
              "readings": {"amps": "2000 mA", "rail-volts": "12 V", "motor-temperature": "140 F"}}]})");
  const auto& readings = the_case.session.runs.at(0).readings;
  CHECK(readings.at("amps").value.value() == Approx(2.0));
  CHECK(readings.at("amps").value.uncertainty() == Approx((0.03 + 0.02) / std::sqrt(3.0)));
  CHECK_FALSE(readings.at("amps").assumed_uncertainty);
  CHECK(readings.at("rail-volts").assumed_uncertainty);
  CHECK(readings.at("motor-temperature").value.value() == Approx(60));
  CHECK(readings.at("lap-rate").value.value() == Approx(300.0 / 34));
  CHECK(readings.at("lap-rate").repeats.size() == 3);
  CHECK(readings.at("lap-rate").value.degrees_of_freedom() == 2);
}

TEST_CASE("a misspelt id gets the nearest one", "[job]") {
  try {
    read(R"({"title": "t", "locomotive": {"family": "ac-series"}, "answers": {"squeel": "yes"}})");
    FAIL("not refused");
  } catch (const input::BadInput& bad) {
    CHECK_THAT(bad.what(), Catch::Contains("did you mean \"squeal\"?"));
  }
}

TEST_CASE("what was not seen is not a no", "[job]") {
  const auto the_case = read(R"({"title": "t", "locomotive": {"family": "ac-series"},
    "answers": {"squeal": "not seen", "lamp-dim": "unsure", "hot-after-short-run": "no"}})");
  CHECK(the_case.observations.answers.size() == 1);
}

TEST_CASE("nothing wrong is said only when nothing speaks for a fault", "[job]") {
  const auto fine = read(R"({"title": "t", "locomotive": {"family": "ac-series"}, "answers": {"squeal": "no"}})");
  CHECK_FALSE(cases::diagnose(tests::small_catalogue(), fine).nothing_wrong);  // no run was judged
  const std::string run = R"("kind": "loaded", "readings": {"amps": "1.7 A"}})";
  const std::string judged = R"({"title": "t", "locomotive": {"family": "ac-series"}, "limits": [
    {"quantity": "amps", "run": "loaded", "at-most": "2 A"}], "runs": [{"direction": "forward", )" +
                             run;
  const auto both =
      cases::diagnose(tests::small_catalogue(), read(judged + R"(, {"direction": "reverse", )" + run + "]}"));
  CHECK(both.nothing_wrong);
  CHECK_FALSE(both.unsettled);
  const auto one_way = cases::diagnose(tests::small_catalogue(), read(judged + "]}"));
  CHECK_FALSE(one_way.nothing_wrong);
  CHECK(one_way.unsettled);
  const auto squeals = read(R"({"title": "t", "locomotive": {"family": "ac-series"}, "answers": {"squeal": "yes"}})");
  CHECK_FALSE(cases::diagnose(tests::small_catalogue(), squeals).nothing_wrong);
}

TEST_CASE("what was told and does not fit is remarked on", "[job]") {
  const auto result =
      cases::diagnose(tests::small_catalogue(), read(R"({"title": "t", "locomotive": {"family": "ac-series"},
    "runs": [{"kind": "loaded", "direction": "forward", "readings": {"lap-rate": "8 /min"}},
             {"kind": "standing", "readings": {"rail-volts": "14 V"}}],
    "answers": {"dead-silent": "yes", "hums-no-move": "yes", "does-not-move": "yes"}})"));
  const auto remarked = [&](std::string_view text) {
    return std::ranges::any_of(result.remarks, [&](const std::string& r) { return r.find(text) != std::string::npos; });
  };
  CHECK(remarked("can't both be"));
  CHECK(remarked("the readings say otherwise"));
  CHECK(remarked("Read but not used"));
}

TEST_CASE("too many findings at once: the plainest are left out, and it is said", "[job]") {
  const auto the_case = read(R"({"title": "t", "locomotive": {"family": "ac-series"}, "answers": {"squeal": "yes",
    "slow-or-weak": "yes", "runs-in-fits": "yes", "hot-after-short-run": "yes", "sparks-anywhere": "yes"}})");
  cases::DiagnoseSettings settings;
  settings.belief.limits.states = 8;
  settings.belief.sets = 0;
  settings.belief.explained = 0;
  const auto result = cases::diagnose(tests::small_catalogue(), the_case, settings);
  CHECK(result.belief.approximate);
  CHECK_FALSE(result.belief.evidence.dropped.empty());
}

TEST_CASE("neutral is said in the words of the family", "[job]") {
  auto items = tests::small_items();
  items.families.front().neutral = "at speed step zero";
  const catalogue::Catalogue other(items);
  const std::string text = R"({"title": "t", "locomotive": {"family": "ac-series"},
    "healthy": {"runs": [{"kind": "loaded", "laps": 5, "time": "31.25 s", "readings": {"amps": "2.15 A", "rail-volts": "12 V"}}]},
    "runs": [{"kind": "loaded", "laps": 5, "time": "40 s", "readings": {"amps": "2.2 A", "rail-volts": "12 V"}}]})";
  const auto notes = bench::analyse(cases::read_case(text, "case.json", other).session).notes;
  REQUIRE(notes.size() == 1);
  CHECK_THAT(notes.front(), Catch::EndsWith("read them with the locomotive at speed step zero."));
}
