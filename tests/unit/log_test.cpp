#include "engine/log/log.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "engine/input/csv.hpp"
#include "engine/input/problem.hpp"
#include "engine/log/exchange.hpp"
#include "engine/log/learned.hpp"
#include "engine/log/past.hpp"
#include "engine/log/schema.hpp"
#include "engine/statistics/history.hpp"
#include "tests/support/events.hpp"
#include "tests/support/scratch.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;
using job::Event;
using job::EventKind;
using log::Log;
using nlohmann::json;
using tests::event;
using tests::uuid;

namespace {

std::unique_ptr<Log> open(const tests::Scratch& scratch, const std::string& name) {
  return std::make_unique<Log>(scratch.file(name), log::Settings{}, tests::by(tests::small_catalogue()));
}

/// A closed job of a locomotive: squealing, oiled, run again.
std::vector<Event> visit(std::uint64_t job, const std::string& day, bool passed, const std::string& owner = {}) {
  const std::uint64_t first = job * 100;
  const std::string at = day + "T10:00:00.000Z";
  std::vector<Event> events{
      event(first + 1, job, EventKind::opened,
            json::parse(R"({"title": "Test", "locomotive": {"name": "Fernhill No. 3", "family": "ac-series"},
                            "limits": [{"quantity": "amps", "run": "loaded", "direction": "forward", "at-most": "2.0 A"}]})"),
            at),
      event(first + 2, job, EventKind::answers, {{"squeal", "yes"}}, at),
      event(first + 3, job, EventKind::repaired, {{"repair", "repair-oil-bearings"}, {"minutes", 20}}, at),
      event(first + 4, job, EventKind::reading,
            {{"kind", "loaded"}, {"direction", "forward"}, {"quantity", "amps"}, {"value", passed ? "1.6 A" : "2.6 A"}},
            at),
      event(first + 5, job, EventKind::closed,
            {{"outcome", passed ? "cured" : "not-cured"}, {"causes", {"bearing-dry"}}}, at)};
  if (!owner.empty()) events.insert(events.begin() + 1, event(first + 6, job, EventKind::owner, {{"name", owner}}, at));
  for (std::size_t i = 0; i < events.size(); ++i) events[i].number = static_cast<std::int64_t>(i) + 1;
  return events;
}

log::MergeResult absorb(Log& log, const std::vector<Event>& events) {
  std::size_t at = 0;
  return log.absorb(
      [&]() -> std::optional<Event> { return at < events.size() ? std::optional(events[at++]) : std::nullopt; },
      {.redactions = true});
}

std::string exported(Log& log) {
  std::ostringstream out;
  log::export_lines(log, out);
  return out.str();
}

bool file_holds(const std::string& path, const std::string& text) {
  std::ifstream in(path, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(in)), {});
  return bytes.find(text) != std::string::npos;
}

}  // namespace

TEST_CASE("events are numbered and kept, and a closed job has its rows", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  const auto written = log->append(visit(1, "2026-01-05", true));
  CHECK(written.front().number == 1);
  CHECK(written.back().number == 5);
  CHECK(log->events(uuid(1)) == written);
  CHECK(log->jobs().front().outcome == "cured");
  CHECK(log->problems().empty());
  const auto all = log::summaries(*log);
  REQUIRE(all.size() == 1);
  CHECK(all[0].proven);
  CHECK(all[0].fixes[0].retest == job::Retest::passed);
  log->append({event(900, 1, EventKind::reopened, json::object())});
  CHECK(log::summaries(*log).empty());
  log->append({event(901, 1, EventKind::undone, {{"event", uuid(900)}})});
  CHECK(log::summaries(*log).size() == 1);
}

TEST_CASE("a reopened log has all that was acknowledged", "[log]") {
  const tests::Scratch scratch;
  const auto written = open(scratch, "a.sqlite")->append(visit(1, "2026-01-05", true));
  CHECK(open(scratch, "a.sqlite")->events(uuid(1)) == written);
}

TEST_CASE("three logs merged in all six orders are the same log", "[log]") {
  const tests::Scratch scratch;
  auto one = visit(1, "2026-01-05", true, "Ann Wood");
  auto two = visit(2, "2026-02-05", false);
  auto three = visit(3, "2026-03-05", true);
  // The same job gone on with at two benches apart, and one event that two logs hold in different forms.
  Event apart = event(777, 1, EventKind::note, {{"text", "at bench two"}});
  apart.number = 4;
  two.push_back(apart);
  Event other_form = one[2];
  other_form.body["squeal"] = "no";
  three.push_back(other_form);
  Event third_form = one[2];
  third_form.body["squeal"] = "unsure";
  two.push_back(third_form);
  const std::vector<std::vector<Event>> logs{one, two, three};
  std::vector<std::size_t> order{0, 1, 2};
  std::string digest;
  do {
    const auto log = open(scratch, fmt::format("merged{}{}{}.sqlite", order[0], order[1], order[2]));
    for (const std::size_t which : order) absorb(*log, logs[which]);
    CHECK(log->conflicts().size() == 2);
    for (const std::size_t which : order) CHECK(absorb(*log, logs[which]).added == 0);  // again changes nothing
    if (digest.empty()) digest = log->fingerprint();
    CHECK(log->fingerprint() == digest);
    CHECK(log->problems().empty());
  } while (std::ranges::next_permutation(order).found);
}

TEST_CASE("an export read into an empty log gives the same bytes", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  log->append(visit(1, "2026-01-05", true, "Ann Wood"));
  log->append(visit(2, "2026-02-05", false));
  Event other_form = log->events(uuid(2))[1];
  other_form.body["squeal"] = "no";
  absorb(*log, {other_form});
  const std::string lines = exported(*log);
  const auto copy = open(scratch, "b.sqlite");
  std::istringstream in(lines);
  log::import_lines(*copy, in, "export.jsonl");
  CHECK(exported(*copy) == lines);
  CHECK(copy->fingerprint() == log->fingerprint());
}

TEST_CASE("an import is all or nothing, and names the line", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  log->append(visit(1, "2026-01-05", true));
  std::string lines = exported(*log);
  const auto copy = open(scratch, "b.sqlite");
  for (const std::string& bad :
       {lines.substr(0, lines.size() - 30), lines + "{}\n", std::string("{}\n"), std::string()}) {
    std::istringstream in(bad);
    CHECK_THROWS_AS(log::import_lines(*copy, in, "export.jsonl"), input::BadInput);
    CHECK(copy->jobs().empty());
  }
}

TEST_CASE("a person that was taken out is nowhere, and an older copy does not bring them back", "[log]") {
  const tests::Scratch scratch;
  const std::string name = "Annabel Wharton-Quill";
  auto log = open(scratch, "a.sqlite");
  log->append(visit(1, "2026-01-05", true, name));
  log->append(visit(2, "2026-02-05", true));
  log->append(
      {event(950, 2, EventKind::note, {{"text", "Seen by annabel wharton-quill too"}}, "2026-02-06T10:00:00.000Z")});
  auto old_copy = open(scratch, "old.sqlite");
  log::merge(*old_copy, scratch.file("a.sqlite"), {.redactions = true});
  old_copy->append({event(951, 1, EventKind::note, {{"text", "went on apart"}})});
  old_copy->append(
      {event(952, 3, EventKind::note, {{"text", "another job of Annabel Wharton-Quill"}}, "2026-03-06T10:00:00.000Z")});
  std::uint64_t next = 970;
  const auto stamp = [&](const std::string& job) {
    Event event_at = event(next++, 0, EventKind::redacted, json::object(), "2026-06-01T10:00:00.000Z");
    event_at.job = job;
    return event_at;
  };
  const auto redacted = log->redact(job::Person(name, uuid(12)), stamp);
  CHECK(redacted.events == 2);
  CHECK(redacted.rewritten);
  log.reset();
  for (const char* end : {"", "-wal"})
    if (std::filesystem::exists(scratch.file("a.sqlite") + end)) {
      CHECK_FALSE(file_holds(scratch.file("a.sqlite") + end, "Wharton"));
      CHECK_FALSE(file_holds(scratch.file("a.sqlite") + end, "wharton"));
    }
  log = open(scratch, "a.sqlite");
  CHECK(log->problems().empty());
  CHECK(log::summaries(*log).size() == 2);
  log::merge(*log, scratch.file("old.sqlite"), {.redactions = true});
  CHECK(exported(*log).find("harton") == std::string::npos);
  log::merge(*old_copy, scratch.file("a.sqlite"), {.redactions = true});  // and the other way
  CHECK(exported(*old_copy) == exported(*log));
  CHECK(exported(*log).find("went on apart") != std::string::npos);
}

TEST_CASE("who comes back after a redaction stays", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  const job::Person ann("Ann Wood", uuid(12));
  log->append(visit(1, "2026-01-05", true));
  log->append({event(960, 1, EventKind::redacted, ann.body(), "2026-06-01T10:00:00.000Z")});
  const std::string old = "2026-01-05T11:00:00.000Z";
  Event knowing = event(965, 6, EventKind::owner, {{"name", "Ann Wood"}}, old);
  knowing.seen = job::Seen{{}, {}, {}, {ann.salt()}};
  const auto absorbed =
      absorb(*log, {event(961, 1, EventKind::owner, {{"name", "Ann Wood"}}, old),
                    event(962, 4, EventKind::note, {{"text", "for Ann Wood"}}, old),
                    event(963, 1, EventKind::owner, {{"name", "Bea Hill"}}, old),
                    event(964, 5, EventKind::owner, {{"name", "Ann Wood"}}, "2026-07-05T11:00:00.000Z"), knowing});
  CHECK(absorbed.scrubbed == 3);  // a later clock proves nothing: only who knew of it wrote the name by intent
  CHECK(log->events(uuid(1))[5].scrubbed == false);
  CHECK(exported(*log).find("for Ann Wood") == std::string::npos);
  CHECK(exported(*log).find("Bea Hill") != std::string::npos);
  CHECK(log->events(uuid(5)).front().scrubbed);
  CHECK(log->events(uuid(6)).front().body["name"] == "Ann Wood");
  log->append({event(966, 7, EventKind::owner, {{"name", "Ann Wood"}})});
  CHECK(log->events(uuid(7)).front().seen->knows == std::vector{ann.salt()});
}

TEST_CASE("a full disk loses nothing and leaves nothing half", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  log->append(visit(1, "2026-01-05", true));
  const int pages = log->database().execAndGet("PRAGMA page_count").getInt();
  log->database().exec("PRAGMA max_page_count = " + std::to_string(pages + 1));
  std::vector<Event> many;
  for (std::uint64_t i = 0; i < 400; ++i)
    many.push_back(event(5000 + i, 5, EventKind::note, {{"text", std::string(500, 'x')}}));
  CHECK_THROWS_WITH(log->append(many), Catch::Contains("disk is full") && Catch::Contains("a.sqlite"));
  CHECK(log->events(uuid(5)).empty());
  CHECK(log->events(uuid(1)).size() == 5);
  CHECK(log->problems().empty());
}

TEST_CASE("files that are no log, damaged or newer are refused and not touched", "[log]") {
  const tests::Scratch scratch;
  const auto refuse = [&](const std::string& name, const std::string& what) {
    CHECK_THROWS_WITH(open(scratch, name), Catch::Contains(what) && Catch::Contains(name));
  };
  std::ofstream(scratch.file("text.sqlite")) << std::string(5000, 'x');
  refuse("text.sqlite", "no log of Wheeltapper");
  SQLite::Database(scratch.file("other.sqlite"), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE)
      .exec("CREATE TABLE t (a)");
  refuse("other.sqlite", "another program");
  open(scratch, "newer.sqlite")->database().exec("PRAGMA user_version = 99");
  refuse("newer.sqlite", "newer Wheeltapper");
  std::filesystem::create_directory(scratch.file("folder.sqlite"));
  refuse("folder.sqlite", "folder");
  log::Settings existing;
  existing.open = log::Settings::Open::existing;
  CHECK_THROWS_WITH(Log(scratch.file("none.sqlite"), existing, tests::by(tests::small_catalogue())),
                    Catch::Contains("there is no log"));
}

TEST_CASE("a log that somebody else keeps locked is said after the wait", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  SQLite::Database other(scratch.file("a.sqlite"), SQLite::OPEN_READWRITE);
  other.exec("BEGIN IMMEDIATE");
  log::Settings impatient;
  impatient.wait_ms = 50;
  Log waiting(scratch.file("a.sqlite"), impatient, tests::by(tests::small_catalogue()));
  CHECK_THROWS_WITH(waiting.append(visit(1, "2026-01-05", true)), Catch::Contains("locked"));
  other.exec("ROLLBACK");
  CHECK(waiting.append(visit(1, "2026-01-05", true)).size() == 5);
}

TEST_CASE("a backup is a log of its own", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  log->append(visit(1, "2026-01-05", true));
  log->backup(scratch.file("copy.sqlite"));
  CHECK(open(scratch, "copy.sqlite")->fingerprint() == log->fingerprint());
  CHECK_THROWS_WITH(log->backup(scratch.file("copy.sqlite")), Catch::Contains("already"));
}

TEST_CASE("the cure table counts what was tried, what passed and what came back", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  log->append(visit(1, "2026-01-05", true));
  log->append(visit(2, "2026-02-05", false));  // the same locomotive, 31 days later: came back
  log->append(visit(3, "2026-08-05", true));
  const auto catalogue = tests::small_catalogue();
  for (const statistics::CuresOf& of :
       {statistics::CuresOf{statistics::CuresOf::By::finding, "squeal"},
        statistics::CuresOf{statistics::CuresOf::By::cause, "bearing-dry"},
        statistics::CuresOf{statistics::CuresOf::By::locomotive, "Fernhill No. 3"}, statistics::CuresOf{}}) {
    const auto rows = statistics::cures(log::past_jobs(*log, of), *catalogue, of, "2026-09-05T00:00:00.000Z");
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].done == 3);
    CHECK(rows[0].tried == 3);
    CHECK(rows[0].cured == 2);
    CHECK(rows[0].median_minutes == 20);
    CHECK(rows[0].lasting.followed == 2);
    CHECK(rows[0].lasting.came_back == 1);
    CHECK_FALSE(rows[0].lasting.holds);  // two are too few for a curve
  }
  CHECK(statistics::cures(log::past_jobs(*log, {statistics::CuresOf::By::finding, "grinding"}), *catalogue,
                          {statistics::CuresOf::By::finding, "grinding"}, "2026-09-05T00:00:00.000Z")
            .empty());
}

TEST_CASE("a visit that is still open is no proof that a cure holds", "[log]") {
  const tests::Scratch scratch;
  const auto catalogue = tests::small_catalogue();
  const auto holds = [&](const std::string& name, bool closed) {
    const auto log = open(scratch, name);
    for (std::uint64_t j = 1; j <= 6; ++j) {
      const std::string loco = "Fernhill No. " + std::to_string(j);
      auto first = visit(j, "2026-01-05", true);
      first[0].body["locomotive"]["name"] = loco;
      log->append(first);
      auto back = visit(j + 10, "2026-01-23", true);
      back[0].body["locomotive"]["name"] = loco;
      if (!closed) back.resize(2);
      log->append(back);
    }
    return statistics::cures(log::past_jobs(*log, {statistics::CuresOf::By::cause, "bearing-dry"}), *catalogue,
                             {statistics::CuresOf::By::cause, "bearing-dry"}, "2026-01-30T00:00:00.000Z")
        .front();
  };
  const auto open_again = holds("a.sqlite", false);
  CHECK(open_again.lasting.followed == 6);
  CHECK(open_again.lasting.came_back == 0);
  CHECK_FALSE(open_again.lasting.holds);
  const auto back = holds("b.sqlite", true);
  CHECK(back.lasting.came_back == 6);
}

TEST_CASE("readings with other cars are no drift", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  for (std::uint64_t year = 0; year < 4; ++year) {
    auto events = visit(year + 1, fmt::format("20{}-05-05", 20 + year), true);
    events[3].body["value"] = fmt::format("{:.2f} A", 1.10 + 0.1 * static_cast<double>(year));
    events[3].body["cars"] = 2 + 2 * year;
    log->append(events);
  }
  CHECK(statistics::history("Fernhill No. 3", log::jobs_of(*log, "Fernhill No. 3"), *tests::small_catalogue())
            .drifts.empty());
}

TEST_CASE("a drift over the years is called, and scatter is not", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  for (std::uint64_t year = 0; year < 6; ++year) {
    auto events = visit(year + 1, fmt::format("20{}-05-05", 20 + year), true);
    events[3].body["value"] = fmt::format("{:.2f} A", 1.30 + 0.1 * static_cast<double>(year));
    log->append(events);
  }
  const auto past =
      statistics::history("Fernhill No. 3", log::jobs_of(*log, "Fernhill No. 3"), *tests::small_catalogue());
  CHECK(past.visits.size() == 6);
  REQUIRE(past.drifts.size() == 1);
  CHECK(past.drifts[0].a_year == Approx(0.1).margin(0.005));
  CHECK(past.drifts[0].rose > 0.99);
  const auto steady = open(scratch, "b.sqlite");
  for (std::uint64_t year = 0; year < 6; ++year) {
    auto events = visit(year + 1, fmt::format("20{}-05-05", 20 + year), true);
    events[3].body["value"] = year % 2 == 0 ? "1.50 A" : "1.60 A";
    steady->append(events);
  }
  const auto flat =
      statistics::history("Fernhill No. 3", log::jobs_of(*steady, "Fernhill No. 3"), *tests::small_catalogue());
  REQUIRE(flat.drifts.size() == 1);
  CHECK(std::max(flat.drifts[0].rose, 1 - flat.drifts[0].rose) < 0.95);
}

TEST_CASE("learned numbers are kept, found again and forgotten", "[log]") {
  const tests::Scratch scratch;
  const auto log = open(scratch, "a.sqlite");
  CHECK_FALSE(log::learned_numbers(*log));
  log->append(visit(1, "2026-01-05", true));
  CHECK(log::closed_since_learning(*log) == 1);
  const auto catalogue = tests::small_catalogue();
  const auto learned = learn::learn(catalogue, log::summaries(*log));
  CHECK(learned.jobs == 1);
  log::keep(*log, {learned.parameters, "2026-02-01T00:00:00.000Z", "somewhere", 1, json::object()});
  const auto kept = log::learned_numbers(*log);
  REQUIRE(kept);
  CHECK(kept->parameters.size() == learned.parameters.size());
  CHECK(log::closed_since_learning(*log) == 0);
  CHECK(log::forget(*log));
  CHECK_FALSE(log::learned_numbers(*log));
}

TEST_CASE("cells of a spreadsheet are quoted, and no text becomes a formula", "[log]") {
  CHECK(input::csv_cell("plain") == "plain");
  CHECK(input::csv_cell("a,\"b\"") == "\"a,\"\"b\"\"\"");
  CHECK(input::csv_cell("=1+1") == "'=1+1");
  CHECK(input::csv_cell("-0.5") == "-0.5");
  CHECK(input::csv_cell("@x") == "'@x");
}

TEST_CASE("the parts of a new log have the digest that an opening looks for", "[log]") {
  SQLite::Database database(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  for (int from = 0; from < log::kVersion; ++from) database.exec(std::string(log::migration(from)));
  CHECK(log::digest_of_parts(database) == log::kDigestOfParts);
  CHECK(log::odd_parts(database).empty());
  database.exec("DROP INDEX event_head; CREATE VIEW own AS SELECT id FROM job");
  CHECK(log::odd_parts(database) == std::vector<std::string>{"the index \"event_head\" is missing"});
}
