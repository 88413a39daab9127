#include "engine/job/event.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <chrono>
#include <stdexcept>

#include "engine/input/input_error.hpp"
#include "engine/input/json_reader.hpp"
#include "engine/input/problem.hpp"
#include "engine/job/job.hpp"

namespace wheeltapper::job {
namespace {

using nlohmann::json;

constexpr std::array<std::string_view, kEventKinds.size()> kNames{
    "opened",   "told",     "owner",  "run",  "reading", "answers",  "known",  "checked",
    "repaired", "retested", "marked", "note", "closed",  "reopened", "undone", "redacted"};

constexpr std::size_t kMostSeen = 100'000;

bool matches(std::string_view text, std::string_view form) {
  // In the form, 0 stands for a digit, x for a hexadecimal one; all else for itself.
  return text.size() == form.size() && std::equal(text.begin(), text.end(), form.begin(), [](char c, char f) {
           if (f == '0') return c >= '0' && c <= '9';
           if (f == 'x') return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
           return c == f;
         });
}

unsigned digits(std::string_view text, std::size_t at, std::size_t count) {
  unsigned value = 0;
  for (const char c : text.substr(at, count)) value = value * 10 + static_cast<unsigned>(c - '0');
  return value;
}

std::chrono::year_month_day date_of(std::string_view at) {
  return {std::chrono::year(static_cast<int>(digits(at, 0, 4))), std::chrono::month(digits(at, 5, 2)),
          std::chrono::day(digits(at, 8, 2))};
}

std::chrono::sys_time<std::chrono::milliseconds> time_of(std::string_view at) {
  using namespace std::chrono;
  const sys_days day = date_of(at);
  return day + hours(digits(at, 11, 2)) + minutes(digits(at, 14, 2)) + seconds(digits(at, 17, 2)) +
         milliseconds(digits(at, 20, 3));
}

std::string text_at(const json& value, const char* key) {
  const auto found = value.find(key);
  if (found == value.end() || !found->is_string()) throw input::InputError(std::string("has no text \"") + key + "\"");
  return found->get<std::string>();
}

}  // namespace

std::string_view name(EventKind kind) { return kNames[static_cast<std::size_t>(kind)]; }

std::optional<EventKind> event_kind(std::string_view text) {
  const auto found = std::ranges::find(kNames, text);
  if (found == kNames.end()) return std::nullopt;
  return kEventKinds[static_cast<std::size_t>(found - kNames.begin())];
}

std::string to_line(const Event& event) {
  json line{{"id", event.id},        {"job", event.job},         {"number", event.number}, {"at", event.at},
            {"bench", event.writer}, {"kind", name(event.kind)}, {"body", event.body}};
  if (event.scrubbed) line["scrubbed"] = true;
  if (event.seen) line["seen"] = to_json(*event.seen);
  return line.dump();
}

std::string form_of(const Event& event) {
  return boost::uuids::to_string(boost::uuids::name_generator_sha1(boost::uuids::uuid{})(to_line(event)));
}

json to_json(const Seen& seen) {
  json value{{"after", seen.after}};
  if (!seen.with.empty()) value["with"] = seen.with;
  if (!seen.forms.empty()) value["forms"] = seen.forms;
  if (!seen.knows.empty()) value["knows"] = seen.knows;
  return value;
}

Seen seen_from(const json& value) {
  if (!value.is_object()) throw input::InputError("has a \"seen\" that is no object");
  Seen seen;
  const auto ids = [&](const json& list) {
    if (!list.is_array() || list.size() > kMostSeen)
      throw input::InputError(fmt::format("has a \"seen\" with no list of at most {} ids", kMostSeen));
    std::vector<std::string> all;
    for (const json& each : list) {
      if (!each.is_string() || !is_uuid(each.get_ref<const std::string&>()))
        throw input::InputError("has a \"seen\" with what is no UUID");
      all.push_back(each.get<std::string>());
    }
    return all;
  };
  for (const auto& [key, each] : value.items()) {
    if (key == "after")
      seen.after = ids(each);
    else if (key == "forms")
      seen.forms = ids(each);
    else if (key == "knows")
      seen.knows = ids(each);
    else if (key == "with")
      seen.with = ids(json::array({each})).front();
    else
      throw input::InputError("has a \"seen\" with the unknown key \"" + key + "\"");
  }
  return seen;
}

Event from_line(std::string_view line) {
  json value;
  try {
    value = input::parse_json(line, "event");
  } catch (const input::BadInput& wrong) {
    throw input::InputError("is no JSON: " + wrong.problems().front().wrong);
  }
  if (!value.is_object()) throw input::InputError("is no object");
  for (const auto& [key, each] : value.items())
    if (key != "id" && key != "job" && key != "number" && key != "at" && key != "bench" && key != "kind" &&
        key != "body" && key != "scrubbed" && key != "seen")
      throw input::InputError("has the unknown key \"" + key + "\"");
  Event event;
  event.id = text_at(value, "id");
  event.job = text_at(value, "job");
  if (!is_uuid(event.id) || !is_uuid(event.job)) throw input::InputError("has an id or job that is no UUID");
  event.at = text_at(value, "at");
  if (!is_time(event.at)) throw input::InputError("has a time that is not like 2026-11-28T15:01:09.123Z");
  event.writer = text_at(value, "bench");
  if (event.writer.empty() || event.writer.size() > 100)
    throw input::InputError("has a bench of no or more than 100 letters");
  const auto kind = event_kind(text_at(value, "kind"));
  if (!kind) throw input::InputError("is of the unknown kind \"" + text_at(value, "kind") + "\"");
  event.kind = *kind;
  const auto number = value.find("number");
  if (number == value.end() || !number->is_number_integer() || *number < 1 || *number > 1'000'000)
    throw input::InputError("has no number from 1 to 1000000");
  event.number = number->get<std::int64_t>();
  const auto body = value.find("body");
  if (body == value.end() || !body->is_object()) throw input::InputError("has no body");
  event.body = *body;
  const auto scrubbed = value.find("scrubbed");
  if (scrubbed != value.end()) {
    if (!scrubbed->is_boolean() || !scrubbed->get<bool>())
      throw input::InputError("has a \"scrubbed\" that is not true");
    event.scrubbed = true;
  }
  if (const auto seen = value.find("seen"); seen != value.end()) event.seen = seen_from(*seen);
  try {
    fold({event});  // its body must be as its kind wants it
  } catch (const input::BadInput& wrong) {
    throw UnfitBody(wrong.problems().front().wrong);
  }
  return event;
}

bool is_uuid(std::string_view text) { return matches(text, "xxxxxxxx-xxxx-xxxx-xxxx-xxxxxxxxxxxx"); }

bool is_time(std::string_view text) {
  if (!matches(text, "0000-00-00T00:00:00.000Z")) return false;
  const std::chrono::year_month_day day = date_of(text);
  return day.ok() && digits(text, 11, 2) < 24 && digits(text, 14, 2) < 60 && digits(text, 17, 2) < 60;
}

double days_between(std::string_view from, std::string_view to) {
  using Days = std::chrono::duration<double, std::ratio<86400>>;
  return Days(time_of(to) - time_of(from)).count();
}

}  // namespace wheeltapper::job
