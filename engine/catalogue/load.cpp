#include "engine/catalogue/load.hpp"

#include <algorithm>
#include <set>
#include <system_error>

#include "engine/catalogue/floor.hpp"
#include "engine/catalogue/read_items.hpp"
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
        problems_.push_back({item.origin.file, item.origin.pointer + "/id", "\"" + item.id + "\" stands twice",
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
    refs.check("families", f.families, f.origin, "families");
    refs.check("findings", f.refines, f.origin, "refines");
    refs.check("findings", f.implies_no, f.origin, "implies-no");
    refs.check("findings", f.echoes, f.origin, "echoes");
    refs.check("findings", f.not_when, f.origin, "not-when");
    for (const Link& link : f.links) refs.check("causes", link.cause, f.origin, "links");
    for (const Inhibitor& each : f.inhibitors) refs.check("causes", each.cause, f.origin, "inhibitors");
    if (!f.reading) continue;
    refs.check(f.reading->of_figure() ? "figures" : "quantities", f.reading->reading, f.origin, "reading/reading");
    refs.check("quantities", f.reading->minus, f.origin, "reading/minus");
  }
}

void check_actions(const Items& items, References& refs) {
  for (const Check& c : items.checks) {
    refs.check("families", c.families, c.origin, "families");
    refs.check("cautions", c.cautions, c.origin, "cautions");
    refs.check("findings", c.only_when, c.origin, "only-when");
    refs.check("findings", c.not_when, c.origin, "not-when");
    for (const Result& result : c.results) {
      refs.check("findings", result.finding, c.origin, "results");
      for (const auto& seen : result.causes) refs.check("causes", seen.cause, c.origin, "results");
    }
  }
  for (const Repair& r : items.repairs) {
    refs.check("families", r.families, r.origin, "families");
    refs.check("cautions", r.cautions, r.origin, "cautions");
    refs.check("checks", r.verify, r.origin, "verify");
    for (const Cure& cure : r.cures) refs.check("causes", cure.cause, r.origin, "cures");
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

template <typename Item>
void lay(std::vector<Item>& base, std::vector<Item>& over) {
  for (Item& item : over) {
    const auto same = std::ranges::find(base, item.id, &Item::id);
    if (same == base.end())
      base.push_back(std::move(item));
    else
      *same = std::move(item);
  }
}

std::shared_ptr<const Catalogue> finish(Items items, std::vector<input::Problem> problems) {
  for (input::Problem& each : check_together(items)) problems.push_back(std::move(each));
  if (!problems.empty()) throw input::BadInput(std::move(problems));
  return std::make_shared<const Catalogue>(std::move(items));
}

/// Ids that stand twice within the overlay itself would silently overwrite each other.
void check_once(const Items& over, std::vector<input::Problem>& problems) {
  References refs(problems);
  refs.learn("causes", over.causes);
  refs.learn("findings", over.findings);
  refs.learn("checks", over.checks);
  refs.learn("repairs", over.repairs);
  refs.learn("cautions", over.cautions);
  refs.learn("contexts", over.contexts);
  refs.learn("rules", over.rules);
  refs.learn("places", over.places);
  refs.learn("families", over.families);
  refs.learn("quantities", over.quantities);
}

}  // namespace

Items parse_sources(std::span<const input::TextFile> sources, std::vector<input::Problem>& problems) {
  Items items;
  for (const input::TextFile& source : sources) {
    try {
      read_items(input::parse_json(source.text, source.file), source.file, items, problems);
    } catch (const input::BadInput& bad) {
      problems.insert(problems.end(), bad.problems().begin(), bad.problems().end());
    }
  }
  return items;
}

Items overlay(Items base, Items over) {
  lay(base.families, over.families);
  lay(base.places, over.places);
  lay(base.quantities, over.quantities);
  lay(base.causes, over.causes);
  lay(base.findings, over.findings);
  lay(base.checks, over.checks);
  lay(base.repairs, over.repairs);
  lay(base.cautions, over.cautions);
  lay(base.contexts, over.contexts);
  lay(base.rules, over.rules);
  return base;
}

std::vector<input::Problem> check_together(const Items& items) {
  std::vector<input::Problem> problems;
  References refs(problems);
  refs.learn("families", items.families);
  refs.learn("places", items.places);
  refs.learn("quantities", items.quantities);
  refs.learn_figures();
  refs.learn("causes", items.causes);
  refs.learn("findings", items.findings);
  refs.learn("checks", items.checks);
  refs.learn("repairs", items.repairs);
  refs.learn("cautions", items.cautions);
  refs.learn("contexts", items.contexts);
  refs.learn("rules", items.rules);
  for (const Cause& cause : items.causes) {
    refs.check("places", cause.place, cause.origin, "place");
    for (const Prior& prior : cause.families) refs.check("families", prior.family, cause.origin, "families");
  }
  for (const Context& context : items.contexts)
    for (const auto& factor : context.odds) refs.check("causes", factor.cause, context.origin, "odds");
  check_findings(items, refs);
  check_actions(items, refs);
  check_refines(items, problems);
  return problems;
}

std::shared_ptr<const Catalogue> load(std::span<const input::TextFile> sources) {
  std::vector<input::Problem> problems;
  Items items = parse_sources(sources, problems);
  return finish(std::move(items), std::move(problems));
}

std::shared_ptr<const Catalogue> load_over(const Items& base, std::span<const input::TextFile> sources) {
  std::vector<input::Problem> problems;
  Items over = parse_sources(sources, problems);
  check_once(over, problems);
  for (input::Problem& each : weakenings(base, over)) problems.push_back(std::move(each));
  return finish(overlay(base, std::move(over)), std::move(problems));
}

}  // namespace wheeltapper::catalogue
