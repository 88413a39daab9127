#include "engine/job/person.hpp"

#include <utf8proc.h>

#include <algorithm>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/string_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <cstdint>
#include <cstdlib>
#include <iterator>
#include <stdexcept>
#include <utility>

#include "engine/input/input_error.hpp"

namespace wheeltapper::job {
namespace {

using nlohmann::json;

constexpr std::size_t kMostWords = 20;
constexpr std::string_view kFold = "nfkc-casefold";

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

/// As fingerprints of older logs were made.
std::vector<std::string> words_by_ascii(std::string_view text) {
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

/// NFKC_Casefold; the text as it is where memory or UTF-8 fails.
std::string folded(std::string_view text) {
  utf8proc_uint8_t* made = nullptr;
  const auto options = static_cast<utf8proc_option_t>(UTF8PROC_STABLE | UTF8PROC_COMPOSE | UTF8PROC_COMPAT |
                                                      UTF8PROC_CASEFOLD | UTF8PROC_IGNORE);
  const std::string own(text);
  const auto length = utf8proc_map(reinterpret_cast<const utf8proc_uint8_t*>(own.data()),
                                   static_cast<utf8proc_ssize_t>(own.size()), &made, options);
  if (length < 0) return own;
  std::string result(reinterpret_cast<const char*>(made), static_cast<std::size_t>(length));
  std::free(made);
  return result;
}

bool is_letter_or_digit(std::uint32_t c) {
  switch (utf8proc_category(static_cast<utf8proc_int32_t>(c))) {
    case UTF8PROC_CATEGORY_LU:
    case UTF8PROC_CATEGORY_LL:
    case UTF8PROC_CATEGORY_LT:
    case UTF8PROC_CATEGORY_LM:
    case UTF8PROC_CATEGORY_LO:
    case UTF8PROC_CATEGORY_MN:
    case UTF8PROC_CATEGORY_MC:
    case UTF8PROC_CATEGORY_ME:
    case UTF8PROC_CATEGORY_ND:
    case UTF8PROC_CATEGORY_NL:
    case UTF8PROC_CATEGORY_NO:
      return true;
    default:
      return false;
  }
}

std::vector<std::string> words_in(std::string_view given, bool fold) {
  if (!fold) return words_by_ascii(given);
  const std::string text = folded(given);
  std::vector<std::string> words;
  bool inside = false;
  for (std::size_t at = 0; at < text.size();) {
    const auto [value, length] = code_point(text, at);
    const bool letter = is_letter_or_digit(value);
    if (letter && !inside) words.emplace_back();
    if (letter) words.back() += text.substr(at, length);
    inside = letter;
    at += length;
  }
  return words;
}

/// Words that stand in nearly every entry: taken out as if they were a name, they would empty a log.
constexpr std::string_view kCommonWords[] = {
    "a",       "about",   "after",  "again",      "all",    "also",       "am",    "amp",     "amps",    "an",
    "and",     "any",     "are",    "as",         "at",     "back",       "bad",   "be",      "bearing", "bearings",
    "been",    "before",  "body",   "both",       "brush",  "brushes",    "but",   "by",      "can",     "car",
    "cars",    "check",   "clean",  "cold",       "come",   "commutator", "day",   "did",     "do",      "does",
    "done",    "down",    "dry",    "each",       "engine", "even",       "field", "first",   "for",     "forward",
    "from",    "gear",    "gears",  "get",        "give",   "go",         "goes",  "good",    "had",     "has",
    "have",    "he",      "her",    "him",        "his",    "hot",        "how",   "i",       "if",      "in",
    "into",    "is",      "it",     "its",        "job",    "just",       "know",  "lamp",    "lap",     "laps",
    "left",    "like",    "limit",  "locomotive", "loop",   "make",       "me",    "meter",   "min",     "minute",
    "minutes", "more",    "most",   "motor",      "much",   "my",         "name",  "new",     "no",      "noise",
    "none",    "not",     "note",   "now",        "of",     "off",        "oil",   "oiled",   "old",     "on",
    "one",     "only",    "or",     "other",      "our",    "out",        "over",  "owner",   "part",    "parts",
    "power",   "reading", "repair", "reverse",    "right",  "rod",        "run",   "running", "runs",    "said",
    "say",     "says",    "see",    "seen",       "she",    "slow",       "so",    "some",    "stop",    "supply",
    "take",    "tender",  "test",   "than",       "that",   "the",        "their", "them",    "then",    "there",
    "they",    "this",    "three",  "time",       "to",     "track",      "train", "two",     "up",      "us",
    "use",     "very",    "volt",   "volts",      "was",    "way",        "we",    "well",    "were",    "what",
    "wheel",   "wheels",  "when",   "which",      "who",    "wire",       "with",  "work",    "works",   "year",
    "yes",     "you",     "your"};

std::string print_of(const std::vector<std::string>& words, std::size_t from, std::size_t count,
                     const std::string& salt) {
  std::string text;
  for (std::size_t i = from; i < from + count; ++i) text += words[i] + " ";
  return boost::uuids::to_string(boost::uuids::name_generator_sha1(boost::uuids::string_generator()(salt))(text));
}

/// Kinds whose bodies hold words of a person; the others hold ids and numbers.
bool has_free_text(EventKind kind) {
  return kind == EventKind::opened || kind == EventKind::told || kind == EventKind::owner || kind == EventKind::run ||
         kind == EventKind::note || kind == EventKind::reading || kind == EventKind::marked;
}

/// Members that hold ids, words of a list or figures: a name that happens to be one of them stays.
bool is_structure(std::string_view key) {
  constexpr std::string_view kKeys[] = {"family",   "quantity", "run",        "direction", "kind",   "observer",
                                        "repair",   "by",       "at-most",    "at-least",  "value",  "time",
                                        "unit",     "loop",     "insulation", "key",       "length", "radius",
                                        "diameter", "gauge",    "text-rows"};
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
    if (key == "text" && parent == "series") return of_series(text);
    if (is_structure(key) || (!all_ && !person_.in(text))) return value;
    if (parent != "locomotive" || key != "name") return kTakenOut;
    return person_.stand_in(text);  // so that two locomotives do not become one
  }

  /// Rows of figures stay; a comment goes whole, of a row what holds the name.
  std::string of_series(const std::string& text) const {
    if (!person_.in(text)) return text;
    std::string clean;
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = std::min(text.find('\n', at), text.size());
      const std::string line = text.substr(at, end - at);
      clean += person_.in(line) ? of_row(line) : line;
      if (end < text.size()) clean += '\n';
      at = end + 1;
    }
    return person_.in(clean) ? std::string(kTakenOut) : clean;  // the name runs over several lines
  }

  std::string of_row(const std::string& line) const {
    if (line.starts_with('#')) return "# " + std::string(kTakenOut);
    std::string row;
    for (std::size_t at = 0; at <= line.size();) {
      const std::size_t end = std::min(line.find_first_of(",;\t", at), line.size());
      const std::string field = line.substr(at, end - at);
      row += person_.in(field) ? std::string(kTakenOut) : field;
      if (end < line.size()) row += line[end];
      at = end + 1;
    }
    return person_.in(row) ? "# " + std::string(kTakenOut) : row;
  }

  const Person& person_;
  bool all_;
};

}  // namespace

Person::Person(std::string_view name, const std::string& salt) : salt_(salt) {
  const auto words = words_in(name, folded_);
  if (words.empty() || words.size() > kMostWords) throw input::InputError("a name has from 1 to 20 words");
  words_ = words.size();
  print_ = print_of(words, 0, words_, salt_);
  if (is_common_word())
    throw input::InputError("that word stands everywhere and is no person's name; give the name in full");
}

std::optional<Person> Person::of(const Event& redacted) {
  const json& body = redacted.body;
  const auto text = [&](const char* key) {
    return body.contains(key) && body[key].is_string() ? body[key].get<std::string>() : std::string();
  };
  Person person;
  person.salt_ = text("salt");
  person.print_ = text("print");
  person.folded_ = text("fold") == kFold;
  if (redacted.kind != EventKind::redacted || !is_uuid(person.salt_) || !is_uuid(person.print_)) return std::nullopt;
  if (!body.contains("words") || !body["words"].is_number_unsigned()) return std::nullopt;
  person.words_ = body["words"].get<std::size_t>();
  if (person.words_ < 1 || person.words_ > kMostWords) return std::nullopt;
  return person;
}

json Person::body() const {
  json body{{"salt", salt_}, {"words", words_}, {"print", print_}};
  if (folded_) body["fold"] = kFold;
  return body;
}

bool Person::in(std::string_view text) const {
  const auto words = words_in(text, folded_);
  for (std::size_t from = 0; from + words_ <= words.size(); ++from)
    if (print_of(words, from, words_, salt_) == print_) return true;
  return false;
}

bool Person::is_common_word() const {
  return words_ == 1 && std::ranges::any_of(kCommonWords, [&](std::string_view word) {
           return print_of({std::string(word)}, 0, 1, salt_) == print_;
         });
}

std::string Person::stand_in(const std::string& text) const {
  return std::string(kTakenOut) + " " + print_of({text}, 0, 1, salt_).substr(0, 8);
}

Event without(const Event& event, const Person& person) {
  Event clean = event;
  if (has_free_text(event.kind)) {
    clean.body = Scrub(person, false).of(event.body);
    if (event.kind == EventKind::owner && clean.body != event.body) clean.body = Scrub(person, true).of(event.body);
  }
  if (person.in(event.writer)) clean.writer = kTakenOut;
  clean.scrubbed = event.scrubbed || clean.body != event.body || clean.writer != event.writer;
  return clean;
}

}  // namespace wheeltapper::job
