#include "engine/plan/gate.hpp"

#include <catch2/catch.hpp>

#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;

TEST_CASE("a hazard withholds powered work until its checks come out clean", "[plan]") {
  const auto catalogue = tests::small_catalogue();
  belief::Observations seen;
  seen.answers = {{"burning-smell", {}}};
  auto gates = plan::gates(*catalogue, seen);
  REQUIRE_FALSE(gates.empty());
  CHECK(plan::withheld(gates) != plan::Withheld::no);
  for (const auto& check : catalogue->items().checks)
    if (check.power != catalogue::Power::unplugged) CHECK_FALSE(plan::allowed(check, gates));
  for (const auto& gate : gates)
    for (const std::string& id : gate.rule->until)
      for (const auto& result : catalogue->check(id)->results) seen.outcomes.push_back({id, result.id, false});
  CHECK(plan::withheld(plan::gates(*catalogue, seen)) == plan::Withheld::no);
}

TEST_CASE("uncertainty about the mains side withholds everything and refers", "[plan]") {
  const auto catalogue = tests::small_catalogue();
  for (const char* hazard : {"shock-or-tingle", "cord-damaged-seen", "water-in-supply", "post-turns-in-case"}) {
    CAPTURE(hazard);
    belief::Observations seen;
    seen.answers = {{hazard, {}}};
    const auto gates = plan::gates(*catalogue, seen);
    CHECK(plan::withheld(gates) >= plan::Withheld::everything);
    for (const auto& check : catalogue->items().checks) CHECK_FALSE(plan::allowed(check, gates));
    CHECK(std::ranges::any_of(gates, [](const auto& gate) { return gate.rule->refer; }));
    for (const auto& repair : catalogue->items().repairs) CHECK_FALSE(plan::allowed(repair, gates));
  }
}
