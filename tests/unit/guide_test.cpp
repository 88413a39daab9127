#include <catch2/catch.hpp>

#include "engine/guide/position.hpp"
#include "engine/guide/typed_reading.hpp"
#include "engine/job/summary.hpp"
#include "tests/support/led_job.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;
using guide::Position;
using job::EventKind;
using nlohmann::json;
using tests::Led;

TEST_CASE("a job is asked in the order of a bench: intake, hazards, limits, run", "[guide]") {
  Led led;
  const std::vector<std::pair<std::string, std::string>> order{{"locomotive", "Fernhill No. 9"},
                                                               {"complaint", "skip"},
                                                               {"hazards", "none"},
                                                               {"cars", "4"},
                                                               {"limit-amps", "2.0 A"},
                                                               {"limit-laps", "9"},
                                                               {"runs", "yes"},
                                                               {"reading:amps:forward", "2.4"},
                                                               {"reading:lap-rate:forward", "5 laps 35.3 s"},
                                                               {"reading:amps:reverse", "2400 mA"},
                                                               {"reading:lap-rate:reverse", "8.5"}};
  for (const auto& [key, line] : order) {
    CHECK(led.key() == key);
    CHECK(led.say(line).empty());
  }
  const Position at = led.at();
  CHECK(at.the_case.session.runs.size() == 2);
  CHECK(at.the_case.session.runs[0].conditions.cars == 4);
  CHECK(at.the_case.session.runs[1].readings.at("amps").value.value() == Approx(2.4));
  CHECK(at.diagnosis.verdicts.size() == 4);
  REQUIRE(at.prompt);
  CHECK(text_of(at.prompt->topic).find("finding:") + text_of(at.prompt->topic).find("context:") +
            text_of(at.prompt->topic).find("check:") !=
        3 * std::string::npos);
}

TEST_CASE("an answer that can't be taken is told plainly and changes nothing", "[guide]") {
  Led led;
  led.until_run();
  CHECK_FALSE(led.say("perhaps").empty());
  CHECK(led.say("yes").empty());
  for (const char* bad : {"", "fast", "2.4 V", "-1 A", "2,4 A", "900000 A"}) CHECK_FALSE(led.say(bad).empty());
  CHECK(led.key() == "reading:amps:forward");
}

TEST_CASE("skip is an answer: it is not asked again", "[guide]") {
  Led led;
  led.until_run();
  led.say("yes");
  CHECK(led.say("skip").empty());
  CHECK(led.key() == "reading:lap-rate:forward");
}

TEST_CASE("one hazard withholds the run and everything under power", "[guide]") {
  Led led;
  led.say("Fernhill No. 9");
  led.say("slow");
  const Position at = led.at();
  const auto& ids = at.prompt->ids;
  const auto burning = std::ranges::find(ids, "burning-smell") - ids.begin() + 1;
  CHECK(led.say(std::to_string(burning)).empty());
  const Position held = led.at();  // before limits or any run are asked for
  CHECK(plan::withheld(held.diagnosis.advice.gates) != plan::Withheld::no);
  REQUIRE(held.prompt);
  CHECK(held.prompt->topic.kind == job::Topic::Kind::check);
  CHECK(held.diagnosis.advice.next->check->power == catalogue::Power::unplugged);
}

TEST_CASE("unsure does not lift a hazard after a repair, and an earlier clean check does not clear a later one",
          "[guide]") {
  Led led;
  led.until_run();
  led.append({{EventKind::answers, {{"burning-smell", "yes"}}}});
  const auto catalogue = tests::small_catalogue();
  const auto clean = [&] {
    for (const std::string& id : catalogue->rule("rule-burning-smell")->until) {
      json results = json::object();
      for (const auto& result : catalogue->check(id)->results) results[result.id] = "not seen";
      led.append({{EventKind::checked, {{"check", id}, {"results", results}}}});
    }
  };
  const auto withheld = [&] { return plan::withheld(led.at().diagnosis.advice.gates) != plan::Withheld::no; };
  CHECK(withheld());
  led.append({{EventKind::repaired, {{"repair", "repair-oil-bearings"}}}});
  CHECK(led.key() == "finding:burning-smell");
  CHECK_FALSE(led.say("skip").empty());
  CHECK(led.say("unsure").empty());
  CHECK(withheld());
  CHECK(led.key() != "runs");
  clean();
  CHECK_FALSE(withheld());
  led.append({{EventKind::answers, {{"burning-smell", "yes"}}}});  // it smells again
  CHECK(withheld());
  led.append({{EventKind::answers, {{"burning-smell", "no"}}}});
  CHECK_FALSE(withheld());
}

TEST_CASE("a hazard that a check showed stands through a repair", "[guide]") {
  Led led;
  led.until_run();
  led.append({{EventKind::checked, {{"check", "check-supply-outside"}, {"results", {{"cord", "seen"}}}}}});
  const auto withheld = [&] { return plan::withheld(led.at().diagnosis.advice.gates); };
  CHECK(withheld() == plan::Withheld::touch);
  led.append({{EventKind::repaired, {{"repair", "repair-oil-bearings"}}}});
  CHECK(withheld() == plan::Withheld::touch);
  CHECK(led.key() == "finding:cord-damaged-seen");
  led.say("no");
  CHECK(withheld() == plan::Withheld::no);
}

TEST_CASE("what does not go round is asked whether it moves", "[guide]") {
  Led led;
  led.until_run();
  led.say("no");
  CHECK(led.key() == "finding:does-not-move");
  led.say("yes");
  for (int i = 0; i < 6 && led.key().starts_with("finding:"); ++i) {
    const auto catalogue = tests::small_catalogue();
    const auto& no = catalogue->finding("does-not-move")->implies_no;
    CHECK(std::ranges::find(no, led.key().substr(8)) == no.end());
    led.say("unsure");
  }
}

TEST_CASE("a sound locomotive is closed as no fault found", "[guide]") {
  Led led;
  led.until_run();
  led.run("1.5", "5 laps 30 s");
  CHECK(led.key() == "no-fault");
  CHECK(led.say("yes").empty());
  CHECK(led.key() == "closed");
  CHECK(led.at().job.closing->outcome == job::Outcome::no_fault);
}

TEST_CASE("after a repair the retest is insisted on, and a passed one closes the job", "[guide]") {
  Led led;
  led.until_run();
  led.run("2.6", "5 laps 38 s");
  led.append({{EventKind::repaired, {{"repair", "repair-oil-bearings"}}}});
  CHECK(led.key() == "runs");
  CHECK(led.at().prompt->question.find("Retest") == 0);
  led.say("yes");
  for (int i = 0; i < 4; ++i) led.say("skip");
  CHECK(led.key() == "retest-missing");
  CHECK_FALSE(led.say("cured").empty());
  CHECK(led.say("1").empty());  // run it now
  CHECK(led.key() == "runs");
  led.run("1.6", "5 laps 30 s");
  CHECK(led.at().retest == job::Retest::passed);
  REQUIRE(led.key() == "causes");
  CHECK(led.say("1").empty());
  CHECK(led.key() == "closed");
  const auto summary = job::summarise(led.at().job, *tests::small_catalogue());
  CHECK(summary->proven);
  CHECK(summary->causes.size() == 1);
}

TEST_CASE("a failed retest goes on with what is still so", "[guide]") {
  Led led;
  led.until_run();
  led.run("2.6", "5 laps 38 s");
  led.append({{EventKind::answers, {{"squeal", "yes"}}}});
  led.append({{EventKind::repaired, {{"repair", "repair-oil-bearings"}}}});
  led.run("2.5", "5 laps 38 s");
  CHECK(led.at().retest == job::Retest::failed);
  CHECK(led.at().compared.size() == 4);
  // It is weighed like any other question, and asked as to whether it is so still.
  std::size_t others = 0;
  while (led.key() != "finding:squeal" && ++others < 12) REQUIRE(led.say("skip").empty());
  REQUIRE(led.key() == "finding:squeal");
  CHECK(led.at().prompt->question.find("still") != std::string::npos);
  led.say("no");
  CHECK(led.key() != "finding:squeal");
}

TEST_CASE("the last answer is taken back whole", "[guide]") {
  Led led;
  led.until_run();
  const Position before = led.at();
  const auto ids = job::last_answer(before.job.events);  // a limit is three events
  CHECK(ids.size() == 3);
  std::vector<job::Draft> drafts;
  for (const auto& id : ids) drafts.emplace_back(EventKind::undone, json{{"event", id}});
  led.append(drafts);
  CHECK(led.key() == "limit-laps");
}

TEST_CASE("laps are understood as they are said", "[guide]") {
  const auto catalogue = tests::small_catalogue();
  for (const char* line : {"5 laps 35.3 s", "5 laps in 35.3 s", "5 35.3", "5, 35.3 s", "5 laps, 35.3"}) {
    const json body = guide::reading_body(*catalogue, "lap-rate", line);
    INFO(line);
    CHECK(body["laps"] == 5);
    CHECK(body["time"] == "35.3 s");
  }
  CHECK(guide::reading_body(*catalogue, "lap-rate", "8.5")["value"] == "8.5 /min");
  CHECK_THROWS(guide::reading_body(*catalogue, "lap-rate", "0 laps 30 s"));
  CHECK_THROWS(guide::reading_body(*catalogue, "lap-rate", "5 laps 3 A"));
  CHECK_THROWS_WITH(guide::reading_body(*catalogue, "lap-rate", "5 laps"), Catch::Contains("laps a minute"));
  CHECK_THROWS(guide::reading_body(*catalogue, "warp", "5"));
}
