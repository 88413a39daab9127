#pragma once
#include <string>

#include "engine/catalogue/cards.hpp"
#include "engine/catalogue/catalogue.hpp"
#include "engine/input/json_reader.hpp"

/// What each kind of item consists of, said once: reading the files (read_items.hpp), writing items as JSON
/// (write_items.hpp) and packing them (pack.hpp) all follow these lists, and a new field is one line here beside its
/// member and its schema.
///
/// A visitor is called with the key in the file, the member, and what is allowed:
///   id, text, number, flag, word     one value; `word` is an enumeration with its words, or a text that is one of them
///   ids, texts, numbers              a list
///   limits                           two numbers, the least first
///   levels                           the names of a finding's levels; left out they are "no" and "yes"
///   chances                          a chance, or one a level; each may be by family
///   group                            members that stand in an object of their own in the file
///   list, maybe                      objects with fields of their own
///   entries, shown                   of a card
///   derived                          a member that no file has
/// The last argument of most says whether the key must be there; text and lists that may be left out are empty then.
namespace wheeltapper::catalogue {

using Range = input::Reader::Range;

inline constexpr double kInf = std::numeric_limits<double>::infinity();
inline constexpr Range kChance{0, 1};
inline constexpr Range kOpenChance{0, 1, true, true};
inline constexpr Range kMinutes{0, 600, true};
inline constexpr std::size_t kName = 160;  // characters
inline constexpr std::size_t kSentence = 300;
inline constexpr std::size_t kText = 600;
inline constexpr std::size_t kLong = 900;
inline constexpr std::size_t kMostLevels = 6;
/// Bounds on the number of elements of a list.
struct Count {
  std::size_t least = 0;
  std::size_t most = 1000;
};

template <typename V>
void fields(V& v, Family& i) {
  static constexpr std::array<std::string_view, 3> kMotors{"series-dc", "series-ac", "permanent-magnet"};
  v.id("id", i.id);
  v.text("name", i.name, kName);
  v.text("description", i.description, kText);
  v.word("motor", i.motor, kMotors);
  v.group("brush-volts", true, [&](auto& in) {
    in.number("value", i.brush_volts, Range{0, 10});
    in.number("uncertainty", i.brush_volts_u, Range{0, 10, true});
  });
  v.words("runs", i.runs);
  v.text("neutral", i.neutral, kSentence, false);
  v.number("two-or-more", i.two_or_more, Range{0.01, 0.9});
  v.number("unlisted", i.unlisted, Range{0.001, 0.5});
  v.text("basis", i.basis, kSentence);
  v.derived(i.origin);
}

template <typename V>
void fields(V& v, Place& i) {
  static constexpr std::array<std::string_view, 4> kSides{"locomotive", "rig", "cars", "procedure"};
  v.id("id", i.id);
  v.text("name", i.name, 100);
  v.text("go", i.go, kText);
  v.word("side", i.side, kSides, false);
  v.derived(i.origin);
}

template <typename V>
void fields(V& v, Quantity& i) {
  v.id("id", i.id);
  v.text("name", i.name, 100);
  v.text("unit", i.unit, 20);
  v.text("ask", i.ask, kText, false);
  v.group("uncertainty", true, [&](auto& in) {
    in.number("percent", i.uncertainty_percent, Range{0, 100});
    in.number("fixed", i.uncertainty_fixed, Range{0, kInf});
    in.text("basis", i.uncertainty_basis, kSentence);
  });
  v.derived(i.origin);
}

template <typename V>
void fields(V& v, Cause& i) {
  v.id("id", i.id);
  v.text("name", i.name, kName);
  v.id("place", i.place);
  v.rates("rate", i.rates, Range{0, 1000, true, true});
  v.text("basis", i.basis, kSentence);
  v.text("looks", i.looks, kText);
  v.text("why", i.why, kText);
  v.word("skill", i.skill, kSkillWords, false);
  v.derived(i.origin);
}

/// The rest of a cause's object in the files.
template <typename V>
void fields(V& v, Card& i) {
  v.shown("shows", i.shows, kChance);
  v.entries("found-by", i.found_by, kOpenChance);
  v.entries("cured-by", i.cured_by, kOpenChance);
  v.entries("hides", i.hides, kChance);
  v.entries("likelier-after", i.likelier_after, Range{0, 20, true});
}

template <typename V>
void fields(V& v, bench::LevelRule& i) {
  using bench::LevelRule;
  v.word("test", i.kind, bench::kLevelRuleWords);
  v.id("reading", i.reading);
  v.id("minus", i.minus, i.kind == LevelRule::Kind::difference);
  v.word("run", i.run, bench::kRunKindWords, !i.of_figure());
  v.word("direction", i.direction, bench::kDirectionWords, false);
  v.numbers("edges", i.edges, Count{1, kMostLevels - 1});
}

template <typename V>
void fields(V& v, Finding& i) {
  v.id("id", i.id);
  v.text("name", i.name, 120);
  v.text("question", i.question, 200);
  v.text("observe", i.observe, kLong);
  v.texts("words", i.words, Count{1, 40}, 60, false);
  v.flag("strikes", i.strikes, false);
  v.levels("levels", i.levels, Count{2, kMostLevels}, 60);
  v.group("answer", true, [&](auto& in) {
    in.number("false-yes", i.false_yes, Range{0, 0.5});
    in.number("false-no", i.false_no, Range{0, 0.5});
  });
  v.chances("leak", i.leak, kOpenChance);
  v.text("basis", i.basis, kSentence);
  v.ids("refines", i.refines, 0, false);
  v.ids("implies-no", i.implies_no, 0, false);
  v.ids("echoes", i.echoes, 0, false);
  v.ids("not-when", i.not_when, 0, false);
  v.maybe("reading", i.reading);
  v.derived(i.families, i.links, i.inhibitors, i.origin);
}

template <typename V>
void fields(V& v, Result& i) {
  v.id("id", i.id);
  v.text("shows", i.shows, 200);
  v.id("finding", i.finding, false);
  if (i.finding.empty()) v.number("specificity", i.specificity, Range{0.5, 1, true, true});
  v.derived(i.causes);
}

/// What checks and repairs have in common.
template <typename V, typename Work>
void work_fields(V& v, Work& i) {
  v.id("id", i.id);
  v.text("name", i.name, 120);
  v.word("power", i.power, kPowerWords);
  v.number("minutes", i.minutes, kMinutes);
  v.word("skill", i.skill, kSkillWords);
  v.word("opens", i.opens, kOpensWords);
  v.texts("steps", i.steps, Count{1, 12}, kText);
  v.ids("cautions", i.cautions);
  v.text("basis", i.basis, kSentence);
  v.derived(i.families, i.origin);
}

template <typename V>
void fields(V& v, Check& i) {
  work_fields(v, i);
  v.text("tools", i.tools, kSentence);
  v.text("expect", i.expect, kLong);
  v.list("results", i.results, Count{1, 8});
  v.ids("only-when", i.only_when, 0, false);
  v.ids("not-when", i.not_when, 0, false);
}

template <typename V>
void fields(V& v, Repair& i) {
  work_fields(v, i);
  v.limits("parts-cost", i.parts_least, i.parts_most, Range{0, kInf});
  v.text("parts", i.parts, 200);
  v.ids("verify", i.verify, 1);
  v.text("risks", i.risks, kText);
  v.derived(i.cures);
}

template <typename V>
void fields(V& v, Caution& i) {
  v.id("id", i.id);
  v.word("signal", i.signal, kSignalWords);
  v.text("hazard", i.hazard, kName);
  v.text("text", i.text, kLong);
  v.text("source", i.source, kSentence);
  v.derived(i.origin);
}

template <typename V>
void fields(V& v, Context& i) {
  v.id("id", i.id);
  v.text("name", i.name, kName);
  v.text("question", i.question, 200);
  v.number("share", i.share, kOpenChance);
  v.text("basis", i.basis, kSentence);
  v.derived(i.odds, i.origin);
}

template <typename V>
void fields(V& v, Rule& i) {
  v.id("id", i.id);
  v.text("name", i.name, 120);
  v.ids("any", i.any, 1);
  v.text("say", i.say, kLong);
  v.word("withhold", i.withhold, kWithholdWords);
  v.ids("until", i.until);
  v.ids("hold", i.hold, 0, false);
  v.flag("refer", i.refer);
  v.ids("cautions", i.cautions);
  v.derived(i.origin);
}

/// Calls `f` with the name of each kind of list that a knowledge file may have, and with that list of each of `items`.
template <typename F, typename... ItemsOf>
void for_each_kind(F&& f, ItemsOf&... items) {
  f("families", items.families...);
  f("places", items.places...);
  f("quantities", items.quantities...);
  f("causes", items.causes...);
  f("findings", items.findings...);
  f("checks", items.checks...);
  f("repairs", items.repairs...);
  f("cautions", items.cautions...);
  f("contexts", items.contexts...);
  f("rules", items.rules...);
}

}  // namespace wheeltapper::catalogue
