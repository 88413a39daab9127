#include "engine/input/json_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <sstream>

#include "engine/input/words.hpp"

namespace wheeltapper::input {
namespace {

using nlohmann::json;

constexpr std::size_t kShownText = 40;

/// `key` as a step of a JSON Pointer, after `before`.
std::string escaped(std::string_view before, std::string_view key) {
  std::string out(before);
  for (const char c : key) {
    if (c == '~')
      out += "~0";
    else if (c == '/')
      out += "~1";
    else
      out += c;
  }
  return out;
}

[[noreturn]] void refuse(const std::string& file, std::string pointer, std::string wrong, std::string allowed = {}) {
  throw BadInput({Problem{file, std::move(pointer), std::move(wrong), std::move(allowed)}});
}

/// "line 3, column 7" of a byte offset.
std::string line_and_column(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte, text.size()));
  const auto line = std::ranges::count(before, '\n') + 1;
  const auto start = before.rfind('\n');
  const std::size_t column = before.size() - (start == std::string_view::npos ? 0 : start + 1);
  return fmt::format("line {}, column {}", line, std::max<std::size_t>(column, 1));
}

/// What the library's message comes to, for a person.
std::string parse_trouble(std::string_view text, const json::parse_error& error) {
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) return "is empty";
  const std::string at = line_and_column(text, error.byte);
  const std::string_view message = error.what();
  if (message.find("unexpected end of input") != std::string_view::npos || error.byte > text.size())
    return fmt::format("ends too early, at {}: something that was opened is not closed", at);
  const std::string_view before = text.substr(0, std::min(error.byte > 0 ? error.byte - 1 : 0, text.size()));
  const auto last = before.find_last_not_of(" \t\r\n");
  const char here = error.byte > 0 && error.byte <= text.size() ? text[error.byte - 1] : ' ';
  if (last != std::string_view::npos && before[last] == ',' && (here == '}' || here == ']'))
    return fmt::format("has a comma before the closing {} at {}", here, at);
  if (message.find("expected '}'") != std::string_view::npos || message.find("expected ']'") != std::string_view::npos)
    return fmt::format("lacks a comma or a closing bracket before {}", at);
  return fmt::format("is not JSON at {}", at);
}

/// Finds keys that stand twice in one object and nesting that is too deep, while the library parses.
class Watch {
 public:
  explicit Watch(const std::string& file) : file_(file) {}

  bool operator()(int depth, json::parse_event_t event, json& parsed) {
    if (depth > InputLimits::kDepth)
      refuse(file_, {}, "is nested deeper than " + std::to_string(InputLimits::kDepth) + " levels");
    const auto level = static_cast<std::size_t>(depth);
    if (keys_.size() <= level + 1) keys_.resize(level + 2);
    if (event == json::parse_event_t::object_start) {
      keys_[level + 1] = {};
    } else if (event == json::parse_event_t::key) {
      Keys& at = keys_[level];
      at.now = parsed.get_ref<const std::string&>();
      if (!at.seen.insert(at.now).second) refuse(file_, pointer_to(level), "the key is used twice in one object");
    }
    return true;
  }

 private:
  struct Keys {
    std::set<std::string> seen;
    std::string now;
  };
  /// The keys down to a level; places in lists are not counted.
  std::string pointer_to(std::size_t level) const {
    std::string pointer;
    for (std::size_t at = 1; at <= level; ++at)
      if (!keys_[at].now.empty()) pointer += escaped("/", keys_[at].now);
    return pointer;
  }

  const std::string& file_;
  std::vector<Keys> keys_ = std::vector<Keys>(2);
};

std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t above = row[j];
      row[j] = std::min({above + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0 : 1)});
      diagonal = above;
    }
  }
  return row[b.size()];
}

}  // namespace

json parse_json(std::string_view text, const std::string& file) {
  if (text.size() > InputLimits::kBytes)
    refuse(file, {}, fmt::format("is {} bytes long", text.size()), fmt::format("at most {}", InputLimits::kBytes));
  if (!is_utf8(text)) refuse(file, {}, "is not UTF-8 text", "UTF-8");
  try {
    Watch watch(file);
    return json::parse(text, std::ref(watch));
  } catch (const json::parse_error& error) {
    refuse(file, {}, parse_trouble(text, error), "JSON as of RFC 8259");
  } catch (const json::exception&) {  // a number beyond a double is out_of_range, not a parse_error
    refuse(file, {}, "holds a number that is too large", "numbers up to 1.8e308");
  }
}

std::string Reader::Range::text() const {
  const bool has_low = std::isfinite(low);
  const bool has_high = std::isfinite(high);
  if (!has_low && !has_high) return "a number";
  if (!has_high) return fmt::format("a number {} {}", low_open ? "above" : "of at least", low);
  if (!has_low) return fmt::format("a number {} {}", high_open ? "below" : "of at most", high);
  return fmt::format("a number {} {}, {} {}", low_open ? "above" : "of at least", low, high_open ? "below" : "at most",
                     high);
}

bool Reader::Range::contains(double value) const noexcept {
  return std::isfinite(value) && (low_open ? value > low : value >= low) && (high_open ? value < high : value <= high);
}

void Reader::problem(std::string wrong, std::string allowed) const {
  problems_->push_back({*file_, place_, std::move(wrong), std::move(allowed)});
}

std::string Reader::what_stands() const {
  switch (value_->type()) {
    case json::value_t::object:
      return "is an object";
    case json::value_t::array:
      return fmt::format("is a list of {}", value_->size());
    case json::value_t::string: {
      const auto& text = value_->get_ref<const std::string&>();
      if (text.size() <= kShownText) return "is \"" + text + "\"";
      return fmt::format("is a text of {} characters", text.size());
    }
    default:
      return "is " + value_->dump();
  }
}

bool Reader::is_object(std::string_view allowed) const {
  if (value_->is_object()) return true;
  problem(what_stands(), std::string(allowed));
  return false;
}

void Reader::only(const std::vector<std::string_view>& known) const {
  if (!value_->is_object()) return;
  for (const auto& [key, unused] : value_->items()) {
    if (std::ranges::find(known, std::string_view(key)) != known.end()) continue;
    const auto nearest = near_miss(key, known);
    std::string list;
    for (const auto each : known) join_to(list, each);
    at(*value_, key).problem("is not a key known here", nearest ? "did you mean \"" + *nearest + "\"?" : list);
  }
}

Reader Reader::at(const json& value, std::string_view key) const {
  Reader child(*this);
  child.value_ = &value;
  child.place_ += escaped("/", key);
  return child;
}

bool Reader::has(std::string_view key) const { return value_->is_object() && value_->contains(key); }

std::optional<Reader> Reader::member(std::string_view key, bool required) const {
  if (!value_->is_object()) return std::nullopt;
  const auto found = value_->find(key);
  if (found != value_->end()) return at(*found, key);
  if (required) at(*value_, key).problem("is missing");
  return std::nullopt;
}

std::vector<Reader> Reader::items(std::size_t least, std::size_t most) const {
  if (!value_->is_array() || value_->size() < least || value_->size() > most) {
    problem(what_stands(),
            least > 0 ? fmt::format("a list of {} to {}", least, most) : fmt::format("a list of at most {}", most));
    return {};
  }
  std::vector<Reader> all;
  for (std::size_t i = 0; i < value_->size(); ++i) all.push_back(at((*value_)[i], std::to_string(i)));
  return all;
}

std::vector<std::pair<std::string, Reader>> Reader::entries() const {
  std::vector<std::pair<std::string, Reader>> all;
  if (!is_object()) return all;
  for (const auto& [key, child] : value_->items()) all.emplace_back(key, at(child, key));
  return all;
}

std::vector<Reader> Reader::elements(std::string_view key, std::size_t least, std::size_t most, bool required) const {
  const auto found = member(key, required);
  return found ? found->items(least, most) : std::vector<Reader>();
}

std::vector<std::pair<std::string, Reader>> Reader::members(std::string_view key, bool required) const {
  const auto found = member(key, required);
  return found ? found->entries() : std::vector<std::pair<std::string, Reader>>();
}

std::optional<std::string> Reader::text(const Text& allowed) const {
  const auto words = fmt::format("text of 1 to {} characters on one line", allowed.longest);
  if (!value_->is_string()) {
    problem(what_stands(), words);
    return std::nullopt;
  }
  const auto& found = value_->get_ref<const std::string&>();
  // Counted in characters, as a schema's maxLength does, not in bytes.
  const auto length = static_cast<std::size_t>(
      std::ranges::count_if(found, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
  if (length == 0 || length > allowed.longest) {
    problem(what_stands(), words);
    return std::nullopt;
  }
  if (std::ranges::any_of(found, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; })) {
    problem("has control characters in it", words);
    return std::nullopt;
  }
  return found;
}

std::optional<std::string> Reader::id() const {
  if (value_->is_string() && is_id(value_->get_ref<const std::string&>())) return value_->get<std::string>();
  problem(what_stands(), "lower-case letters and digits joined by hyphens");
  return std::nullopt;
}

std::optional<double> Reader::number(const Range& allowed) const {
  if (value_->is_number() && allowed.contains(value_->get<double>())) return value_->get<double>();
  problem(what_stands(), allowed.text());
  return std::nullopt;
}

std::optional<bool> Reader::boolean() const {
  if (value_->is_boolean()) return value_->get<bool>();
  problem(what_stands(), "true or false");
  return std::nullopt;
}

std::optional<std::string> Reader::word(std::span<const std::string_view> words) const {
  if (value_->is_string() && std::ranges::find(words, value_->get_ref<const std::string&>()) != words.end())
    return value_->get<std::string>();
  std::string list;
  for (const auto each : words) join_to(list, each);
  problem(what_stands(), list);
  return std::nullopt;
}

std::optional<std::string> Reader::text(std::string_view key, const Text& allowed, bool required) const {
  const auto found = member(key, required);
  return found ? found->text(allowed) : std::nullopt;
}
std::optional<std::string> Reader::id(std::string_view key, bool required) const {
  const auto found = member(key, required);
  return found ? found->id() : std::nullopt;
}
std::optional<double> Reader::number(std::string_view key, const Range& allowed, bool required) const {
  const auto found = member(key, required);
  return found ? found->number(allowed) : std::nullopt;
}
std::optional<std::string> Reader::word(std::string_view key, std::span<const std::string_view> words,
                                        bool required) const {
  const auto found = member(key, required);
  return found ? found->word(words) : std::nullopt;
}

std::vector<std::string> Reader::ids(std::string_view key, std::size_t least, bool required) const {
  std::vector<std::string> all;
  for (const Reader& each : elements(key, least, 1000, required)) {
    auto found = each.id();
    if (!found) continue;
    if (std::ranges::find(all, *found) != all.end())
      each.problem("is used twice in the list");
    else
      all.push_back(std::move(*found));
  }
  return all;
}

bool is_id(std::string_view text) noexcept {
  if (text.empty() || text.size() > 64 || text.front() == '-' || text.back() == '-') return false;
  char before = ' ';
  for (const char c : text) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (!letter && (c != '-' || before == '-')) return false;
    before = c;
  }
  return true;
}

std::optional<std::string> near_miss(std::string_view word, const std::vector<std::string_view>& candidates) {
  constexpr std::size_t kLongest = 64;
  constexpr std::size_t kShortestPart = 4;
  if (word.empty() || word.size() > kLongest) return std::nullopt;
  std::optional<std::string> best;
  // The shortest that begins with the word, else that has it in it: somebody typed half of it.
  if (word.size() >= kShortestPart)
    for (const bool begins : {true, false}) {
      for (const auto candidate : candidates) {
        const bool fits = begins ? candidate.starts_with(word) : candidate.find(word) != std::string_view::npos;
        if (fits && candidate != word && (!best || candidate.size() < best->size())) best = std::string(candidate);
      }
      if (best) return best;
    }
  std::size_t least = std::max<std::size_t>(2, word.size() / 3) + 1;
  for (const auto candidate : candidates) {
    const std::size_t distance = edit_distance(word, candidate);
    if (distance < least && distance < candidate.size()) {
      least = distance;
      best = std::string(candidate);
    }
  }
  return best;
}

}  // namespace wheeltapper::input
