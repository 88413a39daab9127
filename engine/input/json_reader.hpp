#pragma once
#include <functional>
#include <initializer_list>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/input/problem.hpp"

namespace wheeltapper::input {

/// Bounds on what is read from a file. More is refused with a message, not attempted.
struct InputLimits {
  static constexpr std::size_t kBytes = 8U << 20U;
  static constexpr int kDepth = 32;
};

/// Parses JSON text (RFC 8259) strictly: UTF-8, no comments, no key twice in one object, nesting and size within
/// InputLimits. Every failure, the parser's own included, comes as BadInput with the file and the place
/// (line and column for syntax, JSON Pointer for a key given twice).
nlohmann::json parse_json(std::string_view text, const std::string& file);

/// A JSON value that knows its place. Reading goes on after a mistake, so that one pass finds them all: each
/// function returns nothing (or an empty container) and adds a Problem when what stands there is not allowed.
class Reader {
 public:
  struct Text {
    std::size_t longest = 600;
  };
  /// A number range with the words for it.
  struct Range {
    double low;
    double high;
    bool low_open = false;
    bool high_open = false;
    std::string text() const;
    bool contains(double value) const noexcept;
  };

  /// \param place  JSON Pointer of the value in the file
  Reader(const nlohmann::json& value, std::string file, std::vector<Problem>& problems, std::string place = {})
      : value_(&value),
        file_(std::make_shared<const std::string>(std::move(file))),
        problems_(&problems),
        place_(std::move(place)) {}

  const nlohmann::json& value() const noexcept { return *value_; }
  std::string pointer() const { return place_; }
  const std::string& file() const noexcept { return *file_; }

  /// Adds a problem at this place.
  void problem(std::string wrong, std::string allowed = {}) const;
  /// Adds a problem of another file.
  void add(Problem other) const { problems_->push_back(std::move(other)); }
  /// "is 12", "is an object", cut to a short length: what stands here.
  std::string what_stands() const;

  /// True if this is an object; otherwise a problem.
  bool is_object(std::string_view allowed = "an object") const;
  /// A problem for each member whose key is not among `known`, with the nearest known one.
  void only(const std::vector<std::string_view>& known) const;

  bool has(std::string_view key) const;
  /// The member, which must be there (`required`) or may be left out; nothing and a problem if it is missing.
  std::optional<Reader> member(std::string_view key, bool required = true) const;
  /// The elements of the array member `key`; a problem if it is not an array within these sizes.
  std::vector<Reader> elements(std::string_view key, std::size_t least = 0, std::size_t most = 100000,
                               bool required = true) const;
  /// The members of the object member `key`, with their keys.
  std::vector<std::pair<std::string, Reader>> members(std::string_view key, bool required = true) const;
  /// The elements of this value, which must be an array.
  std::vector<Reader> items(std::size_t least = 0, std::size_t most = 100000) const;
  std::vector<std::pair<std::string, Reader>> entries() const;

  std::optional<std::string> text(const Text& allowed) const;
  std::optional<std::string> id() const;
  std::optional<double> number(const Range& allowed) const;
  std::optional<bool> boolean() const;
  /// One of `words`.
  std::optional<std::string> word(std::span<const std::string_view> words) const;
  std::optional<std::string> word(std::initializer_list<std::string_view> words) const {
    return word(std::span(words.begin(), words.size()));
  }

  std::optional<std::string> text(std::string_view key, const Text& allowed = {600}, bool required = true) const;
  std::optional<std::string> id(std::string_view key, bool required = true) const;
  std::optional<double> number(std::string_view key, const Range& allowed, bool required = true) const;
  std::optional<std::string> word(std::string_view key, std::span<const std::string_view> words,
                                  bool required = true) const;
  std::optional<std::string> word(std::string_view key, std::initializer_list<std::string_view> words,
                                  bool required = true) const {
    return word(key, std::span(words.begin(), words.size()), required);
  }
  std::vector<std::string> ids(std::string_view key, std::size_t least = 0, bool required = true) const;

 private:
  Reader at(const nlohmann::json& value, std::string_view key) const;

  const nlohmann::json* value_;
  std::shared_ptr<const std::string> file_;
  std::vector<Problem>* problems_;
  std::string place_;
};

/// True for lower-case letters and digits joined by single hyphens, at most 64 characters.
bool is_id(std::string_view text) noexcept;

/// The candidate nearest to `word` by edit distance, if it is near enough to be a slip of the keyboard.
std::optional<std::string> near_miss(std::string_view word, const std::vector<std::string_view>& candidates);

}  // namespace wheeltapper::input
