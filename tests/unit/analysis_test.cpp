#include "engine/bench/analysis.hpp"

#include <catch2/catch.hpp>

#include "engine/bench/level_rule.hpp"
#include "engine/cases/case.hpp"
#include "engine/report/bench_page.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;

namespace {

bench::Session session(const std::string& more) {
  static const auto catalogue = tests::small_catalogue();
  return cases::read_case(R"({"title": "t", "locomotive": {"family": "ac-series"}, )" + more + "}", "case.json",
                          *catalogue)
      .session;
}

const bench::Figure* figure(const bench::BenchAnalysis& analysis, const std::string& id) {
  const auto found = std::ranges::find(analysis.figures, id, &bench::Figure::id);
  return found == analysis.figures.end() ? nullptr : &*found;
}

const std::string kHealthy =
    R"("healthy": {"same-meters": true, "runs": [
      {"kind": "loaded", "laps": 5, "time": "31.25 s", "readings": {"amps": "2.15 A", "rail-volts": "12 V"}},
      {"kind": "light", "laps": 5, "time": "21.3 s", "readings": {"amps": "1.95 A", "rail-volts": "12 V"}},
      {"kind": "neutral", "readings": {"amps": "0.55 A"}}]})";

}  // namespace

TEST_CASE("without a second run or a baseline nothing is said of the drive", "[analysis]") {
  const auto s = session(
      R"("runs": [{"kind": "loaded", "laps": 5, "time": "40 s", "readings": {"amps": "2.2 A", "rail-volts": "12 V"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  CHECK(analysis.drives.empty());
  CHECK(analysis.figures.empty());
}

TEST_CASE("limits serve as a rough baseline that is shown but no evidence", "[analysis]") {
  const auto s = session(
      R"("limits": [{"quantity": "amps", "at-most": "2.4 A", "rail-volts": "12 V"}, {"quantity": "lap-rate", "at-least": "9 /min"}],
         "runs": [{"kind": "loaded", "laps": 5, "time": "40 s", "readings": {"amps": "2.2 A", "rail-volts": "12 V"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  REQUIRE(analysis.drives.size() == 1);
  CHECK(analysis.drives[0].against == bench::Against::limits);
  CHECK(figure(analysis, "drag-ratio") == nullptr);
  REQUIRE_FALSE(analysis.notes.empty());
  CHECK(analysis.notes[0].find("limits") != std::string::npos);
}

TEST_CASE("usual values serve as a baseline", "[analysis]") {
  const auto s = session(
      R"("usual": [{"quantity": "amps", "value": "2.15 A"}, {"quantity": "lap-rate", "value": "9.6 /min"},
                   {"quantity": "rail-volts", "value": "12 V"}],
         "runs": [{"kind": "loaded", "laps": 5, "time": "43.8 s", "readings": {"amps": "2.5 A", "rail-volts": "12 V"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  REQUIRE(analysis.drives.size() == 1);
  CHECK(analysis.drives[0].against == bench::Against::usual);
  REQUIRE(figure(analysis, "drag-ratio") != nullptr);
  CHECK(figure(analysis, "drag-ratio")->chance_above(1.05) > 0.5);
}

TEST_CASE("slip, droop and drift", "[analysis]") {
  const auto s = session(kHealthy + R"(, "runs": [
      {"kind": "loaded", "minute": 1, "laps": 5, "time": "33 s", "readings": {"amps": "2.2 A", "rail-volts": "12 V", "slip-amps": "2.0 A"}},
      {"kind": "loaded", "minute": 10, "laps": 5, "time": "40 s", "readings": {"amps": "2.5 A", "rail-volts": "12 V"}},
      {"kind": "light", "laps": 5, "time": "18 s", "readings": {"amps": "1.9 A"}},
      {"kind": "neutral", "readings": {"amps": "0.75 A"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  CHECK(figure(analysis, "slip-share")->chance_above(1.0) > 0.9);      // 1.45 A over 1.25 A
  CHECK(figure(analysis, "droop-ratio")->chance_above(1.2) > 0.9);     // 45 % lost where 32 % are healthy
  CHECK(figure(analysis, "amps-drift")->chance_above(0.1) > 0.9);      // 2.2 to 2.5 A
  CHECK(figure(analysis, "speed-drift")->chance_above(-0.083) < 0.1);  // 33 to 40 s
  CHECK(figure(analysis, "parallel-amps-rise")->chance_above(0.1) > 0.9);
  CHECK(std::ranges::any_of(analysis.drives, [](const auto& d) {
    return d.against == bench::Against::first_minutes && d.result.indexes.has_value();
  }));
}

TEST_CASE("the rig's losses, and what leads alone can't explain", "[analysis]") {
  const auto s = session(
      R"("rig": {"leads": {"wire": "16 AWG", "length": "1 m", "joints": 2}, "ammeter-ohms": "0.05 Ohm"},
         "runs": [{"kind": "loaded", "readings": {"amps": "2 A", "idle-volts": "14 V", "post-volts": "13 V", "rail-volts": "12 V", "far-volts": "11.5 V"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  REQUIRE(analysis.losses.size() == 5);
  CHECK(analysis.losses[0].volts == Approx(1));
  CHECK(analysis.losses[0].said.find("0.50 ohm inside") != std::string::npos);
  CHECK(analysis.losses[2].volts == Approx(0.5));
  CHECK(analysis.losses[3].volts == Approx(2 * (2 * 0.01317 + 0.01)).epsilon(0.01));
  CHECK(analysis.losses[4].volts == Approx(0.1));
  REQUIRE(analysis.notes.size() == 1);
  CHECK(analysis.notes[0].find("clips") != std::string::npos);
}

TEST_CASE("warmth and cautions", "[analysis]") {
  const auto s =
      session(R"("runs": [{"kind": "loaded", "readings": {"motor-temperature": "70 C", "rail-volts": "27 V"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  REQUIRE(analysis.cautions.size() == 2);
  CHECK(analysis.cautions[0].find("burn") != std::string::npos);
  CHECK(analysis.cautions[1].find("qualified") != std::string::npos);
}

TEST_CASE("forward early and reverse late: each direction has its own first minutes", "[analysis]") {
  const auto s = session(kHealthy + R"(, "runs": [
      {"kind": "loaded", "direction": "forward", "minute": 1, "laps": 5, "time": "31.5 s", "readings": {"amps": "2.15 A", "rail-volts": "12 V"}},
      {"kind": "loaded", "direction": "reverse", "minute": 5, "laps": 5, "time": "33 s", "readings": {"amps": "2.15 A", "rail-volts": "12 V"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  CHECK(analysis.drives.size() == 3);
  CHECK(std::ranges::any_of(analysis.notes,
                            [](const auto& note) { return note.find("equally warm") != std::string::npos; }));
}

TEST_CASE("repeats of one run are one run, whatever their scatter", "[analysis]") {
  for (const char* third : {"39 s", "39.3 s"}) {
    const std::string run =
        R"({"kind": "loaded", "laps": 5, "time": "39 s", "readings": {"amps": "2.15 A", "rail-volts": "12 V"}},)";
    const auto s = session(kHealthy + R"(, "runs": [)" + run + run + R"({"kind": "loaded", "laps": 5, "time": ")" +
                           third + R"(", "readings": {"amps": "2.15 A", "rail-volts": "12 V"}}])");
    const bench::BenchAnalysis analysis = bench::analyse(s);
    REQUIRE(analysis.drives.size() == 1);
    REQUIRE(analysis.drives[0].result.indexes);
    CHECK(analysis.drives[0].result.indexes->way == bench::Indexes::Way::run_to_base);
    CHECK(analysis.drives[0].result.indexes->differs(bench::Index::ohms) > 0.8);
  }
}

TEST_CASE("another loop is brought over, another train is not", "[analysis]") {
  const std::string healthy =
      R"("healthy": {"same-meters": true, "runs": [{"kind": "loaded", "cars": 2, "loop": "3 m", "laps": 5, "time": "31.2 s",
         "readings": {"amps": "2.15 A", "rail-volts": "12 V"}}]}, )";
  const auto loop =
      session(healthy + R"("runs": [{"kind": "loaded", "cars": 2, "loop": "4 m", "laps": 5, "time": "41.6 s",
      "readings": {"amps": "2.15 A", "rail-volts": "12 V"}}])");
  const bench::BenchAnalysis brought = bench::analyse(loop);
  REQUIRE(brought.drives.at(0).result.indexes);
  CHECK(brought.drives[0].result.indexes->explanations.front().count() == 0);
  const auto cars =
      session(healthy + R"("runs": [{"kind": "loaded", "cars": 9, "loop": "3 m", "laps": 5, "time": "34 s",
      "readings": {"amps": "2.9 A", "rail-volts": "12 V"}}])");
  const bench::BenchAnalysis refused = bench::analyse(cars);
  CHECK(refused.drives.at(0).result.refused.find("cars") != std::string::npos);
  CHECK(figure(refused, "drag-ratio") == nullptr);
}

TEST_CASE("readings that no fault makes are called out and count for nothing", "[analysis]") {
  const auto s = session(kHealthy + R"(, "runs": [
      {"kind": "loaded", "laps": 5, "time": "25 s", "readings": {"amps": "1.6 A", "rail-volts": "12 V"}},
      {"kind": "loaded", "laps": 5, "time": "38 s", "readings": {"amps": "1.6 A", "rail-volts": "9 V"}},
      {"kind": "neutral", "readings": {"amps": "0.55 A"}}])");
  const bench::BenchAnalysis analysis = bench::analyse(s);
  REQUIRE(analysis.drives.at(0).result.indexes);
  CHECK(analysis.drives[0].result.indexes->contradiction);
  CHECK(figure(analysis, "flux-ratio") == nullptr);
  CHECK(report::drive_sentence(analysis.drives[0]).find("do not belong together") != std::string::npos);
}

TEST_CASE("a figure's chances are those of its parts", "[analysis]") {
  const bench::Figure mixed{"drag-ratio", {{0.25, 1, 0}, {0.75, 1.5, 0.1}}, {}};
  CHECK(mixed.chance_above(1.0) == Approx(1).margin(1e-6));
  CHECK(mixed.chance_above(1.2) == Approx(0.75).epsilon(0.01));
  CHECK(mixed.chance_above(1.5) == Approx(0.375));
  const std::vector figures{mixed};
  const auto chances = bench::level_chances(
      {}, {.kind = bench::LevelRule::Kind::figure_above, .reading = "drag-ratio", .minus = {}, .edges = {1.2, 1.5}},
      figures);
  REQUIRE(chances);
  CHECK(chances->chances[0] == Approx(0.25).epsilon(0.01));
  CHECK(chances->chances[2] == Approx(0.375));
  CHECK_FALSE(bench::level_chances(
      {}, {.kind = bench::LevelRule::Kind::figure_below, .reading = "flux-ratio", .minus = {}, .edges = {0.9}},
      figures));
}

TEST_CASE("a bar shows value, interval and what is healthy", "[report]") {
  CHECK(report::scale_bar(2, 1, 3, 0, 0, 10, 11) == "[|-#-.......]");
  CHECK(report::scale_bar(20, 18, 22, 0, 0, 10, 11) == "[|.........>]");
  CHECK(report::scale_bar(-5, -6, -4, 5, 0, 10, 11) == "[<....|.....]");
}
