#include "engine/catalogue/pack.hpp"

#include <cstdint>
#include <cstring>
#include <stdexcept>
#include <type_traits>

#include "engine/catalogue/fields.hpp"

namespace wheeltapper::catalogue {
namespace {

class Writer {
 public:
  static constexpr bool kReads = false;
  void raw(const void* data, std::size_t size) { bytes_.append(static_cast<const char*>(data), size); }
  std::string take() { return std::move(bytes_); }

  void one(std::string& text) {
    count(text.size());
    raw(text.data(), text.size());
  }
  std::size_t count(std::size_t size) {
    const auto narrow = static_cast<std::uint32_t>(size);
    raw(&narrow, sizeof narrow);
    return size;
  }

 private:
  std::string bytes_;
};

class Unpacker {
 public:
  static constexpr bool kReads = true;
  explicit Unpacker(std::string_view bytes) : rest_(bytes) {}
  void raw(void* data, std::size_t size) { std::memcpy(data, take(size).data(), size); }
  bool at_end() const { return rest_.empty(); }

  void one(std::string& text) { text = take(count(0)); }
  std::size_t count(std::size_t) {
    std::uint32_t narrow = 0;
    raw(&narrow, sizeof narrow);
    return narrow;
  }

 private:
  std::string_view take(std::size_t size) {
    if (size > rest_.size()) throw std::runtime_error("the packed knowledge ends early");
    const std::string_view head = rest_.substr(0, size);
    rest_.remove_prefix(size);
    return head;
  }

  std::string_view rest_;
};

/// Visits the fields of items (fields.hpp) and hands each member to the archive, whatever its key: members of one kind
/// are packed alike.
template <typename Archive>
class Packed {
 public:
  explicit Packed(Archive& archive) : archive_(archive) {}

  void id(std::string_view, auto& member, const auto&...) { each(member); }
  void text(std::string_view, auto& member, const auto&...) { each(member); }
  void number(std::string_view, auto& member, const auto&...) { each(member); }
  void flag(std::string_view, auto& member, const auto&...) { each(member); }
  void word(std::string_view, auto& member, const auto&...) { each(member); }
  void words(std::string_view, auto& member, const auto&...) { each(member); }
  void ids(std::string_view, auto& member, const auto&...) { each(member); }
  void texts(std::string_view, auto& member, const auto&...) { each(member); }
  void levels(std::string_view, auto& member, const auto&...) { each(member); }
  void numbers(std::string_view, auto& member, const auto&...) { each(member); }
  void chances(std::string_view, auto& member, const auto&...) { each(member); }
  void rates(std::string_view, auto& member, const auto&...) { each(member); }
  void list(std::string_view, auto& member, const auto&...) { each(member); }
  void maybe(std::string_view, auto& member, const auto&...) { each(member); }
  void limits(std::string_view, double& least, double& most, const input::Reader::Range&) { each(least), each(most); }
  template <typename F>
  void group(std::string_view, bool, F&& fields_of) {
    fields_of(*this);
  }
  template <typename... T>
  void derived(T&... members) {
    (each(members), ...);
  }

  template <typename T>
  void each(T& item) {
    if constexpr (std::is_arithmetic_v<T> || std::is_enum_v<T>)
      archive_.raw(&item, sizeof item);
    else if constexpr (std::is_same_v<T, std::string>)
      archive_.one(item);
    else
      parts(item);
  }

 private:
  template <typename T>
  void parts(std::vector<T>& list) {
    const std::size_t size = archive_.count(list.size());
    if constexpr (Archive::kReads) list.resize(size);
    for (T& item : list) each(item);
  }
  template <typename T>
  void parts(std::optional<T>& maybe) {
    bool there = maybe.has_value();
    each(there);
    if (there && !maybe) maybe.emplace();
    if (there) each(*maybe);
  }
  template <typename A, typename B>
  void parts(std::pair<A, B>& both) {
    derived(both.first, both.second);
  }
  template <typename T>
  void parts(ByFamily<T>& number) {
    derived(number.all, number.own);
  }
  void parts(Origin& i) { derived(i.file, i.pointer, i.over); }
  void parts(Rate& i) { derived(i.family, i.per_1000); }
  void parts(Link& i) { derived(i.cause, i.strength, i.basis, i.why); }
  void parts(Inhibitor& i) { derived(i.cause, i.blocks); }
  void parts(Result::Seen& i) { derived(i.cause, i.chance); }
  void parts(Cure& i) { derived(i.cause, i.chance); }
  void parts(Context::Factor& i) { derived(i.cause, i.factor); }
  template <typename Item>
  void parts(Item& item) {
    fields(*this, item);
  }

  Archive& archive_;
};

template <typename Archive>
void visit(Archive& archive, Items& items) {
  Packed<Archive> packed(archive);
  for_each_kind([&](std::string_view, auto& list) { packed.each(list); }, items);
}

}  // namespace

std::string pack(const Items& items) {
  Writer out;
  Items copy = items;  // the field lists serve both ways and so want something they could change
  visit(out, copy);
  return out.take();
}

Items unpack(std::string_view bytes) {
  Unpacker in(bytes);
  Items items;
  visit(in, items);
  if (!in.at_end()) throw std::runtime_error("the packed knowledge runs over its end");
  return items;
}

}  // namespace wheeltapper::catalogue
