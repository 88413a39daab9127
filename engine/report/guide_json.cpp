#include "engine/report/guide_json.hpp"

#include <algorithm>

#include "engine/report/json.hpp"

namespace wheeltapper::report {
namespace {

using json = nlohmann::ordered_json;

std::string_view ask_word(guide::Prompt::Ask ask) {
  using Ask = guide::Prompt::Ask;
  switch (ask) {
    case Ask::text:
      return "text";
    case Ask::yes_no:
      return "yes-no";
    case Ask::level:
      return "level";
    case Ask::quantity:
      return "quantity";
    case Ask::laps:
      return "laps";
    case Ask::count:
      return "count";
    case Ask::some:
      return "some";
    case Ask::check:
      return "check";
    case Ask::repair:
      return "repair";
    case Ask::outcome:
      return "outcome";
  }
  return "";
}

}  // namespace

json stop_json(const guide::Position& position) {
  std::vector<const plan::Gate*> active;
  for (const plan::Gate& gate : position.diagnosis.advice.gates)
    if (!gate.cleared) active.push_back(&gate);
  std::ranges::stable_sort(active, std::ranges::greater(),
                           [](const plan::Gate* gate) { return plan::withheld(*gate); });
  json list = json::array();
  for (const plan::Gate* gate : active)
    list.push_back({{"rule", gate->rule->id},
                    {"name", gate->rule->name},
                    {"because", gate->because},
                    {"say", gate->rule->say},
                    {"withholds", catalogue::name(gate->rule->withhold)},
                    {"clear-by", gate->rule->until},
                    {"left", gate->left},
                    {"refer", gate->rule->refer},
                    {"cautions", cautions_json(*position.catalogue, gate->rule->cautions)}});
  return list;
}

namespace {

/// The likeliest causes, and the step that the plan advises whatever is asked before it.
void add_belief(json& out, const cases::Diagnosis& diagnosis) {
  const belief::Belief& belief = diagnosis.belief;
  json ranking = json::array();
  for (std::size_t i = 0; i < std::min<std::size_t>(8, belief.ranking.size()); ++i)
    ranking.push_back(
        {{"id", belief.network->causes()[belief.ranking[i]]->id}, {"chance", belief.posterior[belief.ranking[i]]}});
  out["causes"] = std::move(ranking);
  if (!diagnosis.advice.next) return;
  const plan::BenchStep& next = *diagnosis.advice.next;
  out["advised"] = next.check != nullptr ? next.check->id : next.repair->id;
}

}  // namespace

json position_json(const guide::Position& position) {
  json out{{"wheeltapper", "position"}, {"version", 1}, {"job", position.job.id}};
  out["closed"] = position.job.closing.has_value();
  out["stop"] = stop_json(position);
  add_belief(out, position.diagnosis);
  if (!position.prompt) return out;
  const guide::Prompt& prompt = *position.prompt;
  out["key"] = text_of(prompt.topic);
  out["ask"] = ask_word(prompt.ask);
  out["question"] = prompt.question;
  out["hint"] = prompt.hint;
  out["choices"] = prompt.choices;
  out["ids"] = prompt.ids;
  out["may-skip"] = prompt.may_skip;
  // What is run or watched running wants the plug in; a check or repair says so itself.
  out["cautions"] =
      cautions_json(*position.catalogue,
                    prompt.caution ? std::vector<std::string>{"caution-low-voltage-live"} : std::vector<std::string>{});
  const bool step = prompt.ask == guide::Prompt::Ask::check || prompt.ask == guide::Prompt::Ask::repair;
  if (step && position.diagnosis.advice.next)
    out["step"] = step_json(*position.catalogue, *position.diagnosis.advice.next);
  return out;
}

}  // namespace wheeltapper::report
