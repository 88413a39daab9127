// Several processes and one log: killed while they write, and writing at once. Real processes, real files.
#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <csignal>
#include <map>
#include <random>
#include <set>
#include <thread>

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

constexpr int kKills = tests::times(240, 8);
constexpr auto kEach = tests::times<std::uint64_t>(5000, 500);
constexpr auto kLongestLife = tests::times(15000U, 120000U);  // microseconds: each start takes longer there

log::Settings settings(bool full) {
  log::Settings settings;
  settings.full_sync = full;
  settings.wait_ms = 60000;
  return settings;
}

/// Runs `work` in a process of its own, which ends with it.
template <typename Work>
pid_t in_process(Work&& work) {
  const pid_t pid = fork();
  if (pid != 0) return pid;
  try {
    work();
    _exit(0);
  } catch (const std::exception& wrong) {
    fputs(wrong.what(), stderr);
    _exit(1);
  }
}

/// Appends small groups of events to several jobs until it is killed, and says each group's number after the commit.
void write_and_say(const std::string& path, int life, std::uint64_t first, int say) {
  Log log(path, settings(life % 2 == 0), tests::by(knowledge::shipped()));
  std::vector<Event> heads;
  for (std::uint64_t job = 0; job < 5; ++job)
    heads.push_back(tests::event((1ULL << 40U) + static_cast<std::uint64_t>(life) * 10 + job, job, EventKind::opened,
                                 {{"title", "Test"}, {"locomotive", {{"family", "ac-series"}}}}));
  log.append(heads);
  for (std::uint64_t group = first;; ++group) {
    std::vector<Event> events;
    const std::uint64_t job = group % 5;
    for (std::uint64_t i = 0; i < 1 + group % 3; ++i)
      events.push_back(tests::event(group * 10 + i, job, EventKind::note,
                                    {{"text", std::string(20 + 300 * (group % 7), 'x')}, {"group", group}}));
    if (group % 11 == 0)  // so that the rows of closed jobs are written too
      events.push_back(tests::event(group * 10 + 9, job, EventKind::closed, {{"outcome", "referred"}}));
    log.append(events);
    if (write(say, &group, sizeof group) != sizeof group) return;
  }
}

std::vector<std::uint64_t> heard(int from) {
  std::vector<std::uint64_t> groups;
  std::uint64_t group = 0;
  while (read(from, &group, sizeof group) == sizeof group) groups.push_back(group);
  return groups;
}

/// How many events of each group are in the log.
std::map<std::uint64_t, std::uint64_t> groups_in(Log& log) {
  std::map<std::uint64_t, std::uint64_t> counts;
  log.for_each_event([&](const Event& event) {
    if (event.kind == EventKind::note) ++counts[event.body["group"].get<std::uint64_t>()];
  });
  return counts;
}

}  // namespace

TEST_CASE("killed at any moment, a log has all that it acknowledged and nothing half", "[processes]") {
  std::mt19937_64 random(99);
  std::uint64_t next = 1;
  std::set<std::uint64_t> acknowledged;
  auto scratch = std::make_unique<tests::Scratch>();
  std::size_t lost = 0, half = 0, damaged = 0;
  for (int kill_number = 0; kill_number < kKills; ++kill_number) {
    if (kill_number % 50 == 0) {  // a new log, so that its making is interrupted too
      scratch = std::make_unique<tests::Scratch>();
      acknowledged.clear();
    }
    const std::string path = scratch->file("log.sqlite");
    const bool full = kill_number % 2 == 0;
    std::array<int, 2> ends{};
    REQUIRE(pipe(ends.data()) == 0);
    const pid_t pid = in_process([&] {
      close(ends[0]);
      write_and_say(path, kill_number, next, ends[1]);
    });
    close(ends[1]);
    // Two in three once it has acknowledged something, however busy the machine; the others while the log is made.
    if (kill_number % 3 != 0) {
      pollfd first{ends[0], POLLIN, 0};
      REQUIRE(poll(&first, 1, 600'000) == 1);
    }
    std::this_thread::sleep_for(std::chrono::microseconds(random() % kLongestLife));
    kill(pid, SIGKILL);
    int status = 0;
    waitpid(pid, &status, 0);
    REQUIRE(WIFSIGNALED(status));
    for (const std::uint64_t group : heard(ends[0])) acknowledged.insert(group);
    close(ends[0]);
    Log log(path, settings(full), tests::by(knowledge::shipped()));
    const auto counts = groups_in(log);
    for (const std::uint64_t group : acknowledged) lost += counts.contains(group) ? 0 : 1;
    for (const auto& [group, count] : counts) half += count == 1 + group % 3 ? 0 : 1;
    damaged += log.problems().size();
    next = std::max(next, counts.empty() ? 0 : counts.rbegin()->first + 1);
    if (!acknowledged.empty()) next = std::max(next, *acknowledged.rbegin() + 1);
  }
  CHECK(next > 2 * kKills / 10);  // they did write
  CHECK(lost == 0);
  CHECK(half == 0);
  CHECK(damaged == 0);
}

TEST_CASE("two benches write the same log at once, and all of both is there in order", "[processes]") {
  const tests::Scratch scratch;
  const std::string path = scratch.file("log.sqlite");
  {
    Log log(path, settings(true), tests::by(knowledge::shipped()));
    std::vector<Event> heads;
    for (std::uint64_t job = 0; job < 10; ++job)
      heads.push_back(tests::event(9000000 + job, job, EventKind::opened,
                                   {{"title", "Test"}, {"locomotive", {{"family", "ac-series"}}}}));
    log.append(heads);
  }
  std::array<pid_t, 2> writers{};
  for (std::uint64_t bench = 0; bench < 2; ++bench)
    writers[bench] = in_process([&, bench] {
      Log log(path, settings(false), tests::by(knowledge::shipped()));
      for (std::uint64_t i = 0; i < kEach; ++i) {
        Event event = tests::event(bench * 1000000 + i, i % 10, EventKind::note, {{"text", "x"}, {"turn", i}});
        event.writer = bench == 0 ? "bench one" : "bench two";
        log.append({event});
      }
    });
  for (const pid_t pid : writers) {
    int status = 0;
    waitpid(pid, &status, 0);
    CHECK((WIFEXITED(status) && WEXITSTATUS(status) == 0));
  }
  Log log(path, settings(true), tests::by(knowledge::shipped()));
  std::size_t all = 0, disorder = 0;
  for (std::uint64_t job = 0; job < 10; ++job) {
    std::map<std::string, std::int64_t> last;  // by bench: the turn it wrote last
    std::int64_t number = 0;
    for (const Event& event : log.events(tests::uuid(job))) {
      disorder += event.number == ++number ? 0 : 1;
      if (event.kind == EventKind::opened) continue;
      ++all;
      const auto turn = event.body["turn"].get<std::int64_t>();
      const auto before = last.find(event.writer);
      disorder += before == last.end() || before->second < turn ? 0 : 1;
      last[event.writer] = turn;
    }
  }
  CHECK(all == 2 * kEach);
  CHECK(disorder == 0);
  CHECK(log.problems().empty());
}
