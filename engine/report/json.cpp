#include "engine/report/json.hpp"

#include "engine/report/bench_page.hpp"
#include "engine/report/common.hpp"

namespace wheeltapper::report {
namespace {

using json = nlohmann::ordered_json;

std::string_view call_word(measure::Call call) {
  switch (call) {
    case measure::Call::within:
      return "within";
    case measure::Call::outside:
      return "outside";
    case measure::Call::too_close:
      return "too-close";
  }
  return "";
}

json verdict_json(const cases::Case& the_case, const bench::LimitVerdict& judged) {
  const bench::Limit& limit = the_case.session.limits[judged.limit];
  json out{{"quantity", limit.quantity},
           {"run", bench::name(limit.run)},
           {"direction", bench::name(judged.direction)},
           {"unit", limit.bounds.unit.code}};
  if (limit.bounds.at_least) out["at-least"] = *limit.bounds.at_least;
  if (limit.bounds.at_most) out["at-most"] = *limit.bounds.at_most;
  out["made"] = judged.run.has_value();
  if (judged.reading) {
    const measure::Measurement reading = judged.reading->in(limit.bounds.unit);
    out["value"] = reading.value();
    out["uncertainty"] = reading.uncertainty();
  }
  if (judged.verdict) {
    out["call"] = call_word(judged.verdict->call);
    out["conforms"] = judged.verdict->conforms;
  }
  if (judged.settling) {
    out["settles"] = json{{"uncertainty", judged.settling->meter_uncertainty}};
    if (judged.settling->runs) out["settles"]["runs"] = *judged.settling->runs;
  }
  out["notes"] = judged.notes;
  return out;
}

json verdicts_json(const cases::Case& the_case, const std::vector<bench::LimitVerdict>& verdicts) {
  json list = json::array();
  for (const bench::LimitVerdict& each : verdicts) list.push_back(verdict_json(the_case, each));
  return list;
}

json causes_json(const belief::Belief& belief) {
  json list = json::array();
  for (const std::size_t c : belief.ranking) {
    const auto& cause = *belief.network->causes()[c];
    json speaks = json::array();
    for (const belief::Weight& weight : belief.weights[c])
      speaks.push_back({{"item", belief.evidence.items[weight.item].id}, {"decibans", weight.decibans}});
    json out{{"id", cause.id},
             {"name", cause.name},
             {"place", cause.place},
             {"before", belief.network->prior()[c]},
             {"chance", belief.posterior[c]}};
    if (!speaks.empty()) out["evidence"] = std::move(speaks);
    list.push_back(std::move(out));
  }
  return list;
}

json places_json(const belief::Belief& belief) {
  json list = json::array();
  for (const auto& place : belief.places) {
    json members = json::array();
    for (const std::size_t c : place.causes) members.push_back(belief.network->causes()[c]->id);
    list.push_back({{"id", place.place->id},
                    {"name", place.place->name},
                    {"chance", place.chance},
                    {"causes", std::move(members)}});
  }
  return list;
}

json evidence_json(const belief::Belief& belief) {
  json items = json::array();
  for (const auto& item : belief.evidence.items)
    items.push_back({{"id", item.id}, {"name", item.name}, {"said", item.said}, {"present", item.present}});
  json dropped = json::array();
  for (const auto& each : belief.evidence.dropped) dropped.push_back({{"id", each.id}, {"reason", each.reason}});
  return {{"counted", std::move(items)}, {"not-counted", std::move(dropped)}};
}

json gates_json(const plan::Advice& advice) {
  json list = json::array();
  for (const plan::Gate& gate : advice.gates)
    list.push_back({{"rule", gate.rule->id},
                    {"say", gate.rule->say},
                    {"because", gate.because},
                    {"cleared", gate.cleared},
                    {"withholds", catalogue::name(gate.rule->withhold)},
                    {"clear-by", gate.rule->until},
                    {"left", gate.left},
                    {"refer", gate.rule->refer}});
  return list;
}

json sets_json(const belief::Belief& belief) {
  json list = json::array();
  for (const auto& set : belief.sets.sets) {
    json ids = json::array();
    for (const std::size_t c : set.causes) ids.push_back(belief.network->causes()[c]->id);
    list.push_back({{"causes", std::move(ids)}, {"chance", set.probability}});
  }
  return {{"complete", belief.sets.complete}, {"sets", std::move(list)}};
}

}  // namespace

json cautions_json(const catalogue::Catalogue& catalogue, const std::vector<std::string>& ids) {
  json list = json::array();
  for (const std::string& id : ids) {
    const auto* caution = catalogue.caution(id);
    list.push_back({{"id", id}, {"signal", catalogue::name(caution->signal)}, {"text", caution->text}});
  }
  return list;
}

json step_json(const catalogue::Catalogue& catalogue, const plan::BenchStep& step) {
  const auto of = [&](std::string_view kind, const auto& action) {
    return json{{"kind", kind},
                {"id", action.id},
                {"name", action.name},
                {"minutes", step.minutes},
                {"power", catalogue::name(action.power)},
                {"chance", step.chance},
                {"changes-power", step.changes_power},
                {"cautions", cautions_json(catalogue, action.cautions)},
                {"steps", action.steps}};
  };
  return step.check != nullptr ? of("check", *step.check) : of("repair", *step.repair);
}

json assessment_json(const cases::Case& the_case, const std::vector<bench::LimitVerdict>& verdicts,
                     const bench::BenchAnalysis& analysis) {
  return {{"wheeltapper", "assessment"},
          {"version", 1},
          {"title", the_case.title},
          {"verdicts", verdicts_json(the_case, verdicts)},
          {"bench", analysis_json(analysis)}};
}

json diagnosis_json(const cases::Case& the_case, const cases::Diagnosis& diagnosis) {
  const belief::Belief& belief = diagnosis.belief;
  const auto& catalogue = belief.network->catalogue();
  json list = json::array();
  for (const auto& step : diagnosis.advice.list) list.push_back(step_json(catalogue, step));
  json withheld = json::array();
  for (const auto* check : diagnosis.advice.withheld) withheld.push_back(check->id);
  return {{"wheeltapper", "diagnosis"},
          {"version", 1},
          {"title", the_case.title},
          {"locomotive", the_case.locomotive},
          {"family", the_case.family},
          {"nothing-wrong", diagnosis.nothing_wrong},
          {"unsettled", diagnosis.unsettled},
          {"remarks", diagnosis.remarks},
          {"approximate", belief.approximate},
          {"gates", gates_json(diagnosis.advice)},
          {"verdicts", verdicts_json(the_case, diagnosis.verdicts)},
          {"bench", analysis_json(diagnosis.analysis)},
          {"places", places_json(belief)},
          {"causes", causes_json(belief)},
          {"none-present", belief.none_present},
          {"together", sets_json(belief)},
          {"evidence", evidence_json(belief)},
          {"plan",
           {{"expected-minutes", diagnosis.advice.expected_minutes},
            {"repair-only-minutes", diagnosis.advice.repair_only_minutes},
            {"hand-on", diagnosis.advice.hand_on},
            {"steps", std::move(list)},
            {"withheld", std::move(withheld)}}}};
}

}  // namespace wheeltapper::report
