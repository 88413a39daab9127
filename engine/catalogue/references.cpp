#include "engine/catalogue/references.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "engine/catalogue/fields.hpp"
#include "engine/input/json_reader.hpp"

namespace wheeltapper::catalogue {
namespace {

/// Checks references of one kind and says the nearest id when one does not resolve.
class References {
 public:
  explicit References(std::vector<input::Problem>& problems) : problems_(problems) {}

  void learn_figures() {
    for (const auto& kind : bench::figure_kinds()) known_["figures"].insert(std::string(kind.id));
  }

  template <typename Item>
  void learn(std::string_view kind, const std::vector<Item>& list) {
    auto& known = known_[std::string(kind)];
    for (const Item& item : list)
      if (!known.insert(item.id).second)
        problems_.push_back({item.origin.file, item.origin.pointer + "/id", "\"" + item.id + "\" is used twice",
                             "an id once among all " + std::string(kind)});
  }

  void check(std::string_view kind, const std::string& id, const Origin& from, std::string_view member) {
    const auto& known = known_[std::string(kind)];
    if (id.empty() || known.contains(id)) return;
    const auto nearest = input::near_miss(id, {known.begin(), known.end()});
    problems_.push_back({from.file, from.pointer + "/" + std::string(member),
                         "names \"" + id + "\", which is not among the " + std::string(kind),
                         nearest ? "did you mean \"" + *nearest + "\"?" : ""});
  }

  void check(std::string_view kind, const std::vector<std::string>& ids, const Origin& from, std::string_view member) {
    for (const std::string& id : ids) check(kind, id, from, member);
  }

 private:
  std::vector<input::Problem>& problems_;
  std::map<std::string, std::set<std::string>> known_;
};

void check_findings(const Items& items, References& refs) {
  for (const Finding& f : items.findings) {
    refs.check("findings", f.refines, f.origin, "refines");
    refs.check("findings", f.implies_no, f.origin, "implies-no");
    refs.check("findings", f.echoes, f.origin, "echoes");
    refs.check("findings", f.not_when, f.origin, "not-when");
    if (!f.reading) continue;
    refs.check(f.reading->of_figure() ? "figures" : "quantities", f.reading->reading, f.origin, "reading/reading");
    refs.check("quantities", f.reading->minus, f.origin, "reading/minus");
  }
}

void check_actions(const Items& items, References& refs) {
  for (const Check& c : items.checks) {
    refs.check("cautions", c.cautions, c.origin, "cautions");
    refs.check("findings", c.only_when, c.origin, "only-when");
    refs.check("findings", c.not_when, c.origin, "not-when");
    for (const Result& result : c.results) refs.check("findings", result.finding, c.origin, "results");
  }
  for (const Repair& r : items.repairs) {
    refs.check("cautions", r.cautions, r.origin, "cautions");
    refs.check("checks", r.verify, r.origin, "verify");
  }
  for (const Rule& r : items.rules) {
    refs.check("findings", r.any, r.origin, "any");
    refs.check("checks", r.until, r.origin, "until");
    refs.check("checks", r.hold, r.origin, "hold");
    refs.check("cautions", r.cautions, r.origin, "cautions");
  }
}

/// A finding that is, by way of `refines`, a finer form of itself.
void check_refines(const Items& items, std::vector<input::Problem>& problems) {
  std::map<std::string, const Finding*> by_id;
  for (const Finding& f : items.findings) by_id.emplace(f.id, &f);
  for (const Finding& start : items.findings) {
    std::set<std::string> seen;
    std::vector<std::string> open = start.refines;
    while (!open.empty()) {
      const std::string id = open.back();
      open.pop_back();
      if (id == start.id) {
        problems.push_back(
            {start.origin.file, start.origin.pointer + "/refines", "\"" + id + "\" refines itself in a circle", {}});
        break;
      }
      const auto found = by_id.find(id);
      if (!seen.insert(id).second || found == by_id.end()) continue;
      open.insert(open.end(), found->second->refines.begin(), found->second->refines.end());
    }
  }
}

/// A result that no cause's card names can't be told from noise.
void check_results(const Items& items, std::vector<input::Problem>& problems) {
  for (const Check& check : items.checks)
    for (std::size_t i = 0; i < check.results.size(); ++i) {
      const Result& result = check.results[i];
      if (result.finding.empty() && result.causes.empty())
        problems.push_back(
            {check.origin.file, fmt::format("{}/results/{}", check.origin.pointer, i), "is brought about by no cause",
             fmt::format("a finding, or \"found-by\": {{\"{}/{}\": ...}} on a cause's card", check.id, result.id)});
    }
}

void check_leaks(const Items& items, std::vector<input::Problem>& problems) {
  for (const Finding& f : items.findings) {
    const auto fits = [&](const Levels& levels) { return levels.empty() || levels.size() == f.top(); };
    if (!fits(f.leak.all) || !std::ranges::all_of(f.leak.own, fits, [](const auto& own) { return own.second; }))
      problems.push_back({f.origin.file, f.origin.pointer + "/leak", fmt::format("has {} chances", f.leak.all.size()),
                          fmt::format("{}, one a level above 0", f.top())});
  }
}

}  // namespace

std::vector<input::Problem> check_together(const Items& items) {
  std::vector<input::Problem> problems;
  References refs(problems);
  for_each_kind([&](std::string_view kind, const auto& list) { refs.learn(kind, list); }, items);
  refs.learn_figures();
  for (const Cause& cause : items.causes) {
    refs.check("places", cause.place, cause.origin, "place");
    for (const Rate& rate : cause.rates) refs.check("families", rate.family, cause.origin, "rate");
  }
  check_findings(items, refs);
  check_actions(items, refs);
  check_refines(items, problems);
  check_results(items, problems);
  check_leaks(items, problems);
  return problems;
}

std::vector<input::Problem> used_twice(const Items& items) {
  std::vector<input::Problem> problems;
  References refs(problems);
  for_each_kind([&](std::string_view kind, const auto& list) { refs.learn(kind, list); }, items);
  return problems;
}

}  // namespace wheeltapper::catalogue
