#include "engine/catalogue/read_items.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "engine/catalogue/fields.hpp"

namespace wheeltapper::catalogue {
namespace {

using input::Reader;

/// Keeps `into` as it is when nothing was read: the item is dropped then, as there is a problem.
template <typename T, typename Into>
void take(std::optional<T> from, Into& into) {
  if (from) into = std::move(*from);
}

/// One chance, or a list with one a level that never rises.
Levels read_levels(const Reader& in, const Reader::Range& range) {
  if (in.value().is_number()) {
    const auto one = in.number(range);
    return one ? Levels{*one} : Levels{};
  }
  Levels all;
  for (const Reader& each : in.items(1, kMostLevels - 1)) {
    const auto chance = each.number(range);
    if (!chance) return {};
    if (!all.empty() && *chance > all.back())
      each.problem(fmt::format("rises from {} to {} with the level", all.back(), *chance), "chances that never rise");
    all.push_back(*chance);
  }
  return all;
}

void read_value(const Reader& in, const Reader::Range& range, double& into) { take(in.number(range), into); }
void read_value(const Reader& in, const Reader::Range& range, Levels& into) { into = read_levels(in, range); }

/// A value, or an object with one for "all" families and one for each that has its own.
template <typename T>
ByFamily<T> read_by_family(const Reader& in, const Reader::Range& range) {
  ByFamily<T> value;
  if (!in.value().is_object()) {
    read_value(in, range, value.all);
    return value;
  }
  in.member("all");
  for (const auto& [family, each] : in.entries())
    read_value(each, range, family == "all" ? value.all : value.own.emplace_back(family, T{}).second);
  return value;
}

/// Visits the fields of one object (fields.hpp).
class FromJson {
 public:
  explicit FromJson(const Reader& in) : in_(in) {}
  FromJson(const FromJson&) = delete;
  FromJson& operator=(const FromJson&) = delete;

  /// After the last field: any other key is a mistake.
  void done() const { in_.only(known_); }

  void id(std::string_view key, std::string& into, bool required = true) { take(in_.id(known(key), required), into); }
  void text(std::string_view key, std::string& into, std::size_t longest, bool required = true) {
    take(in_.text(known(key), {longest}, required), into);
  }
  void number(std::string_view key, double& into, const Reader::Range& range) {
    take(in_.number(known(key), range), into);
  }
  void flag(std::string_view key, bool& into, bool required = true) {
    if (const auto at = in_.member(known(key), required)) take(at->boolean(), into);
  }
  template <typename Words>
  void word(std::string_view key, std::string& into, const Words& words, bool required = true) {
    take(in_.word(known(key), std::span<const std::string_view>(words), required), into);
  }
  template <typename Enum, typename Words>
  requires std::is_enum_v<Enum>
  void word(std::string_view key, Enum& into, const Words& words, bool required = true) {
    if (const auto found = in_.word(known(key), std::span<const std::string_view>(words), required))
      into = value_of<Enum>(*found, words);
  }
  void words(std::string_view key, std::vector<bench::RunKind>& into) {
    for (const Reader& each : in_.elements(known(key), 1, bench::kRunKindWords.size()))
      if (const auto found = each.word(bench::kRunKindWords))
        into.push_back(value_of<bench::RunKind>(*found, bench::kRunKindWords));
  }
  void ids(std::string_view key, std::vector<std::string>& into, std::size_t least = 0, bool required = true) {
    into = in_.ids(known(key), least, required);
  }
  void texts(std::string_view key, std::vector<std::string>& into, Count count, std::size_t longest,
             bool required = true) {
    for (const Reader& each : in_.elements(known(key), count.least, count.most, required))
      if (auto text = each.text({longest})) into.push_back(std::move(*text));
  }
  void levels(std::string_view key, std::vector<std::string>& into, Count count, std::size_t longest) {
    texts(key, into, count, longest, false);
    if (into.empty()) into = {"no", "yes"};
  }
  void numbers(std::string_view key, std::vector<double>& into, Count count) {
    for (const Reader& each : in_.elements(known(key), count.least, count.most))
      if (const auto one = each.number({-kInf, kInf})) into.push_back(*one);
  }
  void limits(std::string_view key, double& least, double& most, const Reader::Range& range) {
    const auto both = in_.elements(known(key), 2, 2);
    if (both.size() != 2) return;
    take(both[0].number(range), least);
    take(both[1].number(range), most);
    if (most < least) in_.member(key)->problem("falls", "the least first");
  }
  void rates(std::string_view key, std::vector<Rate>& into, const Reader::Range& range) {
    for (const auto& [family, value] : in_.members(known(key)))
      if (const auto per_1000 = value.number(range)) into.push_back({family, *per_1000});
  }
  void chances(std::string_view key, ByFamily<Levels>& into, const Reader::Range& range) {
    if (const auto at = in_.member(known(key))) into = read_by_family<Levels>(*at, range);
  }
  template <typename F>
  void group(std::string_view key, bool required, F&& fields_of) {
    const auto at = in_.member(known(key), required);
    if (!at || !at->is_object()) return;
    FromJson inner(*at);
    fields_of(inner);
    inner.done();
  }
  template <typename T>
  void list(std::string_view key, std::vector<T>& into, Count count) {
    for (const Reader& each : in_.elements(known(key), count.least, count.most)) into.push_back(object<T>(each));
  }
  template <typename T>
  void maybe(std::string_view key, std::optional<T>& into) {
    if (const auto at = in_.member(known(key), false)) into = object<T>(*at);
  }
  void entries(std::string_view key, std::vector<Entry>& into, const Reader::Range& range) {
    for (const auto& [id, value] : in_.members(known(key), false))
      into.push_back({id, read_by_family<double>(value, range)});
  }
  void shown(std::string_view key, std::vector<Shown>& into, const Reader::Range& range) {
    for (const auto& [id, value] : in_.members(known(key), false)) into.push_back(read_shown(id, value, range));
  }
  template <typename... T>
  void derived(T&...) {}

 private:
  std::string_view known(std::string_view key) { return known_.emplace_back(key); }

  template <typename T>
  static T object(const Reader& in) {
    T item;
    if (!in.is_object()) return item;
    FromJson inner(in);
    fields(inner, item);
    inner.done();
    return item;
  }

  template <typename Enum, typename Words>
  static Enum value_of(const std::string& word, const Words& words) {
    return static_cast<Enum>(std::ranges::find(words, word) - words.begin());
  }

  static Shown read_shown(const std::string& id, const Reader& in, const Reader::Range& range) {
    Shown shown{id, {}, {}, {}};
    if (!in.has("strength")) {
      shown.strength = read_by_family<Levels>(in, range);
      return shown;
    }
    in.only({"strength", "basis", "why"});
    shown.strength = read_by_family<Levels>(*in.member("strength"), range);
    take(in.text("basis", {kSentence}, false), shown.basis);
    take(in.text("why", {kText}, false), shown.why);
    return shown;
  }

  const Reader& in_;
  std::vector<std::string_view> known_;
};

// What a list of fields cannot ask of an item by itself.
template <typename Item>
void check_item(const Reader&, const Item&) {}

void check_item(const Reader& in, const Quantity& item) {
  if (!item.unit.empty() && !measure::find_unit(item.unit)) {
    const auto unit = in.member("unit");
    unit->problem(unit->what_stands(), "a UCUM code such as A, V, Ohm, s, /min, Cel");
  }
  if (item.uncertainty_percent == 0 && item.uncertainty_fixed == 0 && in.has("uncertainty"))
    in.member("uncertainty")->problem("is none at all", "percent or fixed above 0");
}

void check_edges(const Reader& in, const bench::LevelRule& rule, std::size_t levels) {
  const bool in_order =
      rule.falls() ? std::ranges::is_sorted(rule.edges, std::greater<>()) : std::ranges::is_sorted(rule.edges);
  if (!in_order) in.problem("has edges out of order", rule.falls() ? "falling edges" : "rising edges");
  if (rule.edges.size() != levels)
    in.problem(fmt::format("has {} edges", rule.edges.size()), fmt::format("{}, one a level above 0", levels));
}

void check_item(const Reader& in, const Finding& item) {
  if (item.reading) check_edges(*in.member("reading"), *item.reading, item.top());
  for (std::size_t i = 0; i < item.words.size(); ++i) {
    const std::string& text = item.words[i];  // they are looked for in what people write, read without capitals
    const bool plain = std::ranges::all_of(text, [](char c) { return (c >= 'a' && c <= 'z') || c == ' '; });
    if (!plain || text.front() == ' ' || text.back() == ' ')
      in.member("words")->problem("has \"" + text + "\" in it",
                                  "words in small letters a to z, parted by single spaces");
  }
}

void check_item(const Reader& in, const Check& item) {
  for (std::size_t i = 0; i < item.results.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (item.results[i].id == item.results[j].id)
        in.member("results")->problem("has two results called " + item.results[i].id);
}

template <typename Item>
void read_item(const Written& written, std::vector<Item>& into, std::vector<Card>& cards,
               std::vector<input::Problem>& problems) {
  const Reader in(written.value, written.origin.file, problems, written.origin.pointer);
  FromJson visitor(in);
  Item item;
  fields(visitor, item);
  if constexpr (std::is_same_v<Item, Cause>) {
    Card card{item.id, written.origin, {}, {}, {}, {}, {}};
    fields(visitor, card);
    cards.push_back(std::move(card));
  }
  visitor.done();
  check_item(in, item);
  item.origin = written.origin;
  into.push_back(std::move(item));
}

}  // namespace

const std::vector<std::string_view>& kinds() {
  static const auto all = [] {
    std::vector<std::string_view> names;
    Items none;
    for_each_kind([&](std::string_view kind, const auto&) { names.push_back(kind); }, none);
    return names;
  }();
  return all;
}

std::vector<Written> written_in(const nlohmann::json& file, const std::string& name,
                                std::vector<input::Problem>& problems) {
  std::vector<Written> all;
  const Reader in(file, name, problems);
  if (!in.is_object("an object with lists: causes, findings, checks, repairs, ...")) return all;
  auto known = kinds();
  known.emplace_back("$schema");
  in.only(known);
  if (in.has("$schema")) in.text("$schema");
  if (std::ranges::none_of(kinds(), [&](auto kind) { return in.has(kind); }))
    in.problem("has none of the lists of a knowledge file", fmt::format("{}", fmt::join(kinds(), ", ")));
  for (const std::string_view kind : kinds())
    for (const Reader& each : in.elements(kind, 0, 100000, false))
      if (each.is_object() && each.id("id")) all.push_back({kind, each.value(), {name, each.pointer()}});
  return all;
}

Hand read_items(std::span<const Written> all, std::vector<input::Problem>& problems) {
  Hand hand;
  const auto read_kind = [&](std::string_view kind, auto& list) {
    for (const Written& each : all)
      if (each.kind == kind) read_item(each, list, hand.cards, problems);
  };
  for_each_kind(read_kind, hand.items);
  return hand;
}

}  // namespace wheeltapper::catalogue
