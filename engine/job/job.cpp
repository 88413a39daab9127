#include "engine/job/job.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <stdexcept>

#include "engine/input/input_error.hpp"
#include "engine/input/json_reader.hpp"

namespace wheeltapper::job {
namespace {

using nlohmann::json;

constexpr std::array<std::string_view, kOutcomes.size()> kOutcomeNames{"cured", "not-cured", "no-fault", "referred",
                                                                       "scrapped"};
constexpr std::array<std::string_view, kOutcomes.size()> kOutcomeWords{"cured", "not cured", "no fault found",
                                                                       "referred", "scrapped"};

const json& demand(const json& body, const char* key, bool (json::*is)() const noexcept, std::string_view what) {
  const auto found = body.find(key);
  if (found == body.end() || !((*found).*is)())
    throw input::InputError(fmt::format("has no \"{}\" that is {}", key, what));
  return *found;
}

std::string demand_text(const json& body, const char* key) {
  return demand(body, key, &json::is_string, "text").get<std::string>();
}

std::optional<double> optional_minutes(const json& body) {
  const auto found = body.find("minutes");
  if (found == body.end()) return std::nullopt;
  if (!found->is_number() || !(found->get<double>() >= 0 && found->get<double>() <= 100000))
    throw input::InputError("has \"minutes\" that are no number from 0 to 100000");
  return found->get<double>();
}

bool same_run(const json& run, const json& reading) {
  const auto word = [](const json& value, const char* key, const char* otherwise) {
    return value.contains(key) && value[key].is_string() ? value[key].get<std::string>() : std::string(otherwise);
  };
  return word(run, "kind", "loaded") == word(reading, "kind", "loaded") &&
         word(run, "direction", "any") == word(reading, "direction", "any");
}

/// A repeat stands beside what was read before, else it takes its place.
void put_value(json& place, const json& value, bool more) {
  if (!more || place.is_null()) {
    place = value;
    return;
  }
  json& values = place.is_object() && place.contains("value") ? place["value"] : place;
  if (!values.is_array()) values = json::array({values});
  values.push_back(value);
}

/// The run of this stage that a reading belongs to: of its kind and direction, the first unless it says which; opened
/// if need be.
json& run_of(Job& job, const Event& event) {
  const json& body = event.body;
  const std::size_t turn =
      body.contains("turn") && body["turn"].is_number_unsigned() ? body["turn"].get<std::size_t>() : 0;
  std::size_t passed = 0;
  auto found = std::ranges::find_if(job.runs, [&](const Job::StageRun& each) {
    return each.stage == job.stage() && same_run(each.run, body) && passed++ == turn;
  });
  if (found == job.runs.end()) {
    json opened{{"kind", demand_text(body, "kind")}};
    if (body.contains("direction")) opened["direction"] = body["direction"];
    job.runs.push_back({std::move(opened), job.stage(), event.at});
    found = job.runs.end() - 1;
  }
  return found->run;
}

void add_reading(Job& job, const Event& event) {
  const json& body = event.body;
  json& run = run_of(job, event);
  if (body.contains("cars")) run["cars"] = body["cars"];
  if (body.contains("completed")) run["completed"] = body["completed"];
  const bool more = body.value("more", false);
  if (body.contains("laps")) {
    run["laps"] = body["laps"];
    put_value(run["time"], demand(body, "time", &json::is_string, "text"), more);
    if (run.contains("readings")) run["readings"].erase("lap-rate");
  }
  if (!body.contains("quantity")) return;
  const std::string quantity = demand_text(body, "quantity");
  if (!body.contains("value")) throw input::InputError("has a quantity without a value");
  put_value(run["readings"][quantity], body["value"], more);
  if (quantity == "lap-rate") {
    run.erase("laps");
    run.erase("time");
  }
}

void add_checked(Job& job, const Event& event) {
  Job::Checked done{
      demand_text(event.body, "check"), {}, optional_minutes(event.body), job.stage(), event.at, job.events.size()};
  const json& results = demand(event.body, "results", &json::is_object, "an object");
  for (const auto& [id, word] : results.items()) {
    if (word != "seen" && word != "not seen")
      throw input::InputError(fmt::format("says of \"{}\" neither \"seen\" nor \"not seen\"", id));
    done.seen[id] = word == "seen";
  }
  job.checks.push_back(std::move(done));
}

void add_closed(Job& job, const Event& event) {
  const auto how = outcome(demand_text(event.body, "outcome"));
  if (!how) throw input::InputError("has an unknown outcome");
  Job::Closing closing{*how, {}, event.body.value("unlisted", false), event.at};
  if (event.body.contains("causes"))
    for (const json& cause : demand(event.body, "causes", &json::is_array, "a list")) {
      if (!cause.is_string()) throw input::InputError("has a cause that is no text");
      closing.causes.push_back(cause.get<std::string>());
    }
  job.closing = std::move(closing);
}

void add_answers(Job& job, const json& body) {
  for (const auto& [id, word] : body.items()) {
    if (!word.is_string()) throw input::InputError(fmt::format("answers \"{}\" with no text", id));
    job.answers[id].push_back({word.get<std::string>(), job.stage(), job.events.size()});
  }
}

void add_known(Job& job, const json& body) {
  for (const auto& [id, is_so] : body.items()) {
    if (!is_so.is_boolean()) throw input::InputError(fmt::format("has neither true nor false for \"{}\"", id));
    job.known[id] = is_so.get<bool>();
  }
}

/// One event on top of the job before it. A scrubbed owner event leaves no owner.
void take(Job& job, const Event& event) {
  const json& body = event.body;
  switch (event.kind) {
    case EventKind::opened:
    case EventKind::told:
      job.head.merge_patch(body);
      break;
    case EventKind::owner:
      job.owner = event.scrubbed ? std::string() : demand_text(body, "name");
      break;
    case EventKind::run:
      job.runs.push_back({body, job.stage(), event.at});
      break;
    case EventKind::reading:
      add_reading(job, event);
      break;
    case EventKind::answers:
      add_answers(job, body);
      break;
    case EventKind::known:
      add_known(job, body);
      break;
    case EventKind::checked:
      add_checked(job, event);
      break;
    case EventKind::repaired:
      job.repairs.push_back({demand_text(body, "repair"), optional_minutes(body),
                             body.contains("by") && body["by"] == "owner", event.at, job.events.size()});
      break;
    case EventKind::retested:
      job.retests[job.stage()] = demand(body, "passed", &json::is_boolean, "true or false").get<bool>();
      break;
    case EventKind::marked:
      job.marks[topic_of(demand_text(body, "key"))] = {demand_text(body, "word"), job.stage(), job.events.size()};
      break;
    case EventKind::note:
      job.notes.push_back(demand_text(body, "text"));
      break;
    case EventKind::closed:
      add_closed(job, event);
      break;
    case EventKind::reopened:
      job.closing.reset();
      break;
    case EventKind::undone:
      demand_text(body, "event");
      break;
    case EventKind::redacted:
      break;
  }
}

[[noreturn]] void refuse(const Job& job, const Event& event, std::string_view wrong) {
  throw input::BadInput(
      {{"job " + job.id.substr(0, 8), "",
        fmt::format("its event {} (number {}, \"{}\") {}", event.id, event.number, name(event.kind), wrong), ""}});
}

/// Two events at one place of a job come from logs that were apart: said, as what they do depends on their order.
void note_apart(Job& job) {
  for (std::size_t i = 1; i < job.events.size(); ++i) {
    const Event& one = job.events[i - 1];
    const Event& other = job.events[i];
    if (one.number != other.number) continue;
    job.apart.push_back(fmt::format("Two benches each added entry {}: \"{}\" at {} and \"{}\" at {}.", one.number,
                                    name(one.kind), one.writer, name(other.kind), other.writer));
  }
}

}  // namespace

std::string_view name(Outcome outcome) { return kOutcomeNames[static_cast<std::size_t>(outcome)]; }
std::string_view words(Outcome outcome) { return kOutcomeWords[static_cast<std::size_t>(outcome)]; }

std::optional<Outcome> outcome(std::string_view text) {
  const auto found = std::ranges::find(kOutcomeNames, text);
  if (found == kOutcomeNames.end()) return std::nullopt;
  return kOutcomes[static_cast<std::size_t>(found - kOutcomeNames.begin())];
}

bool Job::has_runs(std::size_t of_stage) const {
  return std::ranges::any_of(runs, [&](const StageRun& each) { return each.stage == of_stage; });
}

const Reported* Job::answer(const std::string& finding, std::size_t in_stage) const {
  const auto found = answers.find(finding);
  if (found == answers.end()) return nullptr;
  const Reported* held = nullptr;
  for (const Reported& reported : found->second)
    if (reported.stage <= in_stage) held = &reported;
  return held;
}

std::string Job::locomotive() const {
  const auto found = head.find("locomotive");
  if (found == head.end() || !found->is_object() || !found->contains("name")) return {};
  return (*found)["name"].is_string() ? (*found)["name"].get<std::string>() : std::string();
}

std::vector<std::string> Job::stale_answers() const {
  std::vector<std::string> stale;
  for (const auto& [finding, words] : answers) {
    const Reported& last = words.back();
    if (last.stage < stage() && last.word != "no" && !cases::is_not_observed(last.word)) stale.push_back(finding);
  }
  return stale;
}

std::vector<bool> counting(const std::vector<Event>& events) {
  std::vector<bool> counts(events.size(), true);
  std::set<std::string> gone;
  for (std::size_t i = events.size(); i-- > 0;) {
    if (events[i].second || gone.contains(events[i].id)) counts[i] = false;
    const json& body = events[i].body;
    const bool takes_back = events[i].kind == EventKind::undone && body.contains("event") && body["event"].is_string();
    if (counts[i] && takes_back) gone.insert(body["event"].get<std::string>());
  }
  return counts;
}

bool before(const Event& a, const Event& b) { return std::tie(a.number, a.id) < std::tie(b.number, b.id); }

Job fold(std::vector<Event> events) {
  Job job;
  for (Event& each : events)
    if (each.second) job.second_forms[each.id].push_back(std::move(each));
  std::erase_if(events, &Event::second);
  std::ranges::sort(events, before);
  if (!events.empty()) job.id = events.front().job;
  job.lineage = Lineage(events);
  const std::vector<bool> counts = counting(events);
  for (std::size_t i = 0; i < events.size(); ++i) {
    if (!counts[i]) {
      job.undone.push_back(std::move(events[i]));
      continue;
    }
    try {
      take(job, events[i]);
    } catch (const json::exception&) {
      refuse(job, events[i], "holds something of the wrong kind");
    } catch (const input::InputError& wrong) {
      refuse(job, events[i], wrong.what());
    }
    job.places.push_back(i);
    job.events.push_back(std::move(events[i]));
  }
  note_apart(job);
  if (job.marks.contains(Topic::Kind::salvaged))
    job.apart.emplace_back(
        "Some entries of this job could not be read when the log was salvaged: ask about hazards anew.");
  return job;
}

std::vector<std::string> last_answer(std::vector<Event> events) {
  std::erase_if(events, &Event::second);
  std::ranges::sort(events, before);
  const auto counts = counting(events);
  std::vector<std::string> ids;
  std::string answer;  // what its events have in common
  const auto answer_of = [](const Event& event) {
    if (!event.seen) return event.at;
    return event.seen->with.empty() ? event.id : event.seen->with;
  };
  for (std::size_t i = events.size(); i-- > 0;) {
    const Event& event = events[i];
    if (!counts[i] || event.kind == EventKind::undone || event.kind == EventKind::redacted) continue;
    if (event.kind == EventKind::opened || (!answer.empty() && answer_of(event) != answer)) break;
    answer = answer_of(event);
    ids.push_back(event.id);
  }
  // What was written with the opening is the job as it came.
  if (!events.empty() && answer == answer_of(events.front())) ids.clear();
  return ids;
}

}  // namespace wheeltapper::job
