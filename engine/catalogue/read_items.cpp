#include "engine/catalogue/read_items.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>

namespace wheeltapper::catalogue {
namespace {

constexpr double kInf = std::numeric_limits<double>::infinity();
constexpr input::Reader::Range kChance{0, 1};
constexpr input::Reader::Range kOpenChance{0, 1, true, true};
constexpr input::Reader::Range kMinutes{0, 600, true};
constexpr input::Reader::Text kName{160};
constexpr input::Reader::Text kLong{900};
constexpr std::size_t kMostLevels = 6;

/// Keeps `into` as it is when nothing was read: the item is dropped then, as there is a problem.
template <typename T>
void take(std::optional<T> from, T& into) {
  if (from) into = std::move(*from);
}

Origin origin(const input::Reader& in) { return {in.file(), in.pointer()}; }

Family read_family(const input::Reader& in) {
  in.only({"id", "name", "signs", "two-or-more", "unlisted", "basis"});
  Family item;
  take(in.id("id"), item.id);
  take(in.text("name", kName), item.name);
  take(in.text("signs"), item.signs);
  take(in.number("two-or-more", {0.01, 0.9}), item.two_or_more);
  take(in.number("unlisted", {0.001, 0.5}), item.unlisted);
  take(in.text("basis", {300}), item.basis);
  return item;
}

Place read_place(const input::Reader& in) {
  in.only({"id", "name", "go", "side"});
  Place item;
  take(in.id("id"), item.id);
  take(in.text("name", {100}), item.name);
  take(in.text("go"), item.go);
  item.side = in.word("side", {"rig", "cars", "procedure", "locomotive"}, false).value_or("locomotive");
  return item;
}

Quantity read_quantity(const input::Reader& in) {
  in.only({"id", "name", "unit", "doubt", "ask"});
  Quantity item;
  take(in.id("id"), item.id);
  take(in.text("name", {100}), item.name);
  if (const auto code = in.member("unit")) {
    take(code->text({20}), item.unit);
    if (!item.unit.empty() && !measure::find_unit(item.unit))
      code->problem(code->what_stands(), "a UCUM code such as A, V, Ohm, s, /min, Cel");
  }
  if (const auto doubt = in.member("doubt"); doubt && doubt->is_object()) {
    doubt->only({"percent", "fixed", "basis"});
    take(doubt->number("percent", {0, 100}), item.doubt_percent);
    take(doubt->number("fixed", {0, kInf}), item.doubt_fixed);
    take(doubt->text("basis", {300}), item.doubt_basis);
    if (item.doubt_percent == 0 && item.doubt_fixed == 0)
      doubt->problem("is no doubt at all", "percent or fixed above 0");
  }
  take(in.text("ask", {600}, false), item.ask);
  return item;
}

Cause read_cause(const input::Reader& in) {
  in.only({"id", "name", "place", "families", "basis", "looks", "why", "skill"});
  Cause item;
  take(in.id("id"), item.id);
  take(in.text("name", kName), item.name);
  take(in.id("place"), item.place);
  for (const auto& [family, value] : in.members("families"))
    if (const auto per_1000 = value.number({0, 1000, true, true})) item.families.push_back({family, *per_1000});
  take(in.text("basis", {300}), item.basis);
  take(in.text("looks"), item.looks);
  take(in.text("why"), item.why);
  take(in.word("skill", {"novice", "intermediate", "expert"}, false), item.skill);
  return item;
}

/// One chance, or a list with one a level that never rises.
Levels read_levels(const input::Reader& in, const input::Reader::Range& range) {
  if (in.value().is_number()) {
    const auto one = in.number(range);
    return one ? Levels{*one} : Levels{};
  }
  Levels all;
  for (const input::Reader& each : in.items(1, kMostLevels - 1)) {
    const auto chance = each.number(range);
    if (!chance) return {};
    if (!all.empty() && *chance > all.back())
      each.problem(fmt::format("rises from {} to {} with the level", all.back(), *chance), "chances that never rise");
    all.push_back(*chance);
  }
  return all;
}

Link read_link(const std::string& cause, const input::Reader& in, const std::string& basis) {
  Link link{cause, {}, basis, {}};
  if (!in.value().is_object()) {
    link.strength = read_levels(in, kChance);
    return link;
  }
  in.only({"strength", "basis", "why"});
  if (const auto strength = in.member("strength")) link.strength = read_levels(*strength, kChance);
  take(in.text("basis", {300}, false), link.basis);
  take(in.text("why", {600}, false), link.why);
  return link;
}

std::optional<bench::LevelRule> read_reading_test(const input::Reader& in) {
  using Kind = bench::LevelRule::Kind;
  static const std::array names{std::pair{"over-limit", Kind::over_limit},
                                std::pair{"under-limit", Kind::under_limit},
                                std::pair{"above", Kind::above},
                                std::pair{"below", Kind::below},
                                std::pair{"difference", Kind::difference},
                                std::pair{"apart", Kind::apart},
                                std::pair{"spread", Kind::spread},
                                std::pair{"above-usual", Kind::above_usual},
                                std::pair{"below-usual", Kind::below_usual},
                                std::pair{"all-below", Kind::all_below},
                                std::pair{"figure-above", Kind::figure_above},
                                std::pair{"figure-below", Kind::figure_below}};
  if (!in.is_object()) return std::nullopt;
  in.only({"test", "reading", "minus", "run", "direction", "edges"});
  bench::LevelRule test;
  const auto kind = in.word("test", {"over-limit", "under-limit", "above", "below", "difference", "apart", "spread",
                                     "above-usual", "below-usual", "all-below", "figure-above", "figure-below"});
  if (kind) test.kind = std::ranges::find(names, *kind, [](const auto& n) { return std::string(n.first); })->second;
  take(in.id("reading"), test.reading);
  take(in.id("minus", kind && *kind == "difference"), test.minus);
  if (const auto run = in.word("run", {"neutral", "motor-only", "light", "loaded", "standing"}, !test.of_figure()))
    test.run = *bench::run_kind(*run);
  if (const auto way = in.word("direction", {"any", "forward", "reverse"}, false))
    test.direction = *bench::direction(*way);
  for (const input::Reader& each : in.elements("edges", 1, kMostLevels - 1))
    if (const auto edge = each.number({-kInf, kInf})) test.edges.push_back(*edge);
  const bool falling = test.kind == Kind::under_limit || test.kind == Kind::below || test.kind == Kind::all_below ||
                       test.kind == Kind::below_usual || test.kind == Kind::figure_below;
  const bool in_order =
      falling ? std::ranges::is_sorted(test.edges, std::greater<>()) : std::ranges::is_sorted(test.edges);
  if (!in_order) in.problem("has edges out of order", falling ? "falling edges" : "rising edges");
  return test;
}

void read_answer_errors(const input::Reader& in, Finding& item) {
  if (!in.is_object()) return;
  in.only({"false-yes", "false-no"});
  take(in.number("false-yes", {0, 0.5}), item.false_yes);
  take(in.number("false-no", {0, 0.5}), item.false_no);
}

void check_levels(const input::Reader& in, const Finding& item) {
  const auto demand = [&](const Levels& levels, const std::string& where) {
    if (!levels.empty() && levels.size() != item.top())
      in.problem(fmt::format("{} has {} chances", where, levels.size()),
                 fmt::format("{}, one a level above 0", item.top()));
  };
  demand(item.leak, "leak");
  for (const Link& link : item.links) demand(link.strength, "the link of " + link.cause);
  if (item.reading && item.reading->edges.size() != item.top())
    in.problem(fmt::format("reading has {} edges", item.reading->edges.size()),
               fmt::format("{}, one a level above 0", item.top()));
}

/// Words that are looked for in what people write: without capitals, as what they write is read so too.
std::vector<std::string> read_words(const input::Reader& in) {
  std::vector<std::string> words;
  for (const input::Reader& each : in.elements("words", 1, 40, false)) {
    auto text = each.text({60});
    if (!text) continue;
    const bool plain = std::ranges::all_of(*text, [](char c) { return (c >= 'a' && c <= 'z') || c == ' '; });
    if (!plain || text->front() == ' ' || text->back() == ' ')
      each.problem(each.what_stands(), "words in small letters a to z, parted by single spaces");
    else
      words.push_back(std::move(*text));
  }
  return words;
}

Finding read_finding(const input::Reader& in) {
  in.only({"id", "name", "question", "observe", "families", "levels", "answer", "leak", "basis", "refines",
           "implies-no", "echoes", "not-when", "words", "reading", "links", "inhibitors"});
  Finding item;
  take(in.id("id"), item.id);
  take(in.text("name", {120}), item.name);
  take(in.text("question", {200}), item.question);
  take(in.text("observe", kLong), item.observe);
  item.families = in.ids("families", 1);
  for (const input::Reader& each : in.elements("levels", 2, kMostLevels, false))
    if (auto level = each.text({60})) item.levels.push_back(std::move(*level));
  if (item.levels.empty()) item.levels = {"no", "yes"};
  if (const auto answer = in.member("answer")) read_answer_errors(*answer, item);
  if (const auto leak = in.member("leak")) item.leak = read_levels(*leak, kOpenChance);
  take(in.text("basis", {300}), item.basis);
  item.refines = in.ids("refines", 0, false);
  item.implies_no = in.ids("implies-no", 0, false);
  item.echoes = in.ids("echoes", 0, false);
  item.not_when = in.ids("not-when", 0, false);
  item.words = read_words(in);
  if (const auto reading = in.member("reading", false)) item.reading = read_reading_test(*reading);
  for (const auto& [cause, value] : in.members("links")) item.links.push_back(read_link(cause, value, item.basis));
  for (const auto& [cause, value] : in.members("inhibitors", false))
    if (const auto blocks = value.number(kChance)) item.inhibitors.push_back({cause, *blocks});
  check_levels(in, item);
  return item;
}

Result read_result(const input::Reader& in) {
  Result result;
  if (!in.is_object()) return result;
  in.only({"id", "sign", "finding", "causes", "specificity"});
  take(in.id("id"), result.id);
  take(in.text("sign", {200}), result.sign);
  if (in.has("finding")) {
    take(in.id("finding"), result.finding);
    if (in.has("causes") || in.has("specificity"))
      in.problem("has a finding and causes", "either a finding, or causes with a specificity");
    return result;
  }
  take(in.number("specificity", {0.5, 1, true, true}), result.specificity);
  for (const auto& [cause, value] : in.members("causes")) {
    const auto chance = value.number(kOpenChance);
    if (!chance) continue;
    if (*chance <= 1 - result.specificity)
      value.problem(fmt::format("is {}, no more than the false alarms of {:.3g}", *chance, 1 - result.specificity),
                    "a chance above 1 - specificity");
    result.causes.push_back({cause, *chance});
  }
  if (result.causes.empty()) in.problem("names no cause", "at least one cause or a finding");
  return result;
}

template <typename Enum>
Enum choice(const input::Reader& in, std::string_view key, std::initializer_list<std::string_view> words) {
  const auto found = in.word(key, words);
  const auto* at = found ? std::ranges::find(words, *found) : words.begin();
  return static_cast<Enum>(at - words.begin());
}

Skill read_skill(const input::Reader& in) { return choice<Skill>(in, "skill", {"novice", "intermediate", "expert"}); }
Opens read_opens(const input::Reader& in) { return choice<Opens>(in, "opens", {"nothing", "cover", "motor", "press"}); }

std::vector<std::string> read_steps(const input::Reader& in) {
  std::vector<std::string> steps;
  for (const input::Reader& each : in.elements("steps", 1, 12))
    if (auto step = each.text({600})) steps.push_back(std::move(*step));
  return steps;
}

Power read_power(const input::Reader& in) {
  return choice<Power>(in, "power", {"unplugged", "live", "unplugged-then-live"});
}

Check read_check(const input::Reader& in) {
  in.only({"id", "name", "families", "power", "minutes", "skill", "opens", "tools", "steps", "expect", "results",
           "only-when", "not-when", "cautions", "basis"});
  Check item;
  take(in.id("id"), item.id);
  take(in.text("name", {120}), item.name);
  item.families = in.ids("families", 1);
  item.power = read_power(in);
  take(in.number("minutes", kMinutes), item.minutes);
  item.skill = read_skill(in);
  item.opens = read_opens(in);
  take(in.text("tools", {300}), item.tools);
  item.steps = read_steps(in);
  take(in.text("expect", kLong), item.expect);
  for (const input::Reader& each : in.elements("results", 1, 8)) item.results.push_back(read_result(each));
  for (std::size_t i = 0; i < item.results.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (item.results[i].id == item.results[j].id) in.problem("has two results called " + item.results[i].id);
  item.only_when = in.ids("only-when", 0, false);
  item.not_when = in.ids("not-when", 0, false);
  item.cautions = in.ids("cautions");
  take(in.text("basis", {300}), item.basis);
  return item;
}

Repair read_repair(const input::Reader& in) {
  in.only({"id", "name", "families", "cures", "power", "minutes", "parts-cost", "parts", "skill", "opens", "steps",
           "verify", "risks", "cautions", "basis"});
  Repair item;
  take(in.id("id"), item.id);
  take(in.text("name", {120}), item.name);
  item.families = in.ids("families", 1);
  for (const auto& [cause, value] : in.members("cures"))
    if (const auto chance = value.number(kOpenChance)) item.cures.push_back({cause, *chance});
  take(in.number("minutes", kMinutes), item.minutes);
  item.power = read_power(in);
  const auto cost = in.elements("parts-cost", 2, 2);
  if (cost.size() == 2) {
    take(cost[0].number({0, kInf}), item.parts_least);
    take(cost[1].number({0, kInf}), item.parts_most);
    if (item.parts_most < item.parts_least) in.problem("parts-cost falls", "the least cost first");
  }
  take(in.text("parts", {200}), item.parts);
  item.skill = read_skill(in);
  item.opens = read_opens(in);
  item.steps = read_steps(in);
  item.verify = in.ids("verify", 1);
  take(in.text("risks"), item.risks);
  item.cautions = in.ids("cautions");
  take(in.text("basis", {300}), item.basis);
  return item;
}

Caution read_caution(const input::Reader& in) {
  in.only({"id", "signal", "hazard", "text", "source"});
  Caution item;
  take(in.id("id"), item.id);
  item.signal = choice<Signal>(in, "signal", {"danger", "warning", "caution", "notice"});
  take(in.text("hazard", kName), item.hazard);
  take(in.text("text", kLong), item.text);
  take(in.text("source", {300}), item.source);
  return item;
}

Context read_context(const input::Reader& in) {
  in.only({"id", "name", "question", "share", "odds", "basis"});
  Context item;
  take(in.id("id"), item.id);
  take(in.text("name", kName), item.name);
  take(in.text("question", {200}), item.question);
  take(in.number("share", kOpenChance), item.share);
  for (const auto& [cause, value] : in.members("odds")) {
    const auto factor = value.number({0, 20, true});
    if (!factor) continue;
    if (*factor * item.share >= 1)
      value.problem(fmt::format("is {} at a share of {}", *factor, item.share),
                    "factor * share below 1, as a no must leave some odds");
    item.odds.push_back({cause, *factor});
  }
  take(in.text("basis", {300}), item.basis);
  return item;
}

Rule read_rule(const input::Reader& in) {
  in.only({"id", "name", "any", "say", "withhold", "until", "hold", "refer", "cautions"});
  Rule item;
  take(in.id("id"), item.id);
  take(in.text("name", {120}), item.name);
  item.any = in.ids("any", 1);
  take(in.text("say", kLong), item.say);
  item.withhold = choice<Withhold>(in, "withhold", {"live", "everything", "touch"});
  item.until = in.ids("until");
  item.hold = in.ids("hold", 0, false);
  if (const auto refer = in.member("refer")) take(refer->boolean(), item.refer);
  item.cautions = in.ids("cautions");
  return item;
}

template <typename Item>
void read_list(const input::Reader& file, std::string_view kind, std::vector<Item>& into,
               Item (*read)(const input::Reader&)) {
  for (const input::Reader& each : file.elements(kind)) {
    if (!each.is_object()) continue;
    Item item = read(each);
    item.origin = origin(each);
    if (!item.id.empty()) into.push_back(std::move(item));
  }
}

}  // namespace

std::vector<std::string_view> kinds() {
  return {"families", "places",  "quantities", "causes",   "findings",
          "checks",   "repairs", "cautions",   "contexts", "rules"};
}

void read_items(const nlohmann::json& value, const std::string& file, Items& items,
                std::vector<input::Problem>& problems) {
  const input::Reader in(value, file, problems);
  if (!in.is_object("an object with one list: causes, findings, checks, repairs, ...")) return;
  const auto names = kinds();
  const auto lists = std::ranges::count_if(names, [&](auto kind) { return in.has(kind); });
  if (lists != 1) {
    in.problem(fmt::format("has {} of the lists that a knowledge file may hold", lists),
               "one of families, places, quantities, causes, findings, checks, repairs, cautions, contexts, rules");
    return;
  }
  in.only({"$schema", "families", "places", "quantities", "causes", "findings", "checks", "repairs", "cautions",
           "contexts", "rules"});
  if (in.has("$schema")) in.text("$schema");
  if (in.has("families")) read_list(in, "families", items.families, read_family);
  if (in.has("places")) read_list(in, "places", items.places, read_place);
  if (in.has("quantities")) read_list(in, "quantities", items.quantities, read_quantity);
  if (in.has("causes")) read_list(in, "causes", items.causes, read_cause);
  if (in.has("findings")) read_list(in, "findings", items.findings, read_finding);
  if (in.has("checks")) read_list(in, "checks", items.checks, read_check);
  if (in.has("repairs")) read_list(in, "repairs", items.repairs, read_repair);
  if (in.has("cautions")) read_list(in, "cautions", items.cautions, read_caution);
  if (in.has("contexts")) read_list(in, "contexts", items.contexts, read_context);
  if (in.has("rules")) read_list(in, "rules", items.rules, read_rule);
}

}  // namespace wheeltapper::catalogue
