#include "engine/app/desk.hpp"

#include <catch2/catch.hpp>

#include "engine/log/log.hpp"
#include "tests/support/events.hpp"
#include "tests/support/led_job.hpp"
#include "tests/support/scratch.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;
using app::Desk;
using app::Heard;
using app::Screen;

namespace {

/// The same session at any store.
std::vector<Screen> session(job::Store& store) {
  Desk desk(tests::small_catalogue(), store, tests::counted_world());
  std::vector<Screen> screens{desk.open("ac-series")};
  for (const char* line : {"Fernhill No. 9", "it squeals", "none", "back", "none", "4", "2.0", "9",
                           "note heard by Orla", "yes", "2.4 A", "8.5", "skip", "skip", "close", "back"})
    screens.push_back(desk.say(line));
  return screens;
}

}  // namespace

TEST_CASE("A desk says the same whether the log is a file or in memory", "[app]") {
  tests::Scratch folder;
  log::Log file(folder.file("log.sqlite"), {}, tests::by(tests::small_catalogue()));
  job::MemoryStore memory;
  const auto ours = session(memory);
  const auto theirs = session(file);
  REQUIRE(ours.size() == theirs.size());
  for (std::size_t i = 0; i < ours.size(); ++i) {
    CAPTURE(i, ours[i].refused);
    CHECK(ours[i].heard == theirs[i].heard);
    CHECK(ours[i].prompt.has_value() == theirs[i].prompt.has_value());
    if (ours[i].prompt) CHECK(ours[i].prompt->topic == theirs[i].prompt->topic);
    CHECK(ours[i].advised == theirs[i].advised);
    CHECK(std::ranges::equal(ours[i].ranking, theirs[i].ranking, [](const auto& a, const auto& b) {
      return a.cause == b.cause && a.chance == b.chance && a.was == b.was;
    }));
  }
  const auto id = ours.front().job;
  CHECK(memory.events(id) == file.events(id));
  const auto lines = memory.jobs();
  REQUIRE(lines.size() == file.jobs().size());
  CHECK(lines.front().locomotive == file.jobs().front().locomotive);
  CHECK(lines.front().title == file.jobs().front().title);
  CHECK(lines.front().opened == file.jobs().front().opened);
  CHECK(lines.front().last == file.jobs().front().last);
  CHECK(lines.front().events == file.jobs().front().events);
}

TEST_CASE("What a line came to stands on the screen", "[app]") {
  job::MemoryStore store;
  Desk desk(tests::small_catalogue(), store, tests::counted_world());
  CHECK(desk.open("ac-series").heard == Heard::taken);
  CHECK(desk.say("why").heard == Heard::wants_why);
  CHECK(desk.say("help").heard == Heard::wants_help);
  CHECK(desk.say("stop").heard == Heard::left);
  CHECK(desk.back().refused == "There is nothing to take back.");
  desk.say("Fernhill No. 9");
  desk.say("slow");
  const Screen refused = desk.say("nonsense");
  CHECK(refused.heard == Heard::refused);
  CHECK_FALSE(refused.refused.empty());
  CHECK(refused.asked_before);
  CHECK(refused.prompt->topic.kind == job::Topic::Kind::hazards);
  CHECK(desk.say("note it is smoking now").prompt->topic.kind ==
        job::Topic::Kind::heard);  // words that mean a hazard are asked at once
  CHECK(desk.say("close").heard == Heard::refused);
  CHECK(desk.note("\xFF").heard == Heard::refused);
}

TEST_CASE("A hazard stops at any moment, with its cautions, and opens a job that is closed", "[app]") {
  job::MemoryStore store;
  Desk desk(tests::small_catalogue(), store, tests::counted_world());
  desk.open("ac-series");
  CHECK(desk.hazard({"squeal"}).heard == Heard::refused);
  CHECK(desk.close(job::Outcome::referred).closed());
  CHECK(desk.say("none").refused == "The job is closed.");
  const Screen stopped = desk.hazard({"burning-smell"});
  CHECK_FALSE(stopped.closed());
  REQUIRE(stopped.stops.size() == 1);
  CHECK(stopped.stops.front().rule == "rule-burning-smell");
}

TEST_CASE("Two desks at one store: what one closed the other does not write to, and a hazard stays whose it is",
          "[app]") {
  job::MemoryStore store;
  Desk here(tests::small_catalogue(), store, tests::counted_world("here"));
  Desk there(tests::small_catalogue(), store, tests::counted_world("there", 1000));
  const std::string id = here.open("ac-series").job;
  there.take_up(id);
  there.hazard({"burning-smell"});
  CHECK_FALSE(here.take_back(id).empty());
  CHECK(here.take_up(id).stops.size() == 1);
  CHECK(here.back().heard == Heard::refused);
  CHECK(there.close(job::Outcome::referred).closed());
  const Screen late = here.say("Fernhill No. 9");
  CHECK(late.heard == Heard::refused);
  CHECK(late.refused.find("Another bench has closed this job") != std::string::npos);
  CHECK(late.closed());
}

TEST_CASE("A locomotive that was here before is known again, and one that is written almost alike", "[app]") {
  job::MemoryStore store;
  Desk desk(tests::small_catalogue(), store, tests::counted_world());
  desk.open("ac-series");
  CHECK_FALSE(desk.say("Fernhill No. 9").visits.has_value());
  desk.open("ac-series");
  const auto again = desk.say("Fernhill No. 9").visits;
  REQUIRE(again.has_value());
  CHECK(again->count == 1);
  desk.open("ac-series");
  CHECK(desk.say("fernhill no. 9").visits->alike == "Fernhill No. 9");
}
