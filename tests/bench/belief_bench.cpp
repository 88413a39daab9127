// Posterior from scratch on the shipped knowledge, the choice of the next step, the join tree of dlib beside ours on
// the same random network (its structure made before the clock starts, ours made anew each time), and loading.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <random>

#include "engine/cases/diagnose.hpp"
#include "engine/catalogue/load.hpp"
#include "engine/files/files.hpp"
#include "knowledge/shipped.hpp"
#include "tests/support/join_tree.hpp"
#include "tests/support/random_network.hpp"

namespace {

using namespace wheeltapper;

std::shared_ptr<const belief::Network> network() {
  static const auto shared = std::make_shared<const belief::Network>(knowledge::shipped(), "ac-series");
  return shared;
}

/// Positive findings that belong together: drawn from a pair of causes, the likeliest nodes first, as an owner gives
/// them; and as many plain negatives again.
belief::Observations observations(std::size_t positives, unsigned seed) {
  std::mt19937 engine(seed);
  const auto& causes = network()->causes();
  const auto& first = causes[engine() % causes.size()]->id;
  const auto& second = causes[engine() % causes.size()]->id;
  std::vector<std::pair<double, std::string>> yes;
  std::vector<std::string> no;
  for (const auto& finding : network()->catalogue().items().findings) {
    double strength = 0;
    for (const auto& link : finding.links)
      if (link.cause == first || link.cause == second) strength = std::max(strength, link.strength.all.front());
    if (strength > 0)
      yes.emplace_back(-strength, finding.id);
    else
      no.push_back(finding.id);
  }
  std::ranges::sort(yes);
  belief::Observations all;
  for (const auto& [unused, id] : yes) {
    all.answers.push_back({id, {}});
    if (belief::gather(*network(), all).items.size() > positives) all.answers.pop_back();
    if (belief::gather(*network(), all).items.size() == positives) break;
  }
  for (std::size_t i = 0; i < std::min(positives, no.size()); ++i) all.answers.push_back({no[i], 0});
  return all;
}

void BM_PosteriorShipped(benchmark::State& state) {
  std::vector<std::vector<belief::FindingNode>> sets;
  for (unsigned seed = 0; seed < 8; ++seed)
    sets.push_back(belief::gather(*network(), observations(static_cast<std::size_t>(state.range(0)), seed)).nodes);
  std::size_t at = 0;
  std::size_t widest = 0;
  std::size_t refused = 0;  // evidence past TrellisLimits: counted, not hidden
  for (auto _ : state) {
    try {
      const belief::Trellis trellis(network()->prior(), sets[at++ % sets.size()], {}, network()->none_weight());
      widest = std::max(widest, trellis.widest());
      benchmark::DoNotOptimize(trellis.posterior());
    } catch (const belief::FrontierTooWide&) {
      ++refused;
    }
  }
  state.counters["refused"] = benchmark::Counter(static_cast<double>(refused), benchmark::Counter::kAvgIterations);
  state.counters["widest"] = static_cast<double>(widest);
}
BENCHMARK(BM_PosteriorShipped)->ArgName("positives")->Arg(6)->Arg(10)->Arg(14)->Unit(benchmark::kMicrosecond);

void BM_NextStep(benchmark::State& state) {
  const auto seen = observations(static_cast<std::size_t>(state.range(0)), 3);
  const auto belief =
      belief::infer(network(), belief::gather(*network(), seen), {.sets = 0, .explained = 0, .limits = {}});
  for (auto _ : state) benchmark::DoNotOptimize(plan::advise(belief, seen));
}
BENCHMARK(BM_NextStep)->ArgName("positives")->Arg(6)->Arg(10)->Unit(benchmark::kMillisecond);

/// As sparse as the networks that the target was measured on: 60 causes, 2 to 14 of them a finding; 10 seen, 20 not.
std::vector<tests::RandomProblem> shop_problems() {
  std::vector<tests::RandomProblem> all;
  for (std::uint32_t seed = 1; seed <= 8; ++seed) {
    auto problem = tests::random_problem(
        seed, {.causes = 60, .nodes = 30, .most_links = 14, .most_top = 1, .blocks = false, .soft = false});
    for (std::size_t s = 0; s < problem.nodes.size(); ++s)
      problem.nodes[s].likelihood = {s < 10 ? 0.0 : 1.0, s < 10 ? 1.0 : 0.0};
    all.push_back(std::move(problem));
  }
  return all;
}

void BM_PosteriorSparse(benchmark::State& state) {
  const auto problems = shop_problems();
  std::size_t at = 0;
  for (auto _ : state) {
    const auto& problem = problems[at++ % problems.size()];
    benchmark::DoNotOptimize(belief::Trellis(problem.prior, problem.nodes).posterior());
  }
}
BENCHMARK(BM_PosteriorSparse)->Unit(benchmark::kMicrosecond);

tests::RandomProblem peer_problem() {
  return tests::random_problem(
      7, {.causes = 30, .nodes = 10, .most_links = 8, .most_top = 1, .blocks = false, .soft = false});
}

void BM_RandomOurs(benchmark::State& state) {
  const auto problem = peer_problem();
  for (auto _ : state) benchmark::DoNotOptimize(belief::Trellis(problem.prior, problem.nodes).posterior());
}
BENCHMARK(BM_RandomOurs)->Unit(benchmark::kMicrosecond);

void BM_RandomJoinTree(benchmark::State& state) {
  const auto problem = peer_problem();
  const tests::JoinTree tree(problem.prior, problem.nodes);
  for (auto _ : state) benchmark::DoNotOptimize(tree.posterior());
}
BENCHMARK(BM_RandomJoinTree)->Unit(benchmark::kMicrosecond);

/// A whole diagnosis when very much is told: any yes, whether it fits the others or not. 130 is every finding there is.
void BM_MuchTold(benchmark::State& state) {
  std::vector<cases::Case> cases;
  for (unsigned seed = 0; seed < 8; ++seed) {
    std::mt19937 engine(seed);
    std::vector<std::string> ids;
    for (const auto& finding : network()->catalogue().items().findings) ids.push_back(finding.id);
    std::ranges::shuffle(ids, engine);
    cases::Case one;
    one.family = "ac-series";
    for (std::size_t i = 0; i < std::min(ids.size(), static_cast<std::size_t>(state.range(0))); ++i)
      one.observations.answers.push_back({ids[i], {}});
    cases.push_back(std::move(one));
  }
  std::size_t at = 0;
  std::size_t approximate = 0;
  for (auto _ : state)
    approximate += cases::diagnose(knowledge::shipped(), cases[at++ % cases.size()]).belief.approximate ? 1 : 0;
  state.counters["approximate"] =
      benchmark::Counter(static_cast<double>(approximate), benchmark::Counter::kAvgIterations);
}
BENCHMARK(BM_MuchTold)
    ->ArgName("told")
    ->Arg(6)
    ->Arg(10)
    ->Arg(14)
    ->Arg(20)
    ->Arg(40)
    ->Arg(130)
    ->Unit(benchmark::kMillisecond);

void BM_LoadShipped(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(knowledge::shipped());
}
BENCHMARK(BM_LoadShipped)->Unit(benchmark::kMicrosecond);

void BM_LoadFromJson(benchmark::State& state) {
  const auto sources = files::read_knowledge(WHEELTAPPER_SOURCE_DIR "/knowledge");
  for (auto _ : state) benchmark::DoNotOptimize(catalogue::load(sources));
}
BENCHMARK(BM_LoadFromJson)->Unit(benchmark::kMillisecond);

}  // namespace
