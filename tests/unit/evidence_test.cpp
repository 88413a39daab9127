#include "engine/belief/evidence.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;
using namespace wheeltapper::belief;

namespace {

bool counts(const Evidence& evidence, std::string_view id) {
  return std::ranges::any_of(evidence.items, [&](const Item& item) { return item.id == id; });
}

}  // namespace

TEST_CASE("the finest yes counts and its plainer forms do not", "[belief]") {
  const Network network(tests::small_catalogue(), "ac-series");
  Observations seen;
  seen.answers = {{"does-not-move", {}}, {"hums-no-move", {}}, {"hums-no-move-low-amps", {}}};
  const auto evidence = gather(network, seen);
  CHECK(counts(evidence, "hums-no-move-low-amps"));
  CHECK_FALSE(counts(evidence, "hums-no-move"));
  CHECK_FALSE(counts(evidence, "does-not-move"));
  CHECK(evidence.dropped.size() == 2);
}

TEST_CASE("a plain no answers its finer forms", "[belief]") {
  const Network network(tests::small_catalogue(), "ac-series");
  Observations seen;
  seen.answers = {{"hums-no-move", 0}, {"hums-no-move-low-amps", 0}};
  const auto evidence = gather(network, seen);
  CHECK(counts(evidence, "hums-no-move"));
  CHECK_FALSE(counts(evidence, "hums-no-move-low-amps"));
}

TEST_CASE("a no stays where its plain form does not count", "[belief]") {
  const Network network(tests::small_catalogue(), "ac-series");
  Observations seen;
  seen.answers = {{"sparks-anywhere", 0}, {"sparks-at-brushes", {}}, {"sparks-at-wheels", 0}};
  const auto evidence = gather(network, seen);
  CHECK(counts(evidence, "sparks-at-brushes"));
  CHECK(counts(evidence, "sparks-at-wheels"));
  CHECK_FALSE(counts(evidence, "sparks-anywhere"));
}

TEST_CASE("what a check saw stands for the finding and its plainer forms", "[belief]") {
  const Network network(tests::small_catalogue(), "ac-series");
  Observations seen;
  seen.answers = {{"sparks-anywhere", {}}, {"sparks-at-brushes", 0}};
  seen.outcomes = {{"check-dark-sparks", "brushes", true}};
  const auto evidence = gather(network, seen);
  CHECK(counts(evidence, "check-dark-sparks/brushes"));
  CHECK_FALSE(counts(evidence, "sparks-anywhere"));
  CHECK_FALSE(counts(evidence, "sparks-at-brushes"));
}

TEST_CASE("an echo counts once, and counts again where the two differ", "[belief]") {
  const Network network(tests::small_catalogue(), "ac-series");
  Observations both;
  both.answers = {{"slow-forward", {}}, {"slow-reverse", {}}};
  CHECK(gather(network, both).items.size() == 1);
  Observations differ;
  differ.answers = {{"slow-forward", {}}, {"slow-reverse", 0}};
  CHECK(gather(network, differ).items.size() == 2);
}

TEST_CASE("unknown ids are named", "[belief]") {
  const Network network(tests::small_catalogue(), "ac-series");
  Observations seen;
  seen.answers = {{"no-such-finding", {}}};
  CHECK_THROWS_WITH(gather(network, seen), Catch::Contains("no-such-finding"));
  CHECK_THROWS_AS(
      Network(tests::small_catalogue(), "ac-series", {.contexts = {"adj-none"}, .contexts_not = {}, .tried = {}}),
      NotInKnowledge);
  CHECK_THROWS_AS(Network(tests::small_catalogue(), "no-family"), NotInKnowledge);
}

TEST_CASE("a repair tried in vain lowers its causes, not to nothing, and an owner's less", "[belief]") {
  const Network plain(tests::small_catalogue(), "ac-series");
  const Network owner(tests::small_catalogue(), "ac-series", {{}, {}, {{"repair-comm-clean", true}}});
  const Network technician(tests::small_catalogue(), "ac-series", {{}, {}, {{"repair-comm-clean", false}}});
  const std::size_t at = *plain.index("commutator-dirty");
  CHECK(owner.prior()[at] < plain.prior()[at]);
  CHECK(technician.prior()[at] < owner.prior()[at]);
  CHECK(technician.prior()[at] > 0);
}

TEST_CASE("a context that was not told counts with its average odds", "[belief]") {
  const Network untold(tests::small_catalogue(), "ac-series");
  const Network yes(tests::small_catalogue(), "ac-series", {{"adj-just-oiled"}, {}, {}});
  const Network no(tests::small_catalogue(), "ac-series", {{}, {"adj-just-oiled"}, {}});
  const std::size_t at = *untold.index("brush-oil-fouled");
  const auto odds = [&](const Network& n) { return n.prior()[at] / (1 - n.prior()[at]); };
  const double share = tests::small_catalogue()->context("adj-just-oiled")->share;
  CHECK(share * odds(yes) + (1 - share) * odds(no) == Approx(odds(untold)));
}

TEST_CASE("two or more causes matter in the share of failed sessions that the family states", "[belief]") {
  const Network network(tests::small_catalogue(), "ac-series");
  double none = 1;
  double one = 0;
  for (const double p : network.prior()) {
    one = one * (1 - p) + none * p;
    none *= 1 - p;
  }
  CHECK((1 - none - one) / (1 - none) == Approx(0.25).epsilon(1e-6));
  CHECK(network.none_weight() * none / (network.none_weight() * none + 1 - none) == Approx(0.03));
}
