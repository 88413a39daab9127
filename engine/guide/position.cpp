#include "engine/guide/position.hpp"

#include <algorithm>
#include <set>

#include "engine/guide/prompts.hpp"
#include "engine/job/hazards.hpp"

namespace wheeltapper::guide {

using catalogue::Catalogue;

std::vector<Missing> missing_readings(const Position& position) {
  std::vector<Missing> missing;
  const bench::Session& session = position.the_case.session;
  for (const bench::Limit& limit : session.limits) {
    if (limit.run != bench::RunKind::loaded) continue;
    for (const auto direction : {bench::Direction::forward, bench::Direction::reverse}) {
      if (limit.direction != bench::Direction::any && limit.direction != direction) continue;
      const bool read = std::ranges::any_of(session.runs, [&](const bench::Run& run) {
        return run.kind == limit.run && run.direction == direction && run.readings.contains(limit.quantity);
      });
      const bool listed = std::ranges::any_of(
          missing, [&](const Missing& each) { return each.quantity == limit.quantity && each.direction == direction; });
      if (!read && !listed) missing.push_back({limit.quantity, direction});
    }
  }
  // One direction after the other, as it is run.
  std::ranges::stable_sort(missing, {}, &Missing::direction);
  return missing;
}

std::vector<std::string> suspects(const Position& position, std::size_t most) {
  const job::Job& job = position.job;
  std::set<std::string> cured;
  for (const job::Job::Repaired& done : job.repairs)
    if (const auto* repair = position.catalogue->repair(done.repair))
      for (const auto& cure : repair->cures) cured.insert(cure.cause);
  // Before the last repair: afterwards it is known to have been tried.
  const std::size_t stage = job.stage() == 0 ? 0 : job.stage() - 1;
  belief::Belief belief = position.diagnosis.belief;
  if (stage != job.stage()) {
    cases::DiagnoseSettings settings;
    belief = cases::diagnose(position.catalogue, job::case_of(job, stage, *position.catalogue), settings).belief;
  }
  std::vector<std::string> ids;
  for (const bool by_repair : {true, false})
    for (const std::size_t cause : belief.ranking) {
      const std::string& id = belief.network->causes()[cause]->id;
      if (cured.contains(id) == by_repair && ids.size() < (by_repair ? most - 2 : most)) ids.push_back(id);
    }
  return ids;
}

std::vector<job::Draft> hazards_read(const Position& position) {
  const auto active = job::hazards_of(position.job, position.job.stage(), *position.catalogue).active;
  nlohmann::json answers = nlohmann::json::object();
  for (const auto* finding : job::hazards_in(*position.catalogue, position.the_case.family)) {
    if (active.contains(finding->id)) continue;
    const auto* chances = position.diagnosis.observed.of(finding->id);
    if (chances != nullptr && chances->present()) answers[finding->id] = "yes";
  }
  if (answers.empty()) return {};
  return {{job::EventKind::answers, std::move(answers)}};
}

namespace {

/// How the bench stands after what was done, in its order.
plan::Setup setup_of(const job::Job& job, const Catalogue& catalogue) {
  std::vector<std::pair<std::size_t, const job::Job::Checked*>> steps;
  for (const auto& done : job.checks) steps.emplace_back(done.order, &done);
  for (const auto& done : job.repairs) steps.emplace_back(done.order, nullptr);
  std::ranges::sort(steps);
  plan::Setup setup;
  std::size_t repairs = 0;
  for (const auto& [order, checked] : steps) {
    if (checked != nullptr) {
      if (const auto* check = catalogue.check(checked->check)) setup = after_check(setup, {check->power, check->opens});
    } else if (const auto* repair = catalogue.repair(job.repairs[repairs++].repair)) {
      setup = after_repair(setup, {repair->power, repair->opens});
    }
  }
  return setup;
}

}  // namespace

Position position_of(std::shared_ptr<const Catalogue> catalogue, std::vector<job::Event> events,
                     const cases::DiagnoseSettings& given) {
  Position at;
  at.catalogue = catalogue;
  at.job = job::fold(std::move(events));
  at.the_case = job::case_of(at.job, *catalogue);
  cases::DiagnoseSettings settings = given;
  for (std::string& id : declined_steps(at.job)) settings.advice.declined.push_back(std::move(id));
  settings.advice.setup = setup_of(at.job, *catalogue);
  at.diagnosis = cases::diagnose(catalogue, at.the_case, settings);
  if (at.job.stage() > 0) {
    at.retest = job::retest_of(at.job, at.job.stage(), *catalogue);
    std::size_t earlier = at.job.stage() - 1;
    while (earlier > 0 && !at.job.has_runs(earlier)) --earlier;
    at.compared = job::compare(job::case_of(at.job, earlier, *catalogue).session, at.the_case.session);
  }
  if (!at.job.closing) {
    belief::Observations observations = at.the_case.observations;
    observations.readings = at.diagnosis.observed;
    at.questions =
        plan::questions(at.diagnosis.belief, observations, at.the_case.background, asked_ids(at.job), settings.advice);
    at.prompt = next_prompt(at);
  }
  return at;
}

}  // namespace wheeltapper::guide
