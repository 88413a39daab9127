#pragma once
#include <array>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/input/input_error.hpp"

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

/// An event that was not written yet.
using Draft = std::pair<EventKind, nlohmann::json>;

/// What whoever wrote an event had before them: only what was seen can be answered. Logs of the first two forms have
/// none of it.
struct Seen {
  std::vector<std::string> after;  ///< ids of the job's last events then, those that no other one stood after
  std::string with;                ///< id of the first event of the same answer; empty in that one itself
  std::vector<std::string> forms;  ///< form_of() of every form of the job's events that had more than one
  std::vector<std::string> knows;  ///< salts of redactions that the log knew, whose person stands in this event again
  friend bool operator==(const Seen&, const Seen&) = default;
};

struct Event {
  std::string id;           ///< UUID (RFC 9562), lower case
  std::string job;          ///< UUID
  std::int64_t number = 0;  ///< place in its job, from 1; two benches that wrote apart may both have used one
  std::string at;           ///< UTC, RFC 3339: "2026-11-28T15:01:09.123Z"
  std::string writer;       ///< the bench that wrote it ("bench" in its line)
  EventKind kind = EventKind::note;
  nlohmann::json body = nlohmann::json::object();
  bool scrubbed = false;  ///< personal data was taken out of the body
  std::optional<Seen> seen = {};
  bool second = false;  ///< a second form of an event that counts in another one; never written into a line
  friend bool operator==(const Event&, const Event&) = default;
};

/// One line of JSON without its end, the same for the same event: keys in order, numbers at their shortest.
std::string to_line(const Event& event);

/// A line that is an event by its form, but whose body is not as its kind wants it.
class UnfitBody : public input::InputError {
 public:
  using InputError::InputError;
};

/// A fingerprint of an event as it stands, with all that its line says: equal forms, equal text.
std::string form_of(const Event& event);

/// What `seen` holds as JSON, and the other way. \throws input::InputError  with what is wrong with it, in words
nlohmann::json to_json(const Seen& seen);
Seen seen_from(const nlohmann::json& value);

/// The other way. \throws input::InputError  with what is wrong with it, in words; UnfitBody if that is its body
Event from_line(std::string_view line);

/// True for "xxxxxxxx-xxxx-xxxx-xxxx-xxxxxxxxxxxx" in lower-case hexadecimal digits.
bool is_uuid(std::string_view text);
/// True for a UTC time as in Event::at.
bool is_time(std::string_view text);
/// Days from one such time to another, with their fraction.
double days_between(std::string_view from, std::string_view to);

}  // namespace wheeltapper::job
