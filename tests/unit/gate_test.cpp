#include "engine/plan/gate.hpp"

#include <catch2/catch.hpp>

#include "knowledge/shipped.hpp"

using namespace wheeltapper;

TEST_CASE("a hazard withholds powered work until its checks come out clean", "[plan]") {
  const auto catalogue = knowledge::shipped();
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

TEST_CASE("a gate is not cleared by a check of which only a part was looked for", "[plan]") {
  const auto catalogue = knowledge::shipped();
  for (const auto& rule : catalogue->items().rules)
    for (const std::string& hazard : rule.any) {
      belief::Observations seen;
      seen.answers = {{hazard, {}}};
      bool partly = false;
      for (const std::string& id : rule.until) {
        const auto& results = catalogue->check(id)->results;
        for (std::size_t r = 0; r < results.size(); ++r) {
          if (r == 0 && results.size() > 1)
            partly = true;
          else
            seen.outcomes.push_back({id, results[r].id, false});
        }
      }
      CAPTURE(rule.id, hazard);
      if (partly) CHECK(plan::withheld(plan::gates(*catalogue, seen)) != plan::Withheld::no);
    }
}

TEST_CASE("uncertainty about the mains side withholds everything and refers", "[plan]") {
  const auto catalogue = knowledge::shipped();
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

TEST_CASE("every rule can be cleared without power, or refers", "[plan]") {
  const auto catalogue = knowledge::shipped();
  for (const auto& rule : catalogue->items().rules) {
    CAPTURE(rule.id);
    for (const std::string& id : rule.until) CHECK(catalogue->check(id)->power == catalogue::Power::unplugged);
    CHECK((rule.refer || !rule.until.empty()));
  }
}
