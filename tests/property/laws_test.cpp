// Laws that hold for any network.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "engine/belief/evidence.hpp"
#include "engine/belief/trellis.hpp"
#include "tests/support/random_network.hpp"

using namespace wheeltapper;
using belief::FindingNode;
using belief::Trellis;

namespace {

FindingNode yes_no(std::string id, double leak, std::vector<std::pair<std::size_t, double>> links, bool yes) {
  FindingNode node{.id = std::move(id), .links = {}, .blocks = {}};
  node.leak[0] = leak;
  for (const auto& [cause, strength] : links) node.links.push_back({cause, {strength}});
  node.likelihood = {yes ? 0.0 : 1.0, yes ? 1.0 : 0.0};
  node.likelihood_blocked = node.likelihood[0];
  return node;
}

}  // namespace

TEST_CASE("the order of the evidence does not matter", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(0U, 60U));
  CAPTURE(seed);
  auto problem = tests::random_problem(seed, {.causes = 12, .nodes = 9});
  const auto before = Trellis(problem.prior, problem.nodes).posterior();
  std::mt19937 engine(seed);
  std::shuffle(problem.nodes.begin(), problem.nodes.end(), engine);
  const auto after = Trellis(problem.prior, problem.nodes).posterior();
  for (std::size_t i = 0; i < before.size(); ++i) CHECK(after[i] == Approx(before[i]).epsilon(1e-10).margin(1e-14));
}

TEST_CASE("a finding that nobody observed changes nothing", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(0U, 60U));
  CAPTURE(seed);
  auto problem = tests::random_problem(seed, {.causes = 12, .nodes = 8});
  const Trellis before(problem.prior, problem.nodes);
  FindingNode unseen = problem.nodes.front();
  unseen.likelihood.fill(1);
  unseen.likelihood_blocked = 1;
  problem.nodes.push_back(unseen);
  const Trellis after(problem.prior, problem.nodes);
  CHECK(after.evidence() == before.evidence());
  CHECK(after.posterior() == before.posterior());
}

TEST_CASE("a certain finding of the only cause drives it to 1", "[belief][property]") {
  const double prior = GENERATE(1e-9, 1e-4, 0.1);
  const Trellis trellis(std::vector{prior, 0.2}, std::vector{yes_no("only", 0, {{0, 0.7}}, true)});
  CHECK(trellis.posterior()[0] == Approx(1).epsilon(1e-12));
  CHECK(trellis.posterior()[1] == Approx(0.2).epsilon(1e-12));
}

TEST_CASE("extreme numbers stay finite and within 0 to 1", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(0U, 80U));
  CAPTURE(seed);
  std::mt19937 engine(seed);
  const std::vector<double> extremes{0, 1e-300, 1e-12, 0.5, 1 - 1e-12, 1};
  const auto pick = [&] { return extremes[engine() % extremes.size()]; };
  auto problem = tests::random_problem(seed, {.causes = 9, .nodes = 7, .most_top = 2});
  for (double& p : problem.prior) p = pick();
  for (FindingNode& node : problem.nodes) {
    for (auto& link : node.links) {
      link.reach[0] = pick();
      link.reach[1] = node.top > 1 ? std::min(link.reach[0], pick()) : 0;
    }
    node.leak[0] = std::max(node.leak[0], 1e-9);
  }
  try {
    const Trellis trellis(problem.prior, problem.nodes);
    for (const double p : trellis.posterior()) {
      CHECK(std::isfinite(p));
      CHECK(p >= 0);
      CHECK(p <= 1);
    }
    CHECK(std::isfinite(trellis.evidence()));
  } catch (const belief::ImpossibleEvidence&) {
    SUCCEED("the evidence has no chance: said so");
  }
}

TEST_CASE("what cannot be observed is refused", "[belief]") {
  const std::vector<double> prior{0.1};
  FindingNode impossible = yes_no("never", 0.1, {{0, 0.5}}, true);
  impossible.likelihood.fill(0);
  impossible.likelihood_blocked = 0;
  CHECK_THROWS_AS(Trellis(prior, std::vector{impossible}), std::domain_error);
  CHECK_THROWS_AS(Trellis(prior, std::vector{yes_no("no leak, no cause", 0, {}, true)}), belief::ImpossibleEvidence);
  CHECK_THROWS_AS(Trellis(prior, std::vector{yes_no("bad link", 0.1, {{3, 0.5}}, true)}), std::domain_error);
  CHECK_THROWS_AS(Trellis(prior, std::vector{yes_no("bad strength", 0.1, {{0, 1.5}}, true)}), std::domain_error);
  CHECK_THROWS_AS(Trellis(std::vector{1.5}, std::vector<FindingNode>{}), std::domain_error);
}

TEST_CASE("an answer keeps the chances of a fallible observer exactly", "[belief][property]") {
  // P(yes | no cause) and P(yes | a cause alone) as the finding and the error rates give them (design: belief).
  const double false_yes = GENERATE(0.0, 0.05, 0.2);
  const double false_no = GENERATE(0.0, 0.1, 0.3);
  CAPTURE(false_yes, false_no);
  const FindingNode plain = yes_no("finding", 0.04, {{0, 0.7}, {1, 0.3}}, true);
  const FindingNode answer = belief::answered(plain, std::nullopt, false_yes, false_no);
  const auto fallible = [&](double shows) { return false_yes * (1 - shows) + (1 - false_no) * shows; };
  CHECK(tests::observed_given(answer, {false, false}) == Approx(fallible(0.04)).epsilon(1e-12));
  CHECK(tests::observed_given(answer, {true, false}) == Approx(fallible(1 - 0.96 * 0.3)).epsilon(1e-12));
  CHECK(tests::observed_given(answer, {false, true}) == Approx(fallible(1 - 0.96 * 0.7)).epsilon(1e-12));
  // With both present the node is made twice and missed less often than by the plain error rate.
  CHECK(tests::observed_given(answer, {true, true}) >= fallible(1 - 0.96 * 0.3 * 0.7) - 1e-12);
  const FindingNode no = belief::answered(plain, 0, false_yes, false_no);
  CHECK(tests::observed_given(no, {true, false}) == Approx(1 - fallible(1 - 0.96 * 0.3)).epsilon(1e-12));
}

TEST_CASE("a blocked finding is answered yes only by mistake", "[belief]") {
  FindingNode plain = yes_no("finding", 0.04, {{0, 0.7}}, true);
  plain.blocks.push_back({1, 1.0});
  const FindingNode yes = belief::answered(plain, std::nullopt, 0.06, 0.1);
  CHECK(tests::observed_given(yes, {true, true}) == Approx(0.06));
  const FindingNode no = belief::answered(plain, 0, 0.06, 0.1);
  CHECK(tests::observed_given(no, {true, true}) == Approx(0.94));
}

TEST_CASE("graded answers sum to 1 over their levels", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(0U, 40U));
  CAPTURE(seed);
  const auto problem = tests::random_problem(seed, {.causes = 5, .nodes = 1, .most_top = 4});
  const FindingNode& plain = problem.nodes.front();
  for (std::size_t bits = 0; bits < 32; ++bits) {
    std::vector<bool> present(5);
    for (std::size_t i = 0; i < 5; ++i) present[i] = (bits >> i & 1U) != 0;
    double sum = 0;
    for (std::size_t level = 0; level <= plain.top; ++level)
      sum += tests::observed_given(belief::answered(plain, level, 0.05, 0.1), present);
    CHECK(sum == Approx(1).epsilon(1e-12));
  }
}
