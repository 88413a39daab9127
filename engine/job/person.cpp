#include "engine/job/person.hpp"

#include <algorithm>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/string_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <cstdint>
#include <iterator>
#include <stdexcept>
#include <utility>

namespace wheeltapper::job {
namespace {

using nlohmann::json;

constexpr std::size_t kMostWords = 20;
const std::string kNoSalt = "00000000-0000-0000-0000-000000000000";

/// The code point that starts at `at`, and its length in bytes. Text is UTF-8 (events are checked when they are read).
std::pair<std::uint32_t, std::size_t> code_point(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(text[i])); };
  const std::uint32_t first = byte(at);
  const std::size_t length = first < 0x80 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
  if (length == 1 || at + length > text.size()) return {first, 1};
  std::uint32_t value = first & (0x7FU >> length);
  for (std::size_t i = 1; i < length; ++i) value = (value << 6U) | (byte(at + i) & 0x3FU);
  return {value, length};
}

/// Letters and digits; of what is not ASCII all but the signs, spaces, dashes and quotes of Latin and general
/// punctuation.
bool in_a_word(std::uint32_t c) {
  if (c < 0x80) return (c >= '0' && c <= '9') || ((c | 0x20U) >= 'a' && (c | 0x20U) <= 'z');
  return !(c >= 0x80 && c <= 0xBF) && c != 0xD7 && c != 0xF7 && !(c >= 0x2000 && c <= 0x206F) &&
         !(c >= 0x3000 && c <= 0x303F) && c != 0xFEFF;
}

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + ('a' - 'A')) : c; }

std::vector<std::string> words_in(std::string_view text) {
  std::vector<std::string> words;
  bool inside = false;
  for (std::size_t at = 0; at < text.size();) {
    const auto [value, length] = code_point(text, at);
    const bool letter = in_a_word(value);
    if (letter && !inside) words.emplace_back();
    if (letter)
      for (const char c : text.substr(at, length)) words.back().push_back(lower(c));
    inside = letter;
    at += length;
  }
  return words;
}

std::string print_of(const std::vector<std::string>& words, std::size_t from, std::size_t count,
                     const std::string& salt) {
  std::string text;
  for (std::size_t i = from; i < from + count; ++i) text += words[i] + " ";
  return boost::uuids::to_string(boost::uuids::name_generator_sha1(boost::uuids::string_generator()(salt))(text));
}

/// Kinds whose bodies hold words of a person; the others hold ids and numbers.
bool has_free_text(EventKind kind) {
  return kind == EventKind::opened || kind == EventKind::told || kind == EventKind::owner || kind == EventKind::run ||
         kind == EventKind::note || kind == EventKind::reading;
}

/// Members that hold ids, words of a list or figures: a name that happens to be one of them stays.
bool is_structure(std::string_view key) {
  constexpr std::string_view kKeys[] = {"family",   "quantity", "run",      "direction", "kind",
                                        "observer", "repair",   "by",       "at-most",   "at-least",
                                        "value",    "time",     "unit",     "loop",      "insulation",
                                        "length",   "radius",   "diameter", "gauge",     "text-rows"};
  return std::ranges::find(kKeys, key) != std::end(kKeys);
}

/// Takes a person out of a value. A locomotive that is called after them gets a name of its own, so that two do not
/// become one.
class Scrub {
 public:
  Scrub(const Person& person, bool all) : person_(person), all_(all) {}

  json of(const json& value, std::string_view key = {}, std::string_view parent = {}) const {
    if (value.is_string()) return of_text(value, key, parent);
    if (value.is_array()) {
      json result = json::array();
      for (const auto& each : value) result.push_back(of(each, key, parent));
      return result;
    }
    if (!value.is_object()) return value;
    json result = json::object();
    for (const auto& [name, each] : value.items())
      result[person_.in(name) ? std::string(kTakenOut) : name] = of(each, name, key);
    return result;
  }

 private:
  json of_text(const json& value, std::string_view key, std::string_view parent) const {
    const auto& text = value.get_ref<const std::string&>();
    const bool series = key == "text" && parent == "series";
    if (is_structure(key) || series || (!all_ && !person_.in(text))) return value;
    if (parent != "locomotive" || key != "name") return kTakenOut;
    // By no salt: whoever is taken out of it, and in whatever order, the locomotive gets the same name.
    return std::string(kTakenOut) + " " + print_of({text}, 0, 1, kNoSalt).substr(0, 8);
  }

  const Person& person_;
  bool all_;
};

}  // namespace

Person::Person(std::string_view name, const std::string& salt) : salt_(salt) {
  const auto words = words_in(name);
  if (words.empty() || words.size() > kMostWords) throw std::invalid_argument("a name has from 1 to 20 words");
  words_ = words.size();
  print_ = print_of(words, 0, words_, salt_);
}

std::optional<Person> Person::of(const Event& redacted) {
  const json& body = redacted.body;
  const auto text = [&](const char* key) {
    return body.contains(key) && body[key].is_string() ? body[key].get<std::string>() : std::string();
  };
  Person person;
  person.salt_ = text("salt");
  person.print_ = text("print");
  if (redacted.kind != EventKind::redacted || !is_uuid(person.salt_) || !is_uuid(person.print_)) return std::nullopt;
  if (!body.contains("words") || !body["words"].is_number_unsigned()) return std::nullopt;
  person.words_ = body["words"].get<std::size_t>();
  if (person.words_ < 1 || person.words_ > kMostWords) return std::nullopt;
  return person;
}

json Person::body() const { return {{"salt", salt_}, {"words", words_}, {"print", print_}}; }

bool Person::in(std::string_view text) const {
  const auto words = words_in(text);
  for (std::size_t from = 0; from + words_ <= words.size(); ++from)
    if (print_of(words, from, words_, salt_) == print_) return true;
  return false;
}

Event without(const Event& event, const Person& person) {
  Event clean = event;
  if (has_free_text(event.kind)) {
    clean.body = Scrub(person, false).of(event.body);
    if (event.kind == EventKind::owner && clean.body != event.body) clean.body = Scrub(person, true).of(event.body);
  }
  if (person.in(event.bench)) clean.bench = kTakenOut;
  clean.scrubbed = event.scrubbed || clean.body != event.body || clean.bench != event.bench;
  return clean;
}

}  // namespace wheeltapper::job
