#include "engine/learn/fingerprint.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/small_catalogue.hpp"

using namespace wheeltapper;

TEST_CASE("what was learned stays in use when only words, places or the order of the knowledge change", "[learn]") {
  const catalogue::Items plain = tests::small_items();
  const std::string before = learn::fingerprint(plain);
  catalogue::Items items = plain;
  for (auto& cause : items.causes) {
    cause.name += " (mended)";
    cause.basis = "another source";
    cause.origin = {"/another/build/" + cause.origin.file, "/causes/99"};
  }
  for (auto& finding : items.findings) {
    finding.question += "?";
    for (auto& level : finding.levels) level += ".";
    finding.words.emplace_back("another word");
  }
  for (auto& check : items.checks) {
    check.steps.emplace_back("Put the cover back.");
    check.minutes += 1;
    for (auto& result : check.results) result.shows += ".";
  }
  for (auto& repair : items.repairs) repair.risks += " Mind the springs.";
  std::ranges::reverse(items.causes);
  std::ranges::reverse(items.findings);
  std::ranges::reverse(items.findings.front().links);
  CHECK(learn::fingerprint(items) == before);
}

TEST_CASE("another number or another reference is other knowledge to learn from", "[learn]") {
  const catalogue::Items plain = tests::small_items();
  const std::string before = learn::fingerprint(plain);
  const auto differs = [&](auto&& change) {
    catalogue::Items items = plain;
    change(items);
    return learn::fingerprint(items) != before;
  };
  const auto linked = [](catalogue::Items& items) -> catalogue::Finding& {
    return *std::ranges::find_if(items.findings, [](const auto& each) { return !each.links.empty(); });
  };
  const auto tested = [](catalogue::Items& items) -> catalogue::Result& {
    for (auto& check : items.checks)
      for (auto& result : check.results)
        if (!result.causes.empty()) return result;
    throw std::runtime_error("no check has causes of its own");
  };
  CHECK(differs([](auto& items) { items.families.front().unlisted *= 1.01; }));
  CHECK(differs([](auto& items) { items.causes.front().rates.front().per_1000 *= 1.0001; }));
  CHECK(differs([](auto& items) { items.causes.front().id += "-two"; }));
  CHECK(differs([&](auto& items) { linked(items).links.front().strength.all.front() *= 0.99; }));
  CHECK(differs([&](auto& items) { linked(items).links.pop_back(); }));
  CHECK(differs([](auto& items) { items.findings.front().leak.all.front() *= 0.5; }));
  CHECK(differs([](auto& items) { items.findings.front().leak.own.emplace_back("another", catalogue::Levels{0.1}); }));
  CHECK(differs([&](auto& items) { tested(items).specificity *= 0.99; }));
  CHECK(differs([&](auto& items) { tested(items).causes.front().chance.all *= 0.99; }));
  CHECK(differs([](auto& items) { items.repairs.front().cures.front().chance.all *= 0.99; }));
  CHECK(differs([](auto& items) { items.contexts.front().odds.front().factor.all *= 1.5; }));
}
