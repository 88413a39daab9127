#include "engine/job/job_case.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/bench/assess.hpp"
#include "engine/input/json_reader.hpp"
#include "engine/job/hazards.hpp"

namespace wheeltapper::job {

using catalogue::Catalogue;
using nlohmann::json;

namespace {

bool result_known(const Catalogue& catalogue, const std::string& check, const std::string& result) {
  const auto* item = catalogue.check(check);
  return item != nullptr && std::ranges::find(item->results, result, &catalogue::Result::id) != item->results.end();
}

json answers_of(const Job& job, std::size_t stage, const Catalogue& catalogue, const Hazards& hazards) {
  json answers = json::object();
  for (const auto& [id, words] : job.answers) {
    const Reported* reported = job.answer(id, stage);
    if (reported == nullptr || catalogue.finding(id) == nullptr) continue;
    const bool stale = reported->stage < stage && reported->word != "no";
    if (!stale) answers[id] = reported->word;
  }
  for (auto answer = answers.begin(); answer != answers.end();) {  // a yes that something ended stands no more
    const bool ended = *answer != "no" && !cases::is_not_observed(answer->get<std::string>()) &&
                       is_hazard(catalogue, answer.key()) && !hazards.active.contains(answer.key());
    answer = ended ? answers.erase(answer) : std::next(answer);
  }
  for (const auto& [id, last] : hazards.active) {
    answers.erase(id);
    if (last.reported != nullptr) answers[id] = last.reported->word;
  }
  return answers;
}

/// Whether what a check saw still holds in a stage: no repair came since, or it is a hazard that stands; and nobody has
/// said no to it since.
bool still_holds(std::size_t stage, const Job::Checked& done, const std::string& result, const Catalogue& catalogue,
                 const Hazards& hazards) {
  const auto& results = catalogue.check(done.check)->results;
  const std::string& finding = std::ranges::find(results, result, &catalogue::Result::id)->finding;
  if (!finding.empty() && is_hazard(catalogue, finding)) {
    const auto last = hazards.active.find(finding);
    return last != hazards.active.end() && last->second.order == done.order;
  }
  return done.stage == stage;
}

json checks_of(const Job& job, std::size_t stage, const Catalogue& catalogue, const Hazards& hazards) {
  json checks = json::object();
  for (const Job::Checked& done : job.checks)
    for (const auto& [result, seen] : done.seen) {
      if (done.stage > stage || !result_known(catalogue, done.check, result)) continue;
      const bool holds =
          seen ? still_holds(stage, done, result, catalogue, hazards) : !hazards.redo.contains(done.check);
      if (holds)
        checks[done.check][result] = seen ? "seen" : "not seen";
      else if (checks.contains(done.check))
        checks[done.check].erase(result);
    }
  std::erase_if(checks.get_ref<json::object_t&>(), [](const auto& each) { return each.second.empty(); });
  return checks;
}

json tried_of(const Job& job, std::size_t stage, const Catalogue& catalogue) {
  json tried = job.head.contains("tried") ? job.head["tried"] : json::array();
  for (std::size_t r = 0; r < std::min(stage, job.repairs.size()); ++r) {
    const bool last = r + 1 == stage;
    if (last && !job.has_runs(stage) && !job.retests.contains(stage)) continue;
    if (catalogue.repair(job.repairs[r].repair) == nullptr) continue;
    tried.push_back({{"repair", job.repairs[r].repair}, {"by", job.repairs[r].by_owner ? "owner" : "technician"}});
  }
  return tried;
}

json document_of(const Job& job, std::size_t stage, const Catalogue& catalogue, const Hazards& hazards) {
  json document = job.head;
  if (!document.contains("title")) document["title"] = "Repair job";
  document["runs"] = json::array();
  for (const Job::StageRun& each : job.runs)
    if (each.stage == stage) document["runs"].push_back(each.run);
  document["answers"] = answers_of(job, stage, catalogue, hazards);
  document["checks"] = checks_of(job, stage, catalogue, hazards);
  document["tried"] = tried_of(job, stage, catalogue);
  document["known"] = json::object();
  for (const auto& [id, is_so] : job.known)
    if (catalogue.context(id) != nullptr) document["known"][id] = is_so;
  return document;
}

}  // namespace

cases::Case case_of(const Job& job, std::size_t stage, const Catalogue& catalogue) {
  const std::string name = "job " + job.id.substr(0, 8);
  try {
    Hazards hazards = hazards_of(job, stage, catalogue);
    cases::Case the_case = cases::case_from(document_of(job, stage, catalogue, hazards), name, catalogue);
    the_case.observations.hazards = std::move(hazards.state);
    return the_case;
  } catch (const json::exception& wrong) {  // a head or run that no command of ours wrote
    throw input::BadInput({{name, "", fmt::format("can't be read as a case: {}", wrong.what()), ""}});
  }
}

cases::Case case_of(const Job& job, const Catalogue& catalogue) { return case_of(job, job.stage(), catalogue); }

std::vector<Draft> opening_events(std::string_view text, const std::string& name, const Catalogue& catalogue,
                                  const input::Beside& beside) {
  cases::read_case(text, name, catalogue, beside);  // every mistake is reported before anything is written
  json document = input::parse_json(text, name);
  const auto taken = [&](const char* key) {
    json part = document.contains(key) ? document[key] : json();
    document.erase(key);
    return part;
  };
  document.erase("$schema");
  const json runs = taken("runs");
  const json answers = taken("answers");
  const json known = taken("known");
  const json checks = taken("checks");
  std::vector<Draft> events{{EventKind::opened, document}};
  for (json run : runs) {
    if (run.contains("series")) {
      const auto file = run["series"].is_string() ? run["series"].get<std::string>() : std::string();
      if (!file.empty()) run["series"] = {{"name", file}, {"text", beside(file).text}};
    }
    events.emplace_back(EventKind::run, std::move(run));
  }
  if (!answers.empty()) events.emplace_back(EventKind::answers, answers);
  if (!known.empty()) events.emplace_back(EventKind::known, known);
  for (const auto& [check, outcomes] : checks.items()) {
    json results = outcomes;
    if (outcomes.is_string()) {  // "clean"
      results = json::object();
      for (const auto& each : catalogue.check(check)->results) results[each.id] = "not seen";
    }
    events.emplace_back(EventKind::checked, json{{"check", check}, {"results", results}});
  }
  return events;
}

std::vector<std::string> ask_again(const Job& job, const Catalogue& catalogue) {
  std::vector<std::string> ids;
  const auto asked_now = [&](const std::string& id) {
    const Reported* reported = job.answer(id, job.stage());
    return reported != nullptr && reported->stage == job.stage();
  };
  for (const auto& [id, last] : hazards_of(job, job.stage(), catalogue).active)
    if (last.stage < job.stage() && !asked_now(id)) ids.push_back(id);
  for (const std::string& id : job.stale_answers())
    if (std::ranges::find(ids, id) == ids.end()) ids.push_back(id);
  return ids;
}

Retest retest_of(const Job& job, std::size_t stage, const Catalogue& catalogue) {
  const cases::Case the_case = case_of(job, stage, catalogue);
  const auto verdicts = bench::assess(the_case.session);
  const auto calls = [&](measure::Call call) {
    return [call](const bench::LimitVerdict& judged) { return judged.verdict && judged.verdict->call == call; };
  };
  if (std::ranges::any_of(verdicts, calls(measure::Call::outside))) return Retest::failed;
  const auto by_eye = job.retests.find(stage);
  if (by_eye != job.retests.end() && !by_eye->second) return Retest::failed;
  if (!verdicts.empty() && std::ranges::all_of(verdicts, calls(measure::Call::within))) return Retest::passed;
  const bool said = by_eye != job.retests.end() && (verdicts.empty() || job.has_runs(stage));  // limits want readings
  return said ? Retest::passed : Retest::open;
}

}  // namespace wheeltapper::job
