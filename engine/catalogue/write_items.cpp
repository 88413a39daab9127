#include "engine/catalogue/write_items.hpp"

#include <algorithm>

#include "engine/catalogue/fields.hpp"

namespace wheeltapper::catalogue {
namespace {

using input::Reader;
using nlohmann::json;

json value_of(double number) { return number; }
json value_of(const Levels& levels) { return levels.size() == 1 ? json(levels.front()) : json(levels); }
template <typename T>
json value_of(const ByFamily<T>& number) {
  if (number.own.empty()) return value_of(number.all);
  json by{{"all", value_of(number.all)}};
  for (const auto& [family, value] : number.own) by[family] = value_of(value);
  return by;
}

/// Visits the fields of one item (fields.hpp).
class ToJson {
 public:
  json out = json::object();

  void id(std::string_view key, const std::string& from, bool = true) { put(key, from); }
  void text(std::string_view key, const std::string& from, std::size_t, bool = true) { put(key, from); }
  void number(std::string_view key, double from, const Reader::Range&) { at(key) = from; }
  void flag(std::string_view key, bool from, bool always = true) {
    if (always || from) at(key) = from;
  }
  template <typename Words>
  void word(std::string_view key, const std::string& from, const Words&, bool = true) {
    put(key, from);
  }
  template <typename Enum, typename Words>
  requires std::is_enum_v<Enum>
  void word(std::string_view key, Enum from, const Words& words, bool = true) {
    at(key) = words[static_cast<std::size_t>(from)];
  }
  void words(std::string_view key, const std::vector<bench::RunKind>& from) {
    json& list = at(key) = json::array();
    for (const auto kind : from) list.push_back(bench::kRunKindWords[static_cast<std::size_t>(kind)]);
  }
  void ids(std::string_view key, const std::vector<std::string>& from, std::size_t = 0, bool required = true) {
    if (required || !from.empty()) at(key) = from;
  }
  void texts(std::string_view key, const std::vector<std::string>& from, Count, std::size_t, bool required = true) {
    ids(key, from, 0, required);
  }
  void levels(std::string_view key, const std::vector<std::string>& from, Count, std::size_t) { at(key) = from; }
  void numbers(std::string_view key, const std::vector<double>& from, Count) { at(key) = from; }
  void limits(std::string_view key, double least, double most, const Reader::Range&) {
    at(key) = json::array({least, most});
  }
  void rates(std::string_view key, const std::vector<Rate>& from, const Reader::Range&) {
    json& all = at(key) = json::object();
    for (const Rate& rate : from) all[rate.family] = rate.per_1000;
  }
  void chances(std::string_view key, const ByFamily<Levels>& from, const Reader::Range&) { at(key) = value_of(from); }
  template <typename F>
  void group(std::string_view key, bool, F&& fields_of) {
    ToJson inner;
    fields_of(inner);
    at(key) = std::move(inner.out);
  }
  template <typename T>
  void list(std::string_view key, std::vector<T>& from, Count) {
    json& all = at(key) = json::array();
    for (T& item : from) all.push_back(object(item));
  }
  template <typename T>
  void maybe(std::string_view key, std::optional<T>& from) {
    if (from) at(key) = object(*from);
  }
  void entries(std::string_view key, const std::vector<Entry>& from, const Reader::Range&) {
    json& all = at(key) = json::object();
    for (const Entry& entry : from) all[entry.id] = value_of(entry.value);
  }
  void shown(std::string_view key, const std::vector<Shown>& from, const Reader::Range&) {
    json& all = at(key) = json::object();
    for (const Shown& shown : from) all[shown.id] = entry_of(shown);
  }
  template <typename... T>
  void derived(T&...) {}

  template <typename T>
  static json object(T& item) {
    ToJson inner;
    fields(inner, item);
    return std::move(inner.out);
  }

 private:
  /// As short as the files may have it, so that a patch meets what a person reads there.
  static json entry_of(const Shown& shown) {
    if (shown.basis.empty() && shown.why.empty()) return value_of(shown.strength);
    json entry{{"strength", value_of(shown.strength)}};
    if (!shown.basis.empty()) entry["basis"] = shown.basis;
    if (!shown.why.empty()) entry["why"] = shown.why;
    return entry;
  }
  json& at(std::string_view key) { return out[std::string(key)]; }
  void put(std::string_view key, const std::string& text) {
    if (!text.empty()) at(key) = text;
  }
};

template <typename Item>
json whole(std::span<const Card> cards, Item item) {
  ToJson visitor;
  fields(visitor, item);
  if constexpr (std::is_same_v<Item, Cause>)
    if (const auto found = std::ranges::find(cards, item.id, &Card::cause); found != cards.end()) {
      Card card = *found;
      fields(visitor, card);
    }
  return std::move(visitor.out);
}

}  // namespace

std::optional<Written> written(const Items& items, std::span<const Card> cards, std::string_view kind,
                               std::string_view id) {
  std::optional<Written> found;
  for_each_kind(
      [&](std::string_view name, const auto& list) {
        if (name != kind) return;
        const auto item = std::ranges::find(list, id, [](const auto& each) -> std::string_view { return each.id; });
        if (item != list.end()) found = Written{name, whole(cards, *item), item->origin};
      },
      items);
  return found;
}

}  // namespace wheeltapper::catalogue
