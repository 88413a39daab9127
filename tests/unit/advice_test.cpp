#include "engine/plan/advice.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "engine/plan/decided_findings.hpp"
#include "engine/plan/inspection.hpp"
#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;

namespace {

std::shared_ptr<const belief::Network> network() {
  static const auto shared = std::make_shared<const belief::Network>(tests::small_catalogue(), "ac-series");
  return shared;
}

plan::Advice advice_for(const belief::Observations& seen) {
  return plan::advise(
      belief::infer(network(), belief::gather(*network(), seen), {.sets = 0, .explained = 0, .limits = {}}), seen);
}

bench::Run loaded_run(bench::Direction direction, double laps) {
  bench::Run run;
  run.kind = bench::RunKind::loaded;
  run.direction = direction;
  bench::Reading reading{.value = measure::Measurement(laps, 0.02, measure::unit("/min")), .repeats = {}};
  run.readings.emplace("lap-rate", reading);
  return run;
}

}  // namespace

TEST_CASE("what follows from an answer is known", "[plan]") {
  const auto catalogue = tests::small_catalogue();
  belief::Observations seen;
  seen.answers = {{"hums-no-move-high-amps", {}}, {"slow-or-weak", 0}};
  const auto decided = plan::decided_findings(*catalogue, seen);
  CHECK(decided.yes.contains("hums-no-move"));  // its plainer forms
  CHECK(decided.yes.contains("does-not-move"));
  CHECK(decided.no.contains("dead-silent"));   // what cannot hold beside it
  CHECK(decided.no.contains("slow-forward"));  // finer form of what was denied, and ruled out
  CHECK_FALSE(decided.has("sparks-anywhere"));
  for (const std::string& id : decided.yes) CHECK_FALSE(decided.no.contains(id));
  CHECK(plan::seen_yes(*catalogue, seen) == std::set<std::string>{"hums-no-move-high-amps"});
}

TEST_CASE("that it ran at all is read from its laps", "[plan][bench]") {
  const auto catalogue = tests::small_catalogue();
  const auto runs = [&](double forward, double reverse) {
    bench::Session session;
    session.runs = {loaded_run(bench::Direction::forward, forward), loaded_run(bench::Direction::reverse, reverse)};
    belief::Observations seen;
    seen.readings = belief::Observed(*catalogue, session, {});
    return plan::decided_findings(*catalogue, seen);
  };
  CHECK(runs(8.5, 8.0).no.contains("does-not-move"));
  CHECK(runs(8.5, 8.0).no.contains("one-direction-only"));
  CHECK(runs(8.5, 0.0).no.contains("does-not-move"));
  CHECK(runs(8.5, 0.0).yes.contains("one-direction-only"));
  CHECK(runs(0.0, 0.0).yes.contains("does-not-move"));
}

TEST_CASE("what opens the motor is looked at before it is repaired", "[plan]") {
  belief::Observations seen;
  seen.answers = {{"hot-motor", {}}, {"high-draw-loaded", {}}, {"slows-as-warms", {}}, {"squeal", 0}};
  const auto advice = advice_for(seen);
  bool looked = false;
  for (const auto& step : advice.list) {
    if (step.repair != nullptr && step.repair->opens >= catalogue::Opens::motor) CHECK(looked);
    looked = looked || step.check != nullptr;
  }
  REQUIRE(advice.next);
  CHECK(advice.next->check != nullptr);
}

TEST_CASE("what is open is paid for once, and a motor goes back before power", "[plan]") {
  using catalogue::Opens;
  using catalogue::Power;
  const plan::SetupCosts costs{2, {0, 4, 20, 40}};
  const plan::Setup closed;
  const plan::Needs look{Power::unplugged, Opens::cover};
  CHECK(minutes_to(closed, look, costs) == 4);
  const plan::Setup open = after_check(closed, look);
  CHECK(minutes_to(open, look, costs) == 0);
  CHECK(minutes_to(open, {Power::unplugged, Opens::motor}, costs) == 16);
  CHECK(minutes_to(open, {Power::live, Opens::nothing}, costs) == 2);
  CHECK(minutes_to(open, {Power::unplugged_then_live, Opens::nothing}, costs) == 2);
  const plan::Setup in_pieces = after_check(open, {Power::unplugged, Opens::motor});
  CHECK(minutes_to(in_pieces, {Power::unplugged, Opens::motor}, costs) == 0);
  CHECK(after_check(in_pieces, {Power::live, Opens::nothing}) == plan::Setup{true, Opens::cover});
  const plan::Setup retested = after_repair(in_pieces, {Power::unplugged, Opens::motor});
  CHECK(retested == plan::Setup{true, Opens::cover});
  CHECK(minutes_to(retested, {Power::unplugged, Opens::motor}, costs) == 18);
  CHECK(minutes_to_retest({Power::unplugged, Opens::motor}, costs) == 2);
}

TEST_CASE("a cover that is off makes the looks behind it cheaper", "[plan]") {
  const auto& check = *tests::small_catalogue()->check("check-comm-look");
  REQUIRE(check.opens == catalogue::Opens::cover);
  const plan::Costs costs;
  CHECK(cost_of(check, costs, {}) == Approx(check.minutes + 4));
  CHECK(cost_of(check, costs, {true, catalogue::Opens::cover}) == Approx(check.minutes + 2));
}

TEST_CASE("an inspection makes a rarely needed repair cheaper, and is named before a costly one", "[plan]") {
  const std::vector<plan::RepairOption> repairs{{"dear", 100, {{0, 0.9}}}, {"cheap", 5, {{1, 0.9}}}};
  const std::vector<plan::CheckOption> checks{{"inspection", 4, {{"seen", 0.98, {{0, 0.1}}}}}};
  const std::vector<double> chance{0.2, 0.5};
  const auto ways = plan::with_inspections(repairs, checks, chance);
  REQUIRE(ways.size() == 3);
  REQUIRE(ways[2].inspection);
  CHECK(ways[2].inspection->repair == 0);
  CHECK(ways[2].cures[0].chance == Approx(0.9 * (1 - 0.1 * 0.98)));
  // 4 min, and 100 min as often as it shows: 0.02 falsely and 0.98 * 0.2 * 0.9 because the cause is there
  CHECK(plan::expected_cost(ways[2], chance) == Approx(4 + 100 * (0.02 + 0.98 * 0.2 * 0.9)));
  plan::RepairOption dear = repairs[0];
  CHECK_FALSE(plan::inspection_before(dear, checks, chance));
  dear.inspect_first = true;
  CHECK(plan::inspection_before(dear, checks, chance) == 0U);
  CHECK_FALSE(plan::inspection_before(dear, checks, {0.97, 0.01}));  // sure enough
  CHECK(plan::is_inspection(checks[0], dear, chance));
  CHECK_FALSE(plan::is_inspection(checks[0], repairs[1], chance));
  CHECK(plan::relevance(checks[0], chance) == Approx(0.2 * (1 - 0.1 * 0.98)));
}
