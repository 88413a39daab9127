#include "engine/catalogue/pack.hpp"

#include <cstdint>
#include <cstring>
#include <stdexcept>
#include <type_traits>

namespace wheeltapper::catalogue {
namespace {

class Writer {
 public:
  void raw(const void* data, std::size_t size) { bytes_.append(static_cast<const char*>(data), size); }
  std::string take() { return std::move(bytes_); }

 private:
  std::string bytes_;
};

class Unpacker {
 public:
  explicit Unpacker(std::string_view bytes) : rest_(bytes) {}
  void raw(void* data, std::size_t size) { std::memcpy(data, take(size).data(), size); }
  std::string_view take(std::size_t size) {
    if (size > rest_.size()) throw std::runtime_error("the packed knowledge ends early");
    const std::string_view head = rest_.substr(0, size);
    rest_.remove_prefix(size);
    return head;
  }
  bool at_end() const { return rest_.empty(); }

 private:
  std::string_view rest_;
};

template <typename Archive, typename T>
void each(Archive& archive, T& item);

void count(Writer& out, std::size_t& size) {
  const auto narrow = static_cast<std::uint32_t>(size);
  out.raw(&narrow, sizeof narrow);
}
void count(Unpacker& in, std::size_t& size) {
  std::uint32_t narrow = 0;
  in.raw(&narrow, sizeof narrow);
  size = narrow;
}

void one(Writer& out, std::string& text) {
  std::size_t size = text.size();
  count(out, size);
  out.raw(text.data(), size);
}
void one(Unpacker& in, std::string& text) {
  std::size_t size = 0;
  count(in, size);
  text = in.take(size);
}

template <typename Archive, typename T>
requires(std::is_arithmetic_v<T> || std::is_enum_v<T>) void one(Archive& archive, T& value) {
  archive.raw(&value, sizeof value);
}

template <typename Archive, typename T>
void one(Archive& archive, std::vector<T>& list) {
  std::size_t size = list.size();
  count(archive, size);
  if constexpr (std::is_same_v<Archive, Unpacker>) list.resize(size);
  for (T& item : list) each(archive, item);
}

template <typename Archive, typename T>
void one(Archive& archive, std::optional<T>& maybe) {
  bool there = maybe.has_value();
  one(archive, there);
  if (there && !maybe) maybe.emplace();
  if (there) each(archive, *maybe);
}

template <typename Archive, typename... Fields>
void fields(Archive& archive, Fields&... all) {
  (each(archive, all), ...);
}

// What an item consists of: one list serves writing and reading.
template <typename A>
void one(A& a, Origin& i) {
  fields(a, i.file, i.pointer);
}
template <typename A>
void one(A& a, Family& i) {
  fields(a, i.id, i.name, i.signs, i.two_or_more, i.unlisted, i.basis, i.origin);
}
template <typename A>
void one(A& a, Place& i) {
  fields(a, i.id, i.name, i.go, i.side, i.origin);
}
template <typename A>
void one(A& a, Quantity& i) {
  fields(a, i.id, i.name, i.unit, i.ask, i.doubt_basis, i.doubt_percent, i.doubt_fixed, i.origin);
}
template <typename A>
void one(A& a, Prior& i) {
  fields(a, i.family, i.per_1000);
}
template <typename A>
void one(A& a, Cause& i) {
  fields(a, i.id, i.name, i.place, i.looks, i.why, i.skill, i.basis, i.families, i.origin);
}
template <typename A>
void one(A& a, Link& i) {
  fields(a, i.cause, i.strength, i.basis, i.why);
}
template <typename A>
void one(A& a, Inhibitor& i) {
  fields(a, i.cause, i.blocks);
}
template <typename A>
void one(A& a, bench::LevelRule& i) {
  fields(a, i.kind, i.reading, i.minus, i.run, i.direction, i.edges);
}
template <typename A>
void one(A& a, Finding& i) {
  fields(a, i.id, i.name, i.question, i.observe, i.basis, i.families, i.levels, i.false_yes, i.false_no, i.leak,
         i.refines, i.implies_no, i.echoes, i.not_when, i.words, i.reading, i.links, i.inhibitors, i.origin);
}
template <typename A>
void one(A& a, Result::Seen& i) {
  fields(a, i.cause, i.chance);
}
template <typename A>
void one(A& a, Result& i) {
  fields(a, i.id, i.sign, i.finding, i.causes, i.specificity);
}
template <typename A>
void one(A& a, Check& i) {
  fields(a, i.id, i.name, i.tools, i.expect, i.basis, i.families, i.power, i.minutes, i.skill, i.opens, i.steps,
         i.results, i.only_when, i.not_when, i.cautions, i.origin);
}
template <typename A>
void one(A& a, Cure& i) {
  fields(a, i.cause, i.chance);
}
template <typename A>
void one(A& a, Repair& i) {
  fields(a, i.id, i.name, i.parts, i.risks, i.basis, i.families, i.cures, i.minutes, i.parts_least, i.parts_most,
         i.power, i.skill, i.opens, i.steps, i.verify, i.cautions, i.origin);
}
template <typename A>
void one(A& a, Caution& i) {
  fields(a, i.id, i.hazard, i.text, i.source, i.signal, i.origin);
}
template <typename A>
void one(A& a, Context::Factor& i) {
  fields(a, i.cause, i.factor);
}
template <typename A>
void one(A& a, Context& i) {
  fields(a, i.id, i.name, i.question, i.basis, i.share, i.odds, i.origin);
}
template <typename A>
void one(A& a, Rule& i) {
  fields(a, i.id, i.name, i.say, i.any, i.withhold, i.until, i.hold, i.refer, i.cautions, i.origin);
}
template <typename A>
void one(A& a, Items& i) {
  fields(a, i.families, i.places, i.quantities, i.causes, i.findings, i.checks, i.repairs, i.cautions, i.contexts,
         i.rules);
}

template <typename Archive, typename T>
void each(Archive& archive, T& item) {
  one(archive, item);
}

}  // namespace

std::string pack(const Items& items) {
  Writer out;
  Items copy = items;  // the field lists serve both ways and so want something they could change
  each(out, copy);
  return out.take();
}

Items unpack(std::string_view bytes) {
  Unpacker in(bytes);
  Items items;
  each(in, items);
  if (!in.at_end()) throw std::runtime_error("the packed knowledge runs over its end");
  return items;
}

}  // namespace wheeltapper::catalogue
