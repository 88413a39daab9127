// Random logs that share events, hold some in other forms, and were redacted at different times: merged in any order
// and by any way they are the same log.
#include <algorithm>
#include <catch2/catch.hpp>
#include <random>
#include <sstream>

#include "engine/log/exchange.hpp"
#include "engine/log/log.hpp"
#include "knowledge/shipped.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/events.hpp"
#include "tests/support/scratch.hpp"

using namespace wheeltapper;
using job::Event;
using job::EventKind;
using log::Log;

namespace {

using Random = std::mt19937_64;
const std::string kName = "Orla Fernhill-Brook";

std::string day(std::uint64_t n) { return fmt::format("2026-{:02}-{:02}T10:00:00.000Z", 1 + n / 28 % 12, 1 + n % 28); }

const std::string kOther = "Bea Hill";

/// One event, of whatever kind; names stand in some.
Event some_event(std::uint64_t n, Random& random) {
  Event event =
      tests::event(100 + n, n % 3, EventKind::note, {{"text", "note " + std::to_string(n)}}, day(random() % 60));
  event.number = static_cast<std::int64_t>(1 + n / 3 - (random() % 3 == 0 && n > 5 ? 1 : 0));  // some apart
  if (n < 3) {
    event.kind = EventKind::opened;
    event.body = {{"title", "Job"}, {"locomotive", {{"name", "Fernhill No. 1"}, {"family", "ac-series"}}}};
    return event;
  }
  const std::string& name = random() % 2 == 0 ? kName : kOther;
  switch (random() % 6) {
    case 0:
      event.kind = EventKind::owner;
      event.body = {{"name", name}};
      break;
    case 1:
      event.body["text"] = "told by " + name + " " + std::to_string(random() % 3);
      break;
    case 2:
      event.kind = EventKind::closed;
      event.body = {{"outcome", "referred"}};
      break;
    case 3:
      event.kind = EventKind::redacted;
      event.body = job::Person(name, tests::uuid(n)).body();
      break;
    default:
      break;
  }
  return event;
}

/// What some benches could have written to three jobs.
std::vector<Event> pool(Random& random) {
  std::vector<Event> events;
  for (std::uint64_t n = 0; n < 24; ++n) {
    Event event = some_event(n, random);
    events.push_back(event);
    while (random() % 3 == 0 && event.kind == EventKind::note) {  // the same event in other forms
      event.body["text"] = "form " + std::to_string(random() % 4) + (random() % 2 == 0 ? " by " + kOther : "");
      events.push_back(event);
    }
  }
  return events;
}

void absorb(Log& log, const std::vector<Event>& events) {
  std::size_t at = 0;
  log.absorb([&]() -> std::optional<Event> { return at < events.size() ? std::optional(events[at++]) : std::nullopt; },
             {.redactions = true});
}

std::string exported(Log& log) {
  std::ostringstream out;
  log::export_lines(log, out);
  return out.str();
}

}  // namespace

TEST_CASE("logs merge to the same in any order and by any way", "[merge]") {
  Random random(20261128);
  for (int round = 0; round < tests::times(60, 12); ++round) {
    const tests::Scratch scratch;
    const auto all = pool(random);
    std::vector<std::vector<Event>> benches(4);
    for (const Event& event : all) {  // each is at one bench at least
      benches[random() % 4].push_back(event);
      for (auto& bench : benches)
        if (random() % 3 == 0) bench.push_back(event);
    }
    for (auto& bench : benches) std::ranges::shuffle(bench, random);
    log::Settings fast;
    fast.full_sync = false;
    const auto open = [&](const std::string& name) {
      return std::make_unique<Log>(scratch.file(name), fast, tests::by(knowledge::shipped()));
    };
    std::string first;
    for (int order = 0; order < 4; ++order) {
      std::ranges::shuffle(benches, random);
      const auto log = open("order" + std::to_string(order));
      for (const auto& bench : benches) absorb(*log, bench);
      absorb(*log, benches.front());
      if (first.empty()) first = exported(*log);
      INFO("round " << round << ", order " << order);
      CHECK(exported(*log) == first);
      CHECK(log->problems().empty());
    }
    // two and two, then the one into the other, both ways
    const auto left = open("left");
    const auto right = open("right");
    absorb(*left, benches[0]);
    absorb(*left, benches[1]);
    absorb(*right, benches[2]);
    absorb(*right, benches[3]);
    log::merge(*left, right->path(), {.redactions = true});
    log::merge(*right, left->path(), {.redactions = true});
    INFO("round " << round);
    CHECK(exported(*left) == first);
    CHECK(exported(*right) == first);
  }
}
