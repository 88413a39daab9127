#include "engine/job/job.hpp"

#include <catch2/catch.hpp>

#include "engine/input/input_error.hpp"
#include "engine/job/compare.hpp"
#include "engine/job/job_case.hpp"
#include "engine/job/person.hpp"
#include "engine/job/summary.hpp"
#include "tests/support/events.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;
using job::Event;
using job::EventKind;
using nlohmann::json;
using tests::event;

namespace {

json opening() {
  return json::parse(R"({"title": "Test", "locomotive": {"name": "Fernhill No. 9", "family": "ac-series"},
    "limits": [{"quantity": "amps", "run": "loaded", "at-most": "2.0 A"}]})");
}

json amps(const std::string& way, const std::string& value) {
  return {{"kind", "loaded"}, {"direction", way}, {"quantity", "amps"}, {"value", value}};
}

std::vector<Event> cured_job() {
  return {event(1, 7, EventKind::opened, opening()),
          event(2, 7, EventKind::reading, amps("forward", "2.6 A")),
          event(3, 7, EventKind::reading, amps("reverse", "2.6 A")),
          event(4, 7, EventKind::answers, {{"squeal", "yes"}, {"lamp-dim", "no"}}),
          event(5, 7, EventKind::repaired, {{"repair", "repair-oil-bearings"}, {"minutes", 20}}),
          event(6, 7, EventKind::reading, amps("forward", "1.6 A")),
          event(7, 7, EventKind::reading, amps("reverse", "1.6 A")),
          event(8, 7, EventKind::closed, {{"outcome", "cured"}, {"causes", {"bearing-dry"}}})};
}

}  // namespace

TEST_CASE("an event goes through its line and back", "[job]") {
  for (const Event& each : cured_job()) CHECK(job::from_line(job::to_line(each)) == each);
  Event scrubbed = event(1, 2, EventKind::owner, {{"name", job::kTakenOut}});
  scrubbed.scrubbed = true;
  CHECK(job::from_line(job::to_line(scrubbed)) == scrubbed);
}

TEST_CASE("a line that is no event is refused in words", "[job]") {
  const std::string good = job::to_line(event(1, 2, EventKind::note, {{"text", "x"}}));
  const auto broken = [&](const std::string& from, const std::string& to) {
    std::string line = good;
    const auto at = line.find(from);
    REQUIRE(at != std::string::npos);
    return line.replace(at, from.size(), to);
  };
  CHECK_NOTHROW(job::from_line(good));
  CHECK_THROWS_WITH(job::from_line(broken("note", "nite")), Catch::Contains("unknown kind"));
  CHECK_THROWS_WITH(job::from_line(broken("2026-11", "2026-13")), Catch::Contains("time"));
  CHECK_THROWS_WITH(job::from_line(broken("\"number\":1", "\"number\":0")), Catch::Contains("number"));
  CHECK_THROWS_WITH(job::from_line(broken("00000000-", "0000000g-")), Catch::Contains("UUID"));
  CHECK_THROWS_WITH(job::from_line(broken("{\"at\"", "{\"more\":1,\"at\"")), Catch::Contains("unknown key"));
  CHECK_THROWS_WITH(job::from_line(good.substr(0, 40)), Catch::Contains("no JSON"));
}

TEST_CASE("days between two times", "[job]") {
  CHECK(job::days_between("2024-02-28T12:00:00.000Z", "2024-03-01T12:00:00.000Z") == Approx(2));  // a leap year
  CHECK(job::days_between("2026-11-28T00:00:00.000Z", "2026-11-28T06:00:00.500Z") == Approx(0.25).epsilon(1e-4));
}

TEST_CASE("the state of a job is the fold of its events, in whatever order they are handed over", "[job]") {
  auto events = cured_job();
  std::ranges::reverse(events);
  const job::Job job = job::fold(events);
  CHECK(job.locomotive() == "Fernhill No. 9");
  CHECK(job.stage() == 1);
  CHECK(job.has_runs(0));
  CHECK(job.has_runs(1));
  REQUIRE(job.closing);
  CHECK(job.closing->outcome == job::Outcome::cured);
  CHECK(job.stale_answers() == std::vector<std::string>{"squeal"});
  const auto catalogue = tests::small_catalogue();
  const cases::Case came = job::case_of(job, 0, *catalogue);
  CHECK(came.observations.answers.size() == 2);
  CHECK(came.session.runs.size() == 2);
  CHECK(came.background.tried.empty());
  const cases::Case left = job::case_of(job, *catalogue);
  REQUIRE(left.observations.answers.size() == 1);  // the squeal is not known any more, the lamp still is
  CHECK(left.observations.answers.front().finding == "lamp-dim");
  REQUIRE(left.observations.past.size() == 1);
  CHECK(left.observations.past.front().repair == "repair-oil-bearings");
  CHECK(left.observations.past.front().answers.size() == 2);
  CHECK(left.past.front().runs.size() == 2);
  CHECK(job::retest_of(job, 1, *catalogue) == job::Retest::passed);
}

TEST_CASE("what is answered after a repair does not change how it came", "[job]") {
  auto events = cured_job();
  events.pop_back();
  events.push_back(event(20, 7, EventKind::answers, {{"squeal", "no"}}));
  const job::Job job = job::fold(events);
  const auto catalogue = tests::small_catalogue();
  const auto present = [&](std::size_t stage) {
    for (const auto& answer : job::case_of(job, stage, *catalogue).observations.answers)
      if (answer.finding == "squeal") return answer.present();
    return false;
  };
  CHECK(present(0));
  CHECK_FALSE(present(1));
  CHECK(job.stale_answers().empty());
}

TEST_CASE("a hazard stays through a repair until it is answered anew", "[job]") {
  std::vector<Event> events{event(1, 7, EventKind::opened, opening()),
                            event(2, 7, EventKind::answers, {{"burning-smell", "yes"}, {"squeal", "yes"}}),
                            event(3, 7, EventKind::repaired, {{"repair", "repair-oil-bearings"}})};
  const auto catalogue = tests::small_catalogue();
  const auto answers = job::case_of(job::fold(events), *catalogue).observations.answers;
  REQUIRE(answers.size() == 1);
  CHECK(answers.front().finding == "burning-smell");
  events.push_back(event(4, 7, EventKind::answers, {{"burning-smell", "no"}}));
  CHECK_FALSE(job::case_of(job::fold(events), *catalogue).observations.answers.front().present());
}

TEST_CASE("taking back can be taken back", "[job]") {
  auto events = cured_job();
  events.push_back(event(9, 7, EventKind::undone, {{"event", tests::uuid(8)}}));
  CHECK_FALSE(job::fold(events).closing);
  CHECK(job::fold(events).undone.size() == 1);
  events.push_back(event(10, 7, EventKind::undone, {{"event", tests::uuid(9)}}));
  CHECK(job::fold(events).closing);
}

TEST_CASE("a repair without a run after it proves nothing", "[job]") {
  auto events = cured_job();
  std::erase_if(events, [](const Event& each) { return each.number == 6 || each.number == 7; });
  const auto catalogue = tests::small_catalogue();
  const auto summary = job::summarise(job::fold(events), *catalogue);
  REQUIRE(summary);
  CHECK_FALSE(summary->proven);
  CHECK(summary->fixes.front().retest == job::Retest::open);
}

TEST_CASE("a run in one direction only does not pass a retest of both", "[job]") {
  auto events = cured_job();
  std::erase_if(events, [](const Event& each) { return each.number == 7; });
  CHECK(job::retest_of(job::fold(events), 1, *tests::small_catalogue()) == job::Retest::open);
}

TEST_CASE("what statistics need of a closed job", "[job]") {
  const auto catalogue = tests::small_catalogue();
  const auto summary = job::summarise(job::fold(cured_job()), *catalogue);
  REQUIRE(summary);
  CHECK(summary->proven);
  CHECK(summary->minutes == 20);
  CHECK(summary->causes == std::vector<std::string>{"bearing-dry"});
  const auto has = [&](const std::string& id, bool present) {
    return std::ranges::any_of(summary->findings,
                               [&](const auto& seen) { return seen.finding == id && seen.present() == present; });
  };
  CHECK(has("squeal", true));
  CHECK(has("lamp-dim", false));
  CHECK(has("high-draw-loaded", true));  // from the reading as it came, not as it left
}

TEST_CASE("before and after, with what is sure", "[job]") {
  const auto catalogue = tests::small_catalogue();
  const job::Job job = job::fold(cured_job());
  const auto compared =
      job::compare(job::case_of(job, 0, *catalogue).session, job::case_of(job, 1, *catalogue).session);
  REQUIRE(compared.size() == 2);
  for (const auto& each : compared) {
    CHECK(each.change == job::Change::better);
    CHECK(each.difference.value() == Approx(-1.0));
  }
  auto events = cured_job();
  events[5].body["value"] = "2.61 A";  // a hundredth of an amp is no news
  events[6].body["value"] = "3.2 A";
  const job::Job other = job::fold(events);
  const auto worse =
      job::compare(job::case_of(other, 0, *catalogue).session, job::case_of(other, 1, *catalogue).session);
  CHECK(worse[0].change == job::Change::none_provable);
  CHECK(worse[1].change == job::Change::worse);
}

TEST_CASE("a name is taken out where it stands as words", "[job]") {
  const job::Person ann("Ann Wood", tests::uuid(77));
  CHECK(ann.in("Belongs to Ann Wood, said she"));
  CHECK(ann.in("ann  WOOD"));
  CHECK(ann.in("(Ann-Wood)"));
  CHECK_FALSE(ann.in("Annwood"));
  CHECK_FALSE(ann.in("Ann B. Wood"));
  CHECK_FALSE(job::Person("Al", tests::uuid(77)).in("metal"));
  CHECK_THROWS_AS(job::Person("...", tests::uuid(77)), input::InputError);
  const Event note =
      event(1, 2, EventKind::note, {{"text", "for Ann Wood"}, {"other", "plain"}, {"list", {"Ann Wood"}}});
  const Event clean = job::without(note, ann);
  CHECK(clean.scrubbed);
  CHECK(clean.body["text"] == job::kTakenOut);
  CHECK(clean.body["other"] == "plain");
  CHECK(clean.body["list"][0] == job::kTakenOut);
  CHECK(job::without(clean, ann) == clean);
  const Event owner = event(1, 2, EventKind::owner, {{"name", "Ann Wood"}, {"place", "Ashcombe"}});
  CHECK(job::without(owner, ann).body["place"] == job::kTakenOut);
  Event redacted = event(3, 2, EventKind::redacted, ann.body());
  CHECK(job::Person::of(redacted) == ann);
  CHECK(job::to_line(redacted).find("nn") == std::string::npos);
  redacted.body["words"] = -1;
  CHECK_FALSE(job::Person::of(redacted));
}

TEST_CASE("two benches that wrote apart are said", "[job]") {
  auto events = cured_job();
  Event other = event(99, 7, EventKind::note, {{"text", "from the other bench"}});
  other.number = 4;
  other.writer = "bench two";
  events.push_back(other);
  const job::Job job = job::fold(events);
  REQUIRE(job.apart.size() == 1);
  CHECK(job.apart.front().find("bench two") != std::string::npos);
  CHECK(job.notes.size() == 1);
}
