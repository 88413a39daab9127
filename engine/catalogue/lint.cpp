#include "engine/catalogue/lint.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

namespace wheeltapper::catalogue {
namespace {

constexpr std::string_view kUnplugFirst = "caution-unplug-first";
constexpr std::string_view kLowVoltage = "caution-low-voltage-live";

bool has(const std::vector<std::string>& list, std::string_view id) {
  return std::ranges::find(list, id) != list.end();
}

input::Problem at(const Origin& origin, std::string wrong, std::string allowed = {}) {
  return {origin.file, origin.pointer, std::move(wrong), std::move(allowed)};
}

/// Where a cause shows: "finding:level chances" and "check/result:chance", the whole fingerprint.
std::map<std::string, std::string> fingerprints(const Items& items) {
  std::map<std::string, std::string> prints;
  for (const Finding& f : items.findings) {
    for (const Link& link : f.links) {
      prints[link.cause] += "|" + f.id;
      for (const double s : link.strength.all) prints[link.cause] += fmt::format(":{}", s);
    }
    for (const Inhibitor& each : f.inhibitors) prints[each.cause] += fmt::format("|!{}:{}", f.id, each.blocks.all);
  }
  for (const Check& c : items.checks)
    for (const Result& result : c.results)
      for (const auto& seen : result.causes)
        prints[seen.cause] += fmt::format("|{}/{}:{}", c.id, result.id, seen.chance.all);
  return prints;
}

std::set<std::string> found_by_checks(const Catalogue& catalogue) {
  std::set<std::string> found;
  for (const Check& c : catalogue.items().checks)
    for (const Result& result : c.results) {
      for (const auto& seen : result.causes) found.insert(seen.cause);
      if (const Finding* f = catalogue.finding(result.finding))
        for (const Link& link : f->links) found.insert(link.cause);
    }
  return found;
}

void lint_causes(const Catalogue& catalogue, std::vector<input::Problem>& problems) {
  const Items& items = catalogue.items();
  const auto prints = fingerprints(items);
  const auto found = found_by_checks(catalogue);
  std::set<std::string> cured;
  for (const Repair& r : items.repairs)
    for (const Cure& cure : r.cures) cured.insert(cure.cause);
  std::map<std::string, std::string> seen;
  for (const Cause& cause : items.causes) {
    if (cause.rates.empty()) problems.push_back(at(cause.origin, cause.id + " belongs to no family"));
    if (!found.contains(cause.id)) problems.push_back(at(cause.origin, "no check finds " + cause.id));
    if (!cured.contains(cause.id)) problems.push_back(at(cause.origin, "no repair removes " + cause.id));
    const auto print = prints.find(cause.id);
    if (print == prints.end()) {
      problems.push_back(at(cause.origin, cause.id + " shows in no finding and no check"));
      continue;
    }
    const auto [twin, fresh] = seen.emplace(print->second, cause.id);
    if (!fresh) problems.push_back(at(cause.origin, "nothing tells " + cause.id + " from " + twin->second));
  }
  std::set<std::string> used;
  for (const Cause& cause : items.causes) used.insert(cause.place);
  for (const Place& place : items.places)
    if (!used.contains(place.id)) problems.push_back(at(place.origin, "no cause lies in the place " + place.id));
}

/// A plainer finding must take in every cause of its finer form.
void lint_refined(const Catalogue& catalogue, const Finding& f, std::vector<input::Problem>& problems) {
  for (const std::string& plain_id : f.refines) {
    const Finding* plain = catalogue.finding(plain_id);
    for (const Link& link : f.links)
      if (link.strength.all.front() > 0.1 &&
          std::ranges::none_of(plain->links, [&](const Link& l) { return l.cause == link.cause; }))
        problems.push_back(at(plain->origin, fmt::format("{} does not link to {}, although its finer form {} does",
                                                         plain_id, link.cause, f.id)));
  }
}

void lint_findings(const Catalogue& catalogue, std::vector<input::Problem>& problems) {
  for (const Finding& f : catalogue.items().findings) {
    if (!f.question.ends_with('?')) problems.push_back(at(f.origin, "the question of " + f.id + " does not ask"));
    if (f.links.empty()) problems.push_back(at(f.origin, "no cause brings about " + f.id));
    lint_refined(catalogue, f, problems);
  }
  for (const Context& c : catalogue.items().contexts)
    if (!c.question.ends_with('?')) problems.push_back(at(c.origin, "the question of " + c.id + " does not ask"));
}

void lint_actions(const Catalogue& catalogue, std::vector<input::Problem>& problems) {
  for (const Check& c : catalogue.items().checks) {
    if (c.power != Power::unplugged && !has(c.cautions, kLowVoltage))
      problems.push_back(at(c.origin, c.id + " needs power and lacks the caution for it", std::string(kLowVoltage)));
    const auto plugs_in = [](const std::string& step) {
      return step.find("Plug in") != std::string::npos || step.find("lug it in") != std::string::npos;
    };
    if (c.power == Power::unplugged && std::ranges::any_of(c.steps, plugs_in))
      problems.push_back(at(c.origin, c.id + " is said to be unplugged and plugs in", "unplugged-then-live"));
    if (c.power != Power::live && !has(c.cautions, kUnplugFirst))
      problems.push_back(
          at(c.origin, c.id + " starts unplugged and lacks the caution for it", std::string(kUnplugFirst)));
  }
  for (const Repair& r : catalogue.items().repairs) {
    if (r.cures.empty()) problems.push_back(at(r.origin, r.id + " cures nothing"));
    if (!has(r.cautions, kUnplugFirst))
      problems.push_back(at(r.origin, r.id + " lacks the caution to unplug first", std::string(kUnplugFirst)));
  }
}

}  // namespace

std::vector<input::Problem> lint(const Catalogue& catalogue) {
  std::vector<input::Problem> problems;
  lint_causes(catalogue, problems);
  lint_findings(catalogue, problems);
  lint_actions(catalogue, problems);
  return problems;
}

}  // namespace wheeltapper::catalogue
