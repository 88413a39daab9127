// What every rule and every check of the shipped knowledge keeps to.
#include <algorithm>
#include <catch2/catch.hpp>
#include <random>

#include "engine/guide/hearing.hpp"
#include "engine/job/hazards.hpp"
#include "engine/plan/advice.hpp"
#include "engine/plan/gate.hpp"
#include "knowledge/shipped.hpp"
#include "tests/support/effort.hpp"

using namespace wheeltapper;

namespace {

std::shared_ptr<const belief::Network> series_network() {
  static const auto shared = std::make_shared<const belief::Network>(knowledge::shipped(), "ac-series");
  return shared;
}

plan::Advice advice_on(const belief::Observations& seen) {
  return plan::advise(belief::infer(series_network(), belief::gather(*series_network(), seen),
                                    {.sets = 0, .explained = 0, .limits = {}}),
                      seen);
}

bool in_list(const plan::Advice& advice, std::string_view id) {
  return std::ranges::any_of(advice.list,
                             [&](const plan::BenchStep& s) { return s.check != nullptr && s.check->id == id; });
}

}  // namespace

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

TEST_CASE("every rule can be cleared without power, or refers", "[plan]") {
  const auto catalogue = knowledge::shipped();
  for (const auto& rule : catalogue->items().rules) {
    CAPTURE(rule.id);
    for (const std::string& id : rule.until) CHECK(catalogue->check(id)->power == catalogue::Power::unplugged);
    CHECK((rule.refer || !rule.until.empty()));
  }
}

TEST_CASE("a check is not offered where it makes no sense", "[plan]") {
  for (const auto& check : series_network()->catalogue().items().checks) {
    CAPTURE(check.id);
    for (const std::string& id : check.not_when) {
      belief::Observations seen;
      seen.answers = {{id, {}}};
      CHECK_FALSE(in_list(advice_on(seen), check.id));
    }
    for (const std::string& id : check.only_when) {
      belief::Observations seen;
      seen.answers = {{id, 0}};
      CHECK_FALSE(in_list(advice_on(seen), check.id));
    }
  }
}

TEST_CASE("all checks that clear a gate stand in the list, before any repair", "[plan]") {
  for (const auto& rule : series_network()->catalogue().items().rules) {
    CAPTURE(rule.id);
    for (const std::string& hazard : rule.any) {
      const auto* finding = series_network()->catalogue().finding(hazard);
      if (!series_network()->applies(*finding)) continue;
      CAPTURE(hazard);
      belief::Observations seen;
      seen.answers = {{hazard, {}}};
      const auto advice = advice_on(seen);
      bool repaired = false;
      std::size_t cleared = 0;
      for (const auto& step : advice.list) {
        repaired = repaired || step.repair != nullptr;
        if (step.check == nullptr || std::ranges::find(rule.until, step.check->id) == rule.until.end()) continue;
        CHECK_FALSE(repaired);
        ++cleared;
      }
      // A result that is known already is not looked for again; the list holds ten lines.
      if (advice.list.size() < 10) CHECK(cleared + 1 >= rule.until.size());
      if (rule.withhold != catalogue::Withhold::live) CHECK(cleared == advice.list.size());
    }
  }
}

TEST_CASE("a hazard beside another opens nothing that either forbids", "[hazards]") {
  // Every pair of hazards, by an oracle that knows only the words of the rules.
  for (const auto& one : knowledge::shipped()->items().rules)
    for (const auto& other : knowledge::shipped()->items().rules) {
      belief::Observations seen;
      seen.answers = {{one.any.front(), {}}, {other.any.front(), {}}};
      const auto gates = plan::gates(*knowledge::shipped(), seen);
      for (const auto& check : knowledge::shipped()->items().checks) {
        const auto by = [&](const catalogue::Rule& rule) {
          if (rule.withhold == catalogue::Withhold::touch) return false;
          if (check.power != catalogue::Power::unplugged) return false;
          return rule.withhold == catalogue::Withhold::live ||
                 std::ranges::find(rule.until, check.id) != rule.until.end();
        };
        CAPTURE(one.id, other.id, check.id);
        CHECK((!plan::allowed(check, gates) || (by(one) && by(other))));
      }
      const bool any_strict = one.withhold != catalogue::Withhold::live || other.withhold != catalogue::Withhold::live;
      for (const auto& repair : knowledge::shipped()->items().repairs)
        if (any_strict || repair.power != catalogue::Power::unplugged) CHECK_FALSE(plan::allowed(repair, gates));
    }
}

TEST_CASE("every hazard has words by which it is heard", "[hazards]") {
  for (const auto* finding : job::hazards_in(*knowledge::shipped(), "ac-series")) {
    CAPTURE(finding->id);
    CHECK_FALSE(finding->words.empty());
  }
}

TEST_CASE("a burnt smell waits until every winding is measured", "[hazards]") {
  const auto& until = knowledge::shipped()->rule("rule-burning-smell")->until;
  for (const char* winding : {"check-field-ohms", "check-reverser-coil-ohms", "check-armature-ground",
                              "check-segment-ohms", "check-smoke-ohms"})
    CHECK(std::ranges::find(until, winding) != until.end());
}

TEST_CASE("however much is told, there is a next step", "[plan]") {
  const std::uint32_t seed = GENERATE(range(0U, tests::times(40U, 4U)));
  CAPTURE(seed);
  std::mt19937 engine(seed);
  std::vector<const catalogue::Finding*> findings;
  for (const auto& finding : series_network()->catalogue().items().findings)
    if (series_network()->applies(finding) && !job::is_hazard(series_network()->catalogue(), finding.id))
      findings.push_back(&finding);
  std::shuffle(findings.begin(), findings.end(), engine);
  for (const std::size_t told : {1U, 4U, 8U, 12U}) {
    CAPTURE(told);
    belief::Observations seen;
    for (std::size_t f = 0; f < told; ++f) seen.answers.push_back({findings[f]->id, {}});
    const auto advice = advice_on(seen);
    REQUIRE(advice.next);
    CHECK(advice.next->chance > 0);
    CHECK_FALSE(advice.list.empty());
  }
}
