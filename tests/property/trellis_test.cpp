// The trellis against plain enumeration: slow and plainly right.
#include "engine/belief/trellis.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>

#include "tests/support/random_network.hpp"

using namespace wheeltapper;
using belief::Trellis;

namespace {

tests::RandomProblem problem_of(std::uint32_t seed) {
  return tests::random_problem(seed, {.causes = 3 + seed % 8, .nodes = 1 + seed % 8, .most_links = 6, .most_top = 4});
}

/// Every node tied to every cause, all seen; the smaller `likely`, the less the nodes expect each other.
tests::RandomProblem dense(std::size_t causes, std::size_t nodes, double likely, std::uint32_t seed) {
  std::mt19937 engine(seed);
  std::uniform_real_distribution<double> share(0.2, 1.0);
  tests::RandomProblem problem;
  for (std::size_t i = 0; i < causes; ++i) problem.prior.push_back(0.1 * share(engine));
  for (std::size_t s = 0; s < nodes; ++s) {
    belief::FindingNode node{.id = "node", .links = {}, .blocks = {}};
    node.leak[0] = 0.1 * likely;
    for (std::size_t i = 0; i < causes; ++i) node.links.push_back({i, belief::Reach{likely * share(engine)}});
    node.likelihood = {0, 1};
    problem.nodes.push_back(node);
  }
  return problem;
}

void check_enumeration(const tests::RandomProblem& problem, double none_weight, double within) {
  const Trellis trellis(problem.prior, problem.nodes, {}, none_weight);
  const auto plain = tests::enumerate(problem.prior, problem.nodes, none_weight);
  CHECK(trellis.evidence() == Approx(plain.evidence).epsilon(within));
  CHECK(trellis.none_present() == Approx(plain.set_probability[0]).margin(1e-12).epsilon(1e-9));
  const auto posterior = trellis.posterior();
  for (std::size_t i = 0; i < posterior.size(); ++i) {
    CAPTURE(i);
    CHECK(posterior[i] == Approx(plain.posterior[i]).margin(within).epsilon(within));
  }
}

}  // namespace

TEST_CASE("nodes that expect each other are subtracted, surprising ones are not; both are right",
          "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(1U, 20U));
  CAPTURE(seed);
  const auto expected = dense(10, 8, 0.9, seed);
  CHECK(Trellis(expected.prior, expected.nodes).subtracting() >= 4);
  check_enumeration(expected, 0.05, 1e-10);
  const auto surprising = dense(10, 8, 1e-5, seed);
  CHECK(Trellis(surprising.prior, surprising.nodes).subtracting() <= 1);
  check_enumeration(surprising, 0.05, 1e-10);
}

TEST_CASE("that something is wrong keeps its digits when hardly anything is likely to be", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(30U, 40U));
  CAPTURE(seed);
  auto problem = dense(6, 3, 0.5, seed);
  for (double& p : problem.prior) p *= 1e-11;
  for (belief::FindingNode& node : problem.nodes) node.likelihood = {1, 0.5};
  const double none_weight = GENERATE(0.0, 1e-13);
  const Trellis trellis(problem.prior, problem.nodes, {}, none_weight);
  const auto plain = tests::enumerate(problem.prior, problem.nodes, none_weight);
  for (std::size_t i = 0; i < problem.prior.size(); ++i)
    CHECK(trellis.posterior()[i] == Approx(plain.posterior[i]).epsilon(1e-9));
  CHECK(trellis.none_present() == Approx(plain.set_probability[0]).margin(1e-12));
  for (const auto& set : trellis.most_probable_sets(4).sets) CHECK(set.probability > 0);
}

TEST_CASE("tiny and huge likelihoods change no posterior", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(900U, 930U));
  CAPTURE(seed);
  const auto problem = problem_of(seed);
  const auto plain = Trellis(problem.prior, problem.nodes, {}, 0.05).posterior();
  for (const double scale : {1e-250, 1e250}) {
    auto scaled = problem.nodes;
    for (belief::FindingNode& node : scaled) {
      for (double& each : node.likelihood) each *= scale;
      node.likelihood_blocked *= scale;
    }
    const auto same = Trellis(problem.prior, scaled, {}, 0.05).posterior();
    for (std::size_t i = 0; i < plain.size(); ++i) CHECK(same[i] == Approx(plain[i]).margin(1e-12).epsilon(1e-9));
  }
}

TEST_CASE("a rare block keeps its digits", "[belief][property]") {
  tests::RandomProblem problem{{1 - 1e-12, 0.5}, {}};
  belief::FindingNode node{.id = "node", .links = {{0, belief::Reach{1}}}, .blocks = {{1, 1e-12}}};
  node.likelihood = {1, 0};
  node.likelihood_blocked = 1;
  problem.nodes = {node};
  const Trellis trellis(problem.prior, problem.nodes);
  // By hand: absent, or present and blocked. (1 - (1 - 1e-12) would not do for the block.)
  const double absent = 1 - problem.prior[0];
  const double hidden = problem.prior[0] * 0.5 * 1e-12;
  CHECK(trellis.posterior()[0] == Approx(hidden / (absent + hidden)).epsilon(1e-9));
}

TEST_CASE("evidence and posteriors equal enumeration", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(100U, 400U));
  CAPTURE(seed);
  const auto problem = problem_of(seed);
  const double none_weight = seed % 3 == 0 ? 1.0 : 0.05;
  const Trellis trellis(problem.prior, problem.nodes, {}, none_weight);
  const auto plain = tests::enumerate(problem.prior, problem.nodes, none_weight);
  CHECK(trellis.evidence() == Approx(plain.evidence).epsilon(1e-11));
  CHECK(trellis.none_present() == Approx(plain.set_probability[0]).margin(1e-12).epsilon(1e-9));
  const auto posterior = trellis.posterior();
  for (std::size_t i = 0; i < posterior.size(); ++i) {
    CAPTURE(i);
    CHECK(posterior[i] == Approx(plain.posterior[i]).margin(1e-12).epsilon(1e-11));
  }
}

TEST_CASE("with causes that are there instead of each other all equals enumeration", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(700U, 1000U));
  CAPTURE(seed);
  auto problem = problem_of(seed);
  std::mt19937 engine(seed);
  const std::size_t causes = problem.prior.size();
  const std::size_t current = causes - std::min(causes - 1, 2 + engine() % 3);
  std::vector<std::size_t> instead_of;
  for (std::size_t k = current; k < problem.prior.size(); ++k)
    instead_of.push_back(engine() % std::min<std::size_t>(current, 3));
  for (double& p : problem.prior) p *= 0.8;  // four of a group stay below 1
  const double none_weight = seed % 3 == 0 ? 1.0 : 0.05;
  const Trellis trellis(problem.prior, problem.nodes, {}, none_weight, instead_of);
  const auto plain = tests::enumerate(problem.prior, problem.nodes, none_weight, instead_of);
  REQUIRE(trellis.current() == current);
  CHECK(trellis.evidence() == Approx(plain.evidence).epsilon(1e-10));
  const auto posterior = trellis.posterior();
  for (std::size_t i = 0; i < posterior.size(); ++i)
    CHECK(posterior[i] == Approx(plain.posterior[i]).margin(1e-12).epsilon(1e-9));
  double none = 0;
  std::vector<double> factor;
  for (std::size_t i = 0; i < posterior.size(); ++i)
    factor.push_back(engine() % 3 == 0 ? 0.0 : engine() % 2 == 0 ? 1.0 : 0.4);
  double share = 0;
  for (std::size_t bits = 0; bits < plain.set_probability.size(); ++bits) {
    double weight = plain.set_probability[bits];
    if ((bits & ((std::size_t{1} << current) - 1)) == 0) none += weight;
    for (std::size_t i = 0; i < factor.size(); ++i)
      if ((bits >> i & 1U) != 0) weight *= factor[i];
    share += weight;
  }
  CHECK(trellis.none_present() == Approx(none).margin(1e-12).epsilon(1e-9));
  CHECK(trellis.share(factor) == Approx(share).margin(1e-12).epsilon(1e-9));
  std::vector<double> shares;
  const auto joint = trellis.joint_posteriors(factor, shares);
  CHECK(shares.front() == Approx(share).margin(1e-12).epsilon(1e-9));
  for (std::size_t i = 0; i < factor.size(); ++i) {
    double both = 0;
    for (std::size_t bits = 0; bits < plain.set_probability.size(); ++bits) {
      double weight = (bits >> i & 1U) != 0 ? plain.set_probability[bits] : 0;
      for (std::size_t k = 0; k < factor.size(); ++k)
        if ((bits >> k & 1U) != 0) weight *= factor[k];
      both += weight;
    }
    CHECK(joint[i] == Approx(both).margin(1e-12).epsilon(1e-9));
  }
  const auto found = trellis.most_probable_sets(6);
  auto sets = plain.set_probability;
  std::ranges::sort(sets, std::greater<>());
  for (std::size_t k = 0; k < found.sets.size(); ++k)
    CHECK(found.sets[k].probability == Approx(sets[k]).margin(1e-12).epsilon(1e-9));
}

TEST_CASE("the most probable sets are those of enumeration", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(500U, 620U));
  CAPTURE(seed);
  const auto problem = problem_of(seed);
  const double none_weight = seed % 2 == 0 ? 1.0 : 0.1;
  const auto found = Trellis(problem.prior, problem.nodes, {}, none_weight).most_probable_sets(6);
  auto plain = tests::enumerate(problem.prior, problem.nodes, none_weight).set_probability;
  CHECK(found.complete);
  REQUIRE(found.sets.size() == std::min<std::size_t>(6, plain.size()));
  for (const auto& set : found.sets) {
    std::size_t bits = 0;
    for (const std::size_t cause : set.causes) bits |= std::size_t{1} << cause;
    CHECK(set.probability == Approx(plain[bits]).margin(1e-12).epsilon(1e-9));
  }
  std::ranges::sort(plain, std::greater<>());
  for (std::size_t k = 0; k < found.sets.size(); ++k)
    CHECK(found.sets[k].probability == Approx(plain[k]).margin(1e-12).epsilon(1e-9));
}

TEST_CASE("hypotheses equal enumeration", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(700U, 800U));
  CAPTURE(seed);
  const auto problem = problem_of(seed);
  const std::size_t n = problem.prior.size();
  const Trellis trellis(problem.prior, problem.nodes, {}, 0.2);
  const auto plain = tests::enumerate(problem.prior, problem.nodes, 0.2);
  const std::size_t hypotheses = 1 + seed % 7;
  std::vector<double> factors;
  for (std::size_t h = 0; h < hypotheses; ++h)
    for (std::size_t i = 0; i < n; ++i) factors.push_back(static_cast<double>((seed * 7 + h * 3 + i * 5) % 5) / 4);
  std::vector<double> shares;
  const auto joint = trellis.joint_posteriors(factors, shares);
  const auto alone = trellis.shares(factors);
  for (std::size_t h = 0; h < hypotheses; ++h) {
    double expected = 0;
    std::vector<double> expected_joint(n, 0);
    for (std::size_t bits = 0; bits < plain.set_probability.size(); ++bits) {
      double weight = plain.set_probability[bits];
      for (std::size_t i = 0; i < n; ++i)
        if ((bits >> i & 1U) != 0) weight *= factors[h * n + i];
      expected += weight;
      for (std::size_t i = 0; i < n; ++i)
        if ((bits >> i & 1U) != 0) expected_joint[i] += weight;
    }
    CAPTURE(h);
    CHECK(shares[h] == Approx(expected).margin(1e-12));
    CHECK(alone[h] == Approx(expected).margin(1e-12));
    for (std::size_t i = 0; i < n; ++i) CHECK(joint[h * n + i] == Approx(expected_joint[i]).margin(1e-12));
  }
}

TEST_CASE("a frontier past its limit is refused with a message", "[belief]") {
  const auto problem = tests::random_problem(3, {.causes = 12, .nodes = 8, .most_links = 12, .most_top = 2});
  CHECK_THROWS_AS(Trellis(problem.prior, problem.nodes, {.states = 4, .numbers = 1U << 20U}), belief::FrontierTooWide);
  CHECK_THROWS_AS(Trellis(problem.prior, problem.nodes, {.states = 1U << 18U, .numbers = 16}), belief::FrontierTooWide);
}
