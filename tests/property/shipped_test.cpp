// The shipped knowledge: exact on enumerated sub-networks, bounded by all sets of at most two causes on the whole.
#include "knowledge/shipped.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>

#include "engine/belief/belief.hpp"
#include "engine/catalogue/lint.hpp"
#include "engine/catalogue/pack.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/random_network.hpp"

using namespace wheeltapper;

namespace {

std::shared_ptr<const belief::Network> network() {
  static const auto shared = std::make_shared<const belief::Network>(knowledge::shipped(), "ac-series");
  return shared;
}

/// Answers of a random owner to random findings.
belief::Evidence random_evidence(std::uint32_t seed, std::size_t yes, std::size_t no) {
  std::mt19937 engine(seed);
  belief::Observations observations;
  std::vector<const catalogue::Finding*> findings;
  for (const auto& finding : network()->catalogue().items().findings) findings.push_back(&finding);
  std::shuffle(findings.begin(), findings.end(), engine);
  for (std::size_t f = 0; f < yes + no; ++f)
    observations.answers.push_back({findings[f]->id, f < yes ? std::nullopt : std::optional<std::size_t>(0)});
  return belief::gather(*network(), observations);
}

}  // namespace

TEST_CASE("the shipped knowledge has no gaps that the linter sees", "[catalogue]") {
  const auto problems = catalogue::lint(*knowledge::shipped());
  for (const auto& problem : problems) UNSCOPED_INFO(input::to_line(problem));
  CHECK(problems.empty());
}

TEST_CASE("the shipped knowledge holds what it should, and in full", "[catalogue]") {
  const auto items = knowledge::shipped_items();
  CHECK(items.causes.size() >= 55);
  CHECK(items.findings.size() >= 55);
  CHECK(items.checks.size() >= 50);
  CHECK(items.repairs.size() >= 40);
  for (const auto& cause : items.causes) CHECK_FALSE(cause.basis.empty());
  for (const auto& finding : items.findings)
    for (const auto& link : finding.links) CHECK_FALSE(link.basis.empty());
  CHECK(catalogue::pack(catalogue::unpack(catalogue::pack(items))) == catalogue::pack(items));
}

TEST_CASE("on sub-networks of the shipped knowledge the posterior equals enumeration", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(0U, 25U));
  CAPTURE(seed);
  const auto evidence = random_evidence(seed, 4, 6);
  // All causes but twelve are taken to be absent for certain, so that 2^12 sets are all there are.
  std::vector<std::size_t> kept(network()->causes().size());
  for (std::size_t i = 0; i < kept.size(); ++i) kept[i] = i;
  std::mt19937 engine(seed + 1000);
  std::shuffle(kept.begin(), kept.end(), engine);
  kept.resize(12);
  std::vector<double> prior(network()->causes().size(), 0.0);
  std::vector<double> small_prior;
  std::vector<belief::FindingNode> small;
  for (std::size_t k = 0; k < kept.size(); ++k) {
    prior[kept[k]] = network()->prior()[kept[k]] * 5;  // more often, so that several at once weigh in
    small_prior.push_back(prior[kept[k]]);
  }
  for (belief::FindingNode node : evidence.nodes) {
    const auto place = [&](std::size_t cause) {
      return static_cast<std::size_t>(std::ranges::find(kept, cause) - kept.begin());
    };
    std::erase_if(node.links, [&](const auto& link) { return place(link.cause) == kept.size(); });
    std::erase_if(node.blocks, [&](const auto& block) { return place(block.cause) == kept.size(); });
    for (auto& link : node.links) link.cause = place(link.cause);
    for (auto& block : node.blocks) block.cause = place(block.cause);
    small.push_back(std::move(node));
  }
  const auto whole = belief::Trellis(prior, evidence.nodes).posterior();
  const auto plain = tests::enumerate(small_prior, small);
  for (std::size_t k = 0; k < kept.size(); ++k)
    CHECK(whole[kept[k]] == Approx(plain.posterior[k]).epsilon(1e-9).margin(1e-12));
}

TEST_CASE("all sets of at most two causes bound the evidence from below, and nearly reach it", "[belief][property]") {
  const std::uint32_t seed = GENERATE(range(0U, tests::times(3U, 1U)));
  CAPTURE(seed);
  const auto evidence = random_evidence(seed + 50, 3, 8);
  const auto& prior = network()->prior();
  const belief::Trellis trellis(prior, evidence.nodes);
  std::vector<bool> present(prior.size(), false);
  const auto weight = [&] {
    double w = 1;
    for (std::size_t i = 0; i < prior.size(); ++i) w *= present[i] ? prior[i] : 1 - prior[i];
    for (const auto& node : evidence.nodes) w *= tests::observed_given(node, present);
    return w;
  };
  double sum = weight();
  std::vector<double> joint(prior.size(), 0.0);
  for (std::size_t a = 0; a < prior.size(); ++a) {
    present[a] = true;
    const double one = weight();
    sum += one;
    joint[a] += one;
    for (std::size_t b = a + 1; b < prior.size(); ++b) {
      present[b] = true;
      const double two = weight();
      sum += two;
      joint[a] += two;
      joint[b] += two;
      present[b] = false;
    }
    present[a] = false;
  }
  CHECK(sum <= trellis.evidence() * (1 + 1e-12));
  CHECK(sum > trellis.evidence() * 0.85);
  // A cause's posterior lies between its share of what was enumerated and that plus all that was not.
  const auto posterior = trellis.posterior();
  const double missing = 1 - sum / trellis.evidence();
  for (std::size_t i = 0; i < prior.size(); ++i) {
    CHECK(posterior[i] >= joint[i] / trellis.evidence() - 1e-12);
    CHECK(posterior[i] <= joint[i] / trellis.evidence() + missing + 1e-12);
  }
}

TEST_CASE("the chance of a place lies between its likeliest cause and the sum of its causes", "[belief][property]") {
  const auto evidence = random_evidence(7, 3, 4);
  const auto belief = belief::infer(network(), evidence);
  double most = 0;
  for (const auto& place : belief.places) {
    double largest = 0;
    double sum = 0;
    for (const std::size_t cause : place.causes) {
      largest = std::max(largest, belief.posterior[cause]);
      sum += belief.posterior[cause];
    }
    CHECK(place.chance >= largest - 1e-12);
    CHECK(place.chance <= sum + 1e-12);
    most = std::max(most, place.chance);
  }
  CHECK(belief.places.front().chance == most);
}
