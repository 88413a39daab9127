// What a hazard does to a job: who can end it, what holds a rule, and how it is heard.
#include "engine/job/hazards.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "engine/guide/hearing.hpp"
#include "engine/guide/position.hpp"
#include "tests/support/events.hpp"
#include "tests/support/led_job.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;
using job::Draft;
using job::Event;
using job::EventKind;
using nlohmann::json;
using tests::Led;

namespace {

/// Events as two benches write them: each names what it has seen.
class Benches {
 public:
  Benches() { add("A", {}, EventKind::opened, {{"title", "Job"}, {"locomotive", {{"family", "ac-series"}}}}); }

  /// Returns the event's place.
  std::size_t add(const std::string& bench, const std::vector<std::size_t>& after, EventKind kind, json body) {
    Event event = tests::event(events_.size() + 1, 7, kind, std::move(body));
    event.writer = bench;
    event.number = 1;
    event.seen = job::Seen{};
    for (const std::size_t each : after) {
      event.seen->after.push_back(events_[each].id);
      event.number = std::max(event.number, events_[each].number + 1);
    }
    events_.push_back(event);
    return events_.size() - 1;
  }
  void add_second_form(std::size_t of, json body) {
    Event form = events_[of];
    form.body = std::move(body);
    form.second = true;
    events_.push_back(form);
  }
  void know_all_forms(std::size_t event) {
    std::vector<Event> before(events_.begin(), events_.end());
    std::erase_if(before, [&](const Event& each) { return each.id == events_[event].id; });
    events_[event].seen->forms = job::seen_of(before).forms;
  }
  job::Job folded() const { return job::fold(events_); }
  job::Hazards hazards() const { return hazards_of(folded(), 9, *tests::small_catalogue()); }
  bool stands(const std::string& finding) const { return hazards().active.contains(finding); }
  bool in_force(const std::string& rule) const {
    for (const auto& fired : hazards().state.fired)
      if (fired.rule == rule) return tests::small_catalogue()->rule(rule)->until.empty() || !fired.left.empty();
    return false;
  }
  std::vector<std::string> left(const std::string& rule) const {
    for (const auto& fired : hazards().state.fired)
      if (fired.rule == rule) return fired.left;
    return {};
  }

 private:
  std::vector<Event> events_;
};

json answer(const char* finding, const char* word) { return {{finding, word}}; }

json outcome(const std::string& check, const std::string& bad = {}) {
  json results = json::object();
  for (const auto& each : tests::small_catalogue()->check(check)->results)
    results[each.id] = each.id == bad ? "seen" : "not seen";
  return {{"check", check}, {"results", results}};
}

}  // namespace

TEST_CASE("a no ends only the yes that its writer had seen", "[hazards]") {
  Benches job;
  const auto yes = job.add("A", {0}, EventKind::answers, answer("burning-smell", "yes"));
  const auto apart = job.add("B", {0}, EventKind::note, {{"text", "at the other bench"}});
  job.add("B", {apart}, EventKind::answers, answer("burning-smell", "no"));  // a higher number, and the yes unseen
  CHECK(job.stands("burning-smell"));
  CHECK(job.hazards().state.fired.front().note.find("answer it anew") != std::string::npos);
  job.add("B", {yes, apart}, EventKind::answers, answer("burning-smell", "unsure"));
  CHECK(job.stands("burning-smell"));
  job.add("B", {yes, apart}, EventKind::answers, answer("burning-smell", "no"));  // after the logs were merged
  CHECK_FALSE(job.stands("burning-smell"));
}

TEST_CASE("a yes in a second form of an entry stands until somebody who knew of it says no", "[hazards]") {
  Benches job;
  const auto no = job.add("A", {0}, EventKind::answers, answer("shock-or-tingle", "no"));
  job.add_second_form(no, answer("shock-or-tingle", "yes"));
  CHECK(job.stands("shock-or-tingle"));
  const auto blind = job.add("A", {no}, EventKind::answers, answer("shock-or-tingle", "no"));
  CHECK(job.stands("shock-or-tingle"));
  const auto knowing = job.add("A", {blind}, EventKind::answers, answer("shock-or-tingle", "no"));
  job.know_all_forms(knowing);
  CHECK_FALSE(job.stands("shock-or-tingle"));
}

TEST_CASE("a fault found on the way out holds the rule, whatever is said of the smell", "[hazards]") {
  const std::string rule = "rule-burning-smell";
  const auto& until = tests::small_catalogue()->rule(rule)->until;
  Benches job;
  auto last = job.add("A", {0}, EventKind::answers, answer("burning-smell", "yes"));
  const auto then = [&](EventKind kind, json body) { last = job.add("A", {last}, kind, std::move(body)); };
  for (const std::string& id : until)
    if (id != "check-field-ohms") then(EventKind::checked, outcome(id));
  CHECK(job.left(rule) == std::vector<std::string>{"check-field-ohms"});
  then(EventKind::checked, outcome("check-field-ohms", "low"));
  CHECK(job.in_force(rule));
  then(EventKind::answers, answer("burning-smell", "no"));  // it is cold and smells no more
  CHECK_FALSE(job.stands("burning-smell"));
  CHECK(job.in_force(rule));
  then(EventKind::repaired, {{"repair", "repair-field-swap"}});
  CHECK(job.in_force(rule));
  for (const std::string& id : until) {
    CHECK(job.in_force(rule));
    then(EventKind::checked, outcome(id));
  }
  CHECK_FALSE(job.in_force(rule));  // every winding is measured sound since
  then(EventKind::answers, answer("burning-smell", "yes"));
  CHECK(job.left(rule).size() == until.size());  // it smells again: nothing of what was done counts
}

TEST_CASE("what was clean before a bad result and its repair is done again while the smell stands", "[hazards]") {
  const std::string rule = "rule-burning-smell";
  const auto& until = tests::small_catalogue()->rule(rule)->until;
  Benches job;
  auto last = job.add("A", {0}, EventKind::answers, answer("burning-smell", "yes"));
  const auto then = [&](EventKind kind, json body) { last = job.add("A", {last}, kind, std::move(body)); };
  for (const std::string& id : until) then(EventKind::checked, outcome(id, id == "check-field-ohms" ? "low" : ""));
  then(EventKind::repaired, {{"repair", "repair-field-swap"}});
  CHECK(job.left(rule).size() == until.size());
  for (const std::string& id : until) {
    CHECK(job.in_force(rule));
    then(EventKind::checked, outcome(id));
  }
  CHECK_FALSE(job.in_force(rule));
  then(EventKind::checked, outcome("check-wire-look", "bare"));  // not asked for, but it holds
  CHECK(job.in_force(rule));
}

TEST_CASE("a look ends a hazard only where its rule waits for that check", "[hazards]") {
  Benches job;
  const auto yes = job.add("A", {0}, EventKind::answers, answer("drive-locked-by-hand", "yes"));
  const auto look = job.add("A", {yes}, EventKind::checked, outcome("check-roll-by-hand"));  // held by it
  CHECK_FALSE(job.stands("drive-locked-by-hand"));
  const auto smell = job.add("A", {look}, EventKind::answers, answer("burning-smell", "yes"));
  job.add("A", {smell}, EventKind::checked, outcome("check-plain-look"));
  CHECK(job.stands("burning-smell"));
}

TEST_CASE("words are heard one beside the other, and only who had them settles them", "[hazards]") {
  Benches job;
  const auto mark = [](const std::string& words) {
    Led led;
    led.until_run();
    const auto drafts = guide::hear(led.at(), words);
    REQUIRE(drafts.size() == 1);
    return drafts.front().second;
  };
  const auto smoke = job.add("A", {0}, EventKind::marked, mark("it smokes"));
  const auto apart = job.add("B", {0}, EventKind::marked, mark("the cord is frayed"));
  const auto unsettled = [&] { return guide::unsettled(job.folded()).size(); };
  CHECK(unsettled() == 2);
  job.add("B", {apart}, EventKind::marked, {{"key", job::text_of(guide::settling("it smokes"))}, {"word", "none"}});
  CHECK(unsettled() == 2);
  job.add("B", {apart, smoke}, EventKind::marked,
          {{"key", job::text_of(guide::settling("it smokes"))}, {"word", "none"}});
  CHECK(unsettled() == 1);
}

TEST_CASE("what no check clears is not ended by a look", "[hazards]") {
  Benches job;
  const auto yes = job.add("A", {0}, EventKind::answers, answer("cord-damaged-seen", "yes"));
  const auto look = job.add("A", {yes}, EventKind::checked, outcome("check-supply-outside"));
  CHECK(job.stands("cord-damaged-seen"));
  job.add("A", {look}, EventKind::answers, answer("cord-damaged-seen", "no"));
  CHECK_FALSE(job.stands("cord-damaged-seen"));
}

TEST_CASE("words that mean a hazard are heard in any answer and raise it by one key", "[hazards]") {
  for (const std::string text :
       {"it smokes", "It is SMOKING now!", "stop it is burning", "I got a shock", "no, smoke"}) {
    CAPTURE(text);
    Led led;
    led.until_run();
    CHECK(led.say(text).empty());
    REQUIRE(led.key() == "heard");
    CHECK(led.at().job.notes == std::vector{text});  // what was said is kept
    CHECK(led.say("1").empty());
    CHECK(plan::withheld(led.at().diagnosis.advice.gates) != plan::Withheld::no);
  }
}

TEST_CASE("words that mean none ask nothing, and a hazard that was not meant goes on where it was", "[hazards]") {
  Led led;
  led.until_run();
  CHECK_FALSE(led.say("it squeals and is slow").empty());
  CHECK(led.key() == "runs");
  CHECK(led.say("the smoke unit is off").empty());
  REQUIRE(led.key() == "heard");
  CHECK_FALSE(led.say("unsure").empty());
  CHECK(led.say("none").empty());
  CHECK(led.key() == "runs");
  CHECK(plan::withheld(led.at().diagnosis.advice.gates) == plan::Withheld::no);
}

TEST_CASE("the word hazard lists them all, whatever is asked", "[hazards]") {
  Led led;
  for (const char* word : {"hazard", "Hazard", "hazard quick"}) {
    CHECK(led.say(word).empty());
    REQUIRE(led.key() == "heard");
    CHECK(led.at().prompt->ids.size() == job::hazards_in(*tests::small_catalogue(), "ac-series").size());
    CHECK(led.say("none").empty());
    CHECK(led.key() == "locomotive");
  }
}

TEST_CASE("under a rule that forbids to touch, only it speaks", "[hazards]") {
  belief::Observations seen;
  seen.answers = {{"water-in-supply", {}}, {"trips-with-no-loco", {}}};
  const auto gates = plan::gates(*tests::small_catalogue(), seen);
  CHECK(gates.size() == 2);
  const auto said = plan::speaking(gates);
  REQUIRE(said.size() == 1);
  CHECK(said.front()->rule->id == "rule-water");
  CHECK(said.front()->rule->say.find("nplug") == std::string::npos);
}

TEST_CASE("mains or more than 42.4 V peak at rails or posts stops, and stands when it is read anew", "[hazards]") {
  const auto read = [](Led& led, const char* quantity, const char* volts) {
    led.append({{EventKind::reading,
                 {{"kind", "loaded"}, {"direction", "forward"}, {"quantity", quantity}, {"value", volts}}}});
  };
  for (const char* quantity : {"rail-volts", "post-volts", "idle-volts", "far-volts"})
    for (const char* volts : {"230 V", "115 V", "31 V"}) {
      CAPTURE(quantity, volts);
      Led led;
      read(led, quantity, volts);
      CHECK(plan::withheld(led.at().diagnosis.advice.gates) == plan::Withheld::touch);
      REQUIRE(led.at().job.answer("volts-not-low", 0) != nullptr);  // was written with it, so that it stays
      CHECK(guide::hazards_read(led.at()).empty());
      led.append({{EventKind::repaired, {{"repair", "repair-oil-bearings"}}}});
      CHECK(plan::withheld(led.at().diagnosis.advice.gates) == plan::Withheld::touch);
    }
  for (const char* volts : {"18 V", "24 V"}) {
    Led led;
    read(led, "rail-volts", volts);
    CHECK(plan::withheld(led.at().diagnosis.advice.gates) == plan::Withheld::no);
  }
}
