#include "engine/catalogue/floor.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "engine/input/words.hpp"

namespace wheeltapper::catalogue {
namespace {

/// The findings that fire a rule, and the checks that a rule waits for or is held by.
struct Guards {
  std::set<std::string> findings, checks;
};

Guards guards_of(const Items& items) {
  Guards guards;
  for (const Rule& rule : items.rules) {
    guards.findings.insert(rule.any.begin(), rule.any.end());
    guards.checks.insert(rule.until.begin(), rule.until.end());
    guards.checks.insert(rule.hold.begin(), rule.hold.end());
  }
  return guards;
}

class Floor {
 public:
  Floor(const Items& base, std::vector<input::Problem>& problems) : guards_(guards_of(base)), problems_(problems) {}

  void compare(const Rule& base, const Rule& over) {
    keeps_all(base.any, over.any, over.origin, "any");
    keeps_all(base.hold, over.hold, over.origin, "hold");
    keeps_all(base.cautions, over.cautions, over.origin, "cautions");
    keeps_text(base.say, over.say, over.origin, "say");
    keeps_text(base.name, over.name, over.origin, "name");
    if (over.withhold < base.withhold)
      add(over.origin, "withhold", fmt::format("is \"{}\"", name(over.withhold)),
          fmt::format("\"{}\" as shipped, or stricter", name(base.withhold)));
    if (base.refer && !over.refer) add(over.origin, "refer", "is false", "true, as shipped");
    if (base.until.empty() && !over.until.empty())
      add(over.origin, "until", "lets checks clear what no check clears", "an empty list, as shipped");
    else
      keeps_all(base.until, over.until, over.origin, "until");
  }

  void compare(const Caution& base, const Caution& over) {
    if (over.signal > base.signal)
      add(over.origin, "signal", fmt::format("is \"{}\"", name(over.signal)),
          fmt::format("\"{}\" as shipped, or graver", name(base.signal)));
    keeps_text(base.text, over.text, over.origin, "text");
    keeps_text(base.hazard, over.hazard, over.origin, "hazard");
  }

  void compare(const Check& base, const Check& over) {
    compare_work(base, over);
    if (guards_.checks.contains(base.id)) {
      keeps_all(base.steps, over.steps, over.origin, "steps");
      keeps_text(base.expect, over.expect, over.origin, "expect");
    }
    for (const Result& result : base.results) {
      if (!guards_.checks.contains(base.id) && !guards_.findings.contains(result.finding)) continue;
      const auto same = std::ranges::find(over.results, result.id, &Result::id);
      if (same == over.results.end() || same->finding != result.finding)
        add(over.origin, "results", fmt::format("lacks the result \"{}\" as shipped, which safety goes by", result.id),
            "the shipped results, and perhaps more");
    }
  }

  void compare(const Repair& base, const Repair& over) { compare_work(base, over); }

  void compare(const Finding& base, const Finding& over) {
    if (!guards_.findings.contains(base.id)) return;
    keeps_all(base.words, over.words, over.origin, "words");
    keeps_text(base.name, over.name, over.origin, "name");
    keeps_text(base.question, over.question, over.origin, "question");
    keeps_text(base.observe, over.observe, over.origin, "observe");
    if (base.levels != over.levels) add(over.origin, "levels", "differ from the shipped ones", "the same levels");
    if (base.reading != over.reading)
      add(over.origin, "reading", "differs from the shipped one", "the same, as a rule hangs on it");
  }

 private:
  template <typename Work>
  void compare_work(const Work& base, const Work& over) {
    keeps_all(base.cautions, over.cautions, over.origin, "cautions");
    if (over.power != base.power)
      add(over.origin, "power", fmt::format("is \"{}\"", name(over.power)),
          fmt::format("\"{}\" as shipped; work that differs wants another id", name(base.power)));
    if (over.opens < base.opens)
      add(over.origin, "opens", fmt::format("is \"{}\"", name(over.opens)),
          fmt::format("\"{}\" as shipped, or more", name(base.opens)));
  }

  void keeps_all(const std::vector<std::string>& base, const std::vector<std::string>& over, const Origin& at,
                 std::string_view member) {
    std::string missing;
    for (const std::string& each : base)
      if (std::ranges::find(over, each) == over.end()) input::join_to(missing, each);
    if (!missing.empty()) add(at, member, "lacks what is shipped: " + missing, "the shipped ones, and perhaps more");
  }

  void keeps_text(const std::string& base, const std::string& over, const Origin& at, std::string_view member) {
    if (over.find(base) == std::string::npos)
      add(at, member, "does not hold the shipped words", fmt::format("\"{}\", and perhaps more", base));
  }

  void add(const Origin& at, std::string_view member, std::string wrong, std::string allowed) {
    problems_.push_back({at.file, fmt::format("{}/{}", at.pointer, member), std::move(wrong) + ": it weakens safety",
                         std::move(allowed)});
  }

  Guards guards_;
  std::vector<input::Problem>& problems_;
};

template <typename Item>
void compare_all(const std::vector<Item>& base, const std::vector<Item>& over, Floor& floor) {
  for (const Item& item : over)
    if (const auto same = std::ranges::find(base, item.id, &Item::id); same != base.end()) floor.compare(*same, item);
}

}  // namespace

std::vector<input::Problem> weakenings(const Items& base, const Items& over) {
  std::vector<input::Problem> problems;
  Floor floor(base, problems);
  compare_all(base.rules, over.rules, floor);
  compare_all(base.cautions, over.cautions, floor);
  compare_all(base.checks, over.checks, floor);
  compare_all(base.repairs, over.repairs, floor);
  compare_all(base.findings, over.findings, floor);
  return problems;
}

}  // namespace wheeltapper::catalogue
