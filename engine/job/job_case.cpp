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

/// Whether a repair of a job since a stage could have changed what shows in a finding, or in a result of its own.
bool touched(const Job& job, std::size_t since, std::size_t stage, const Catalogue& catalogue, const auto& shows) {
  for (std::size_t r = since; r < std::min(stage, job.repairs.size()); ++r) {
    const auto* repair = catalogue.repair(job.repairs[r].repair);
    if (repair == nullptr) return true;  // of other knowledge: who knows
    for (const auto& cure : repair->cures)
      if (shows(cure.cause)) return true;
  }
  return false;
}

bool names(const auto& list, const std::string& cause) {
  return std::ranges::any_of(list, [&](const auto& each) { return each.cause == cause; });
}

bool touched(const Job& job, std::size_t since, std::size_t stage, const Catalogue& catalogue,
             const catalogue::Finding& finding) {
  return touched(job, since, stage, catalogue, [&](const std::string& cause) {
    return names(finding.links, cause) || names(finding.inhibitors, cause);
  });
}

json answers_of(const Job& job, std::size_t stage, const Catalogue& catalogue, const Hazards& hazards) {
  json answers = json::object();
  for (const auto& [id, words] : job.answers) {
    const Reported* reported = job.answer(id, stage);
    if (reported == nullptr || catalogue.finding(id) == nullptr) continue;
    const bool stale =
        reported->word != "no" && touched(job, reported->stage, stage, catalogue, *catalogue.finding(id));
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

/// Whether what a check saw still holds in a stage: no repair since can have changed it, or it is a hazard that stands;
/// and nobody has said no to it since.
bool still_holds(const Job& job, std::size_t stage, const Job::Checked& done, const std::string& result,
                 const Catalogue& catalogue, const Hazards& hazards) {
  const auto& results = catalogue.check(done.check)->results;
  const catalogue::Result& shown = *std::ranges::find(results, result, &catalogue::Result::id);
  const std::string& finding = shown.finding;
  if (!finding.empty() && is_hazard(catalogue, finding)) {
    const auto last = hazards.active.find(finding);
    return last != hazards.active.end() && last->second.order == done.order;
  }
  if (finding.empty())
    return !touched(job, done.stage, stage, catalogue,
                    [&](const std::string& cause) { return names(shown.causes, cause); });
  return !touched(job, done.stage, stage, catalogue, *catalogue.finding(finding));
}

json checks_of(const Job& job, std::size_t stage, const Catalogue& catalogue, const Hazards& hazards) {
  json checks = json::object();
  for (const Job::Checked& done : job.checks)
    for (const auto& [result, seen] : done.seen) {
      if (done.stage > stage || !result_known(catalogue, done.check, result)) continue;
      const bool holds =
          seen ? still_holds(job, stage, done, result, catalogue, hazards) : !hazards.redo.contains(done.check);
      if (holds)
        checks[done.check][result] = seen ? "seen" : "not seen";
      else if (checks.contains(done.check))
        checks[done.check].erase(result);
    }
  std::erase_if(checks.get_ref<json::object_t&>(), [](const auto& each) { return each.second.empty(); });
  return checks;
}

json document_of(const Job& job, std::size_t stage, const Catalogue& catalogue, const Hazards& hazards) {
  json document = job.head;
  if (!document.contains("title")) document["title"] = "Repair job";
  document["runs"] = json::array();
  for (const Job::StageRun& each : job.runs)
    if (each.stage == stage) document["runs"].push_back(each.run);
  document["answers"] = answers_of(job, stage, catalogue, hazards);
  document["checks"] = checks_of(job, stage, catalogue, hazards);
  if (!document.contains("tried")) document["tried"] = json::array();
  document["known"] = json::object();
  for (const auto& [id, is_so] : job.known)
    if (catalogue.context(id) != nullptr) document["known"][id] = is_so;
  return document;
}

/// What was seen in one stage, as it was said then.
json document_of_past(const Job& job, std::size_t stage, const Catalogue& catalogue) {
  json document = job.head;
  if (!document.contains("title")) document["title"] = "Repair job";
  document.erase("tried");
  document["runs"] = json::array();
  for (const Job::StageRun& each : job.runs)
    if (each.stage == stage) document["runs"].push_back(each.run);
  document["answers"] = json::object();
  for (const auto& [id, words] : job.answers)
    if (const Reported* reported = job.answer(id, stage);
        reported != nullptr && reported->stage == stage && catalogue.finding(id) != nullptr)
      document["answers"][id] = reported->word;
  document["checks"] = json::object();
  for (const Job::Checked& done : job.checks)
    for (const auto& [result, seen] : done.seen)
      if (done.stage == stage && result_known(catalogue, done.check, result))
        document["checks"][done.check][result] = seen ? "seen" : "not seen";
  return document;
}

void add_past(const Job& job, std::size_t stage, const std::string& name, const Catalogue& catalogue, cases::Case& to) {
  for (std::size_t k = 0; k < std::min(stage, job.repairs.size()); ++k) {
    cases::Case then = cases::case_from(document_of_past(job, k, catalogue), name, catalogue);
    to.observations.past.push_back({std::move(then.observations.answers),
                                    std::move(then.observations.outcomes),
                                    {},
                                    job.repairs[k].repair,
                                    job.repairs[k].by_owner});
    to.past.push_back(std::move(then.session));
  }
}

}  // namespace

cases::Case case_of(const Job& job, std::size_t stage, const Catalogue& catalogue) {
  const std::string name = "job " + job.id.substr(0, 8);
  try {
    Hazards hazards = hazards_of(job, stage, catalogue);
    cases::Case the_case = cases::case_from(document_of(job, stage, catalogue, hazards), name, catalogue);
    the_case.observations.hazards = std::move(hazards.state);
    add_past(job, stage, name, catalogue, the_case);
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
  for (const std::string& id : job.stale_answers()) {
    const auto* finding = catalogue.finding(id);
    const Reported* reported = job.answer(id, job.stage());
    const bool changed = finding == nullptr || touched(job, reported->stage, job.stage(), catalogue, *finding);
    if (changed && std::ranges::find(ids, id) == ids.end()) ids.push_back(id);
  }
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
