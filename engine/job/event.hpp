#pragma once
#include <array>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>

namespace wheeltapper::job {

/// What happened. A job is a list of these; its state is their fold (job.hpp).
enum class EventKind {
  opened,    ///< body: the head of a case file (title, locomotive, limits, ...)
  told,      ///< body: changes to that head, as a JSON merge patch (RFC 7396)
  owner,     ///< body: {"name": text}. The only place for whose locomotive it is
  run,       ///< body: a run as in a case file
  reading,   ///< body: {"kind", "direction", "quantity", "value"} or {"kind", "direction", "laps", "time"}; with
             ///< "more": true it is a repeat of the one before, with "turn": n of the n-th run of its kind,
             ///< from 0
  answers,   ///< body: {finding: word, ...}, words as in a case file
  known,     ///< body: {context: true or false, ...}
  checked,   ///< body: {"check": id, "results": {result: "seen" or "not seen"}, "minutes": number}
  repaired,  ///< body: {"repair": id, "minutes": number, "by": "owner" or "technician"}
  retested,  ///< body: {"passed": true or false}: how a retest went by eye, where no limits were given
  marked,    ///< body: {"key": text, "word": text}: what was skipped or settled without being evidence
  note,      ///< body: {"text": text}
  closed,    ///< body: {"outcome": word, "causes": [id, ...], "unlisted": true if it was something else}
  reopened,  ///< body: {}
  undone,    ///< body: {"event": uuid}
  redacted,  ///< body: {"salt", "words", "print"}: a person was taken out (person.hpp)
};
inline constexpr std::array kEventKinds{
    EventKind::opened,   EventKind::told,     EventKind::owner,  EventKind::run,
    EventKind::reading,  EventKind::answers,  EventKind::known,  EventKind::checked,
    EventKind::repaired, EventKind::retested, EventKind::marked, EventKind::note,
    EventKind::closed,   EventKind::reopened, EventKind::undone, EventKind::redacted};
std::string_view name(EventKind kind);
std::optional<EventKind> event_kind(std::string_view text);

struct Event {
  std::string id;           ///< UUID (RFC 9562), lower case
  std::string job;          ///< UUID
  std::int64_t number = 0;  ///< place in its job, from 1; two benches that wrote apart may both have used one
  std::string at;           ///< UTC, RFC 3339: "2026-11-28T15:01:09.123Z"
  std::string bench;        ///< who wrote it
  EventKind kind = EventKind::note;
  nlohmann::json body = nlohmann::json::object();
  bool scrubbed = false;  ///< personal data was taken out of the body
  friend bool operator==(const Event&, const Event&) = default;
};

/// One line of JSON without its end, the same for the same event: keys in order, numbers at their shortest.
std::string to_line(const Event& event);

/// The other way. \throws std::invalid_argument  with what is wrong with it, in words
Event from_line(std::string_view line);

/// True for "xxxxxxxx-xxxx-xxxx-xxxx-xxxxxxxxxxxx" in lower-case hexadecimal digits.
bool is_uuid(std::string_view text);
/// True for a UTC time as in Event::at.
bool is_time(std::string_view text);
/// Days from one such time to another, with their fraction.
double days_between(std::string_view from, std::string_view to);

}  // namespace wheeltapper::job
