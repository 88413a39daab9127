// The log: events acknowledged a second against the least that SQLite can do, the cure table over 100,000 jobs,
// learning.
#include <SQLiteCpp/SQLiteCpp.h>
#include <benchmark/benchmark.h>

#include "engine/learn/score.hpp"
#include "engine/log/learned.hpp"
#include "engine/log/past.hpp"
#include "engine/statistics/history.hpp"
#include "knowledge/shipped.hpp"
#include "tests/support/events.hpp"
#include "tests/support/scratch.hpp"
#include "tests/support/simulated_jobs.hpp"

namespace {

using namespace wheeltapper;

const std::string kText(120, 'x');

/// The floor: one table, one row a transaction, the same settings and about the same bytes.
void BM_FloorCommit(benchmark::State& state) {
  const tests::Scratch scratch;
  SQLite::Database db(scratch.file("floor.sqlite"), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  db.exec("PRAGMA journal_mode = WAL");
  db.exec(state.range(0) != 0 ? "PRAGMA synchronous = FULL" : "PRAGMA synchronous = NORMAL");
  db.exec("CREATE TABLE event (id INTEGER PRIMARY KEY, body TEXT) STRICT");
  SQLite::Statement insert(db, "INSERT INTO event (body) VALUES (?)");
  const std::string body = job::to_line(tests::event(1, 1, job::EventKind::note, {{"text", kText}}));
  for (auto _ : state) {
    SQLite::Transaction transaction(db);
    insert.reset();
    insert.bind(1, body);
    insert.exec();
    transaction.commit();
  }
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK(BM_FloorCommit)
    ->Arg(1)
    ->Arg(0)
    ->ArgName("full")
    ->Unit(benchmark::kMicrosecond)
    ->UseRealTime()
    ->Repetitions(3)
    ->ReportAggregatesOnly();

void BM_AppendEvent(benchmark::State& state) {
  const tests::Scratch scratch;
  log::Settings settings;
  settings.full_sync = state.range(0) != 0;
  log::Log log(scratch.file("log.sqlite"), settings, tests::by(knowledge::shipped()));
  std::uint64_t next = 1;
  for (auto _ : state) {
    log.append({tests::event(next, next / 20, job::EventKind::note, {{"text", kText}})});
    ++next;
  }
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK(BM_AppendEvent)
    ->Arg(1)
    ->Arg(0)
    ->ArgName("full")
    ->Unit(benchmark::kMicrosecond)
    ->UseRealTime()
    ->Repetitions(3)
    ->ReportAggregatesOnly();

/// A log with the rows of many closed jobs: some hundred simulated ones, copied under other ids.
class FilledLog {
 public:
  explicit FilledLog(std::size_t jobs) : log_(scratch_.file("log.sqlite"), {}, tests::by(knowledge::shipped())) {
    std::mt19937_64 random(5);
    const auto summaries = tests::simulate_jobs(knowledge::shipped(), 500, {}, random);
    SQLite::Transaction transaction(log_.database());
    Rows rows(log_.database());
    for (std::size_t j = 0; j < jobs; ++j) rows.put(summaries[j % summaries.size()], j);
    transaction.commit();
  }
  log::Log& log() { return log_; }

 private:
  struct Rows {
    explicit Rows(SQLite::Database& db)
        : job(db, "INSERT INTO job VALUES (?)"),
          closed(db, "INSERT INTO closed_job VALUES (?, ?, 'ac-series', ?, ?, 'cured', 1, 0, 0, 30)"),
          finding(db, "INSERT INTO closed_finding VALUES (?, ?, ?, 'answer')"),
          fix(db, "INSERT INTO closed_fix VALUES (?, ?, ?, ?, ?)"),
          cause(db, "INSERT OR IGNORE INTO closed_cause VALUES (?, ?)") {}
    void put(const job::Summary& summary, std::size_t number) {
      const std::string id = tests::uuid(number);
      const std::string day = fmt::format("20{:02}-{:02}-{:02}T09:00:00.000Z", 10 + number / 33600 % 80,
                                          number / 2800 % 12 + 1, number / 100 % 28 + 1);
      run(job, id);
      run(closed, id, fmt::format("Fernhill No. {}", number % 20000), day, day);
      for (const auto& each : summary.findings)
        run(finding, id, each.finding, static_cast<std::int64_t>(each.level.value_or(1)));
      int place = 0;
      for (const auto& each : summary.fixes)
        run(fix, id, ++place, each.repair, *each.minutes,
            std::string(each.retest == job::Retest::passed ? "passed" : "failed"));
      for (const auto& each : summary.causes) run(cause, id, each);
    }
    template <typename... Values>
    static void run(SQLite::Statement& statement, const Values&... values) {
      statement.reset();
      int at = 0;
      (statement.bind(++at, values), ...);
      statement.exec();
    }
    SQLite::Statement job, closed, finding, fix, cause;
  };

  tests::Scratch scratch_;
  log::Log log_;
};

FilledLog& filled() {
  static FilledLog log(100000);
  return log;
}

void BM_CureTable(benchmark::State& state) {
  const auto catalogue = knowledge::shipped();
  using By = statistics::CuresOf::By;
  const statistics::CuresOf of[] = {{By::everything, ""}, {By::finding, "squeal"}, {By::cause, "bearing-dry"}};
  log::Log& log = filled().log();
  for (auto _ : state) {
    auto rows = statistics::cures(log::past_jobs(log, of[state.range(0)]), *catalogue, of[state.range(0)],
                                  "2099-01-01T00:00:00.000Z");
    if (rows.empty()) state.SkipWithError("no rows");
    benchmark::DoNotOptimize(rows);
  }
}
BENCHMARK(BM_CureTable)->Arg(0)->Arg(1)->Arg(2)->ArgName("all/finding/cause")->Unit(benchmark::kMillisecond);

void BM_Learn(benchmark::State& state) {
  const auto shipped = knowledge::shipped();
  std::mt19937_64 random(6);
  const auto jobs = tests::simulate_jobs(shipped, static_cast<std::size_t>(state.range(0)), {}, random);
  for (auto _ : state) benchmark::DoNotOptimize(learn::learn(shipped, jobs));
}
BENCHMARK(BM_Learn)->Arg(1000)->Arg(10000)->Unit(benchmark::kMillisecond);

void BM_Prequential(benchmark::State& state) {
  const auto shipped = knowledge::shipped();
  std::mt19937_64 random(6);
  const auto jobs = tests::simulate_jobs(shipped, static_cast<std::size_t>(state.range(0)), {}, random);
  for (auto _ : state) benchmark::DoNotOptimize(learn::prequential(shipped, jobs));
}
BENCHMARK(BM_Prequential)->Arg(10000)->Unit(benchmark::kMillisecond);

}  // namespace
