#include "engine/learn/fingerprint.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <string_view>
#include <vector>

namespace wheeltapper::learn {
namespace {

/// One item as text: parts that can't be taken for each other, as each is closed.
class Print {
 public:
  Print& operator<<(std::string_view id) {
    text_ += fmt::format("{}:{};", id.size(), id);
    return *this;
  }
  Print& operator<<(double number) {  // the shortest digits that read back as the same number
    text_ += fmt::format("{};", number);
    return *this;
  }
  /// A list whose order means nothing.
  Print& ids(std::vector<std::string> list) {
    std::ranges::sort(list);
    return all(list);
  }
  template <typename List>
  Print& all(const List& list) {
    *this << static_cast<double>(list.size());
    for (const auto& each : list) *this << each;
    return *this;
  }
  Print& operator<<(const catalogue::Levels& levels) { return all(levels); }
  template <typename T>
  Print& operator<<(const catalogue::ByFamily<T>& number) {
    *this << number.all << static_cast<double>(number.own.size());
    for (const auto& [family, own] : number.own) *this << family << own;
    return *this;
  }
  std::string take() { return std::move(text_); }

 private:
  std::string text_;
};

std::string print_of(const catalogue::Family& family) {
  return (Print() << family.id << family.two_or_more << family.unlisted).take();
}

std::string print_of(const catalogue::Cause& cause) {
  Print print;
  print << cause.id;
  std::vector<std::string> rates;
  for (const auto& each : cause.rates) rates.push_back((Print() << each.family << each.per_1000).take());
  return print.ids(rates).take();
}

std::string print_of(const catalogue::Finding& finding) {
  Print print;
  print << finding.id << static_cast<double>(finding.levels.size()) << finding.false_yes << finding.false_no;
  (print << finding.leak).ids(finding.refines).ids(finding.implies_no).ids(finding.echoes);
  std::vector<std::string> parts;
  for (const auto& link : finding.links) parts.push_back((Print() << link.cause << link.strength).take());
  print.ids(parts);
  parts.clear();
  for (const auto& each : finding.inhibitors) parts.push_back((Print() << each.cause << each.blocks).take());
  return print.ids(parts).take();
}

std::string print_of(const catalogue::Check& check) {
  Print print;
  print << check.id;
  for (const auto& result : check.results) {
    print << result.id << result.finding << result.specificity;
    std::vector<std::string> seen;
    for (const auto& each : result.causes) seen.push_back((Print() << each.cause << each.chance).take());
    print.ids(seen);
  }
  return print.take();
}

std::string print_of(const catalogue::Repair& repair) {
  Print print;
  print << repair.id;
  std::vector<std::string> cures;
  for (const auto& cure : repair.cures) cures.push_back((Print() << cure.cause << cure.chance).take());
  return print.ids(cures).take();
}

std::string print_of(const catalogue::Context& context) {
  Print print;
  print << context.id << context.share;
  std::vector<std::string> odds;
  for (const auto& each : context.odds) odds.push_back((Print() << each.cause << each.factor).take());
  return print.ids(odds).take();
}

template <typename Item>
std::vector<std::string> prints_of(const std::vector<Item>& items) {
  std::vector<std::string> prints;
  prints.reserve(items.size());
  for (const Item& item : items) prints.push_back(print_of(item));
  return prints;
}

}  // namespace

std::string fingerprint(const catalogue::Items& items) {
  Print whole;
  whole.ids(prints_of(items.families)).ids(prints_of(items.causes)).ids(prints_of(items.findings));
  whole.ids(prints_of(items.checks)).ids(prints_of(items.repairs)).ids(prints_of(items.contexts));
  return boost::uuids::to_string(boost::uuids::name_generator_sha1(boost::uuids::uuid{})(whole.take()));
}

}  // namespace wheeltapper::learn
