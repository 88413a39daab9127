#include "engine/job/person.hpp"

#include <algorithm>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/string_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <stdexcept>

namespace wheeltapper::job {
namespace {

using nlohmann::json;

constexpr std::size_t kMostWords = 20;

bool in_a_word(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte >= 0x80 || (byte >= '0' && byte <= '9') || ((byte | 0x20U) >= 'a' && (byte | 0x20U) <= 'z');
}

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + ('a' - 'A')) : c; }

std::vector<std::string> words_in(std::string_view text) {
  std::vector<std::string> words;
  bool inside = false;
  for (const char c : text) {
    if (in_a_word(c)) {
      if (!inside) words.emplace_back();
      words.back().push_back(lower(c));
    }
    inside = in_a_word(c);
  }
  return words;
}

std::string print_of(const std::vector<std::string>& words, std::size_t from, std::size_t count,
                     const std::string& salt) {
  std::string text;
  for (std::size_t i = from; i < from + count; ++i) text += words[i] + " ";
  return boost::uuids::to_string(boost::uuids::name_generator_sha1(boost::uuids::string_generator()(salt))(text));
}

bool stands_in(const json& value, const Person& person) {
  if (value.is_string()) return person.in(value.get_ref<const std::string&>());
  return value.is_structured() && std::ranges::any_of(value, [&](const json& each) { return stands_in(each, person); });
}

json scrubbed(const json& value, const Person& person, bool all) {
  if (value.is_string()) {
    const bool out = all || person.in(value.get_ref<const std::string&>());
    return out ? json(kTakenOut) : value;
  }
  json result = value;
  if (result.is_structured())
    for (auto& each : result) each = scrubbed(each, person, all);
  return result;
}

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
  if (event.kind == EventKind::redacted || !stands_in(event.body, person)) return event;
  Event clean = event;
  clean.body = scrubbed(event.body, person, event.kind == EventKind::owner);
  clean.scrubbed = true;
  return clean;
}

}  // namespace wheeltapper::job
