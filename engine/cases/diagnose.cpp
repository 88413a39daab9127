#include "engine/cases/diagnose.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace wheeltapper::cases {
namespace {

using catalogue::Finding;

void remark_conflicts(const belief::Network& network, const Case& the_case, std::vector<std::string>& remarks) {
  const auto& answers = the_case.observations.answers;
  for (std::size_t i = 0; i < answers.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      if (!answers[i].present() || !answers[j].present()) continue;
      const Finding& a = *network.catalogue().finding(answers[j].finding);
      const Finding& b = *network.catalogue().finding(answers[i].finding);
      const auto rules_out = [](const Finding& one, const Finding& other) {
        return std::ranges::find(one.implies_no, other.id) != one.implies_no.end();
      };
      if (rules_out(a, b) || rules_out(b, a))
        remarks.push_back(
            fmt::format("\"{}\" and \"{}\" can't both be: look again, or say which came when.", a.name, b.name));
    }
}

void remark_overruled(const belief::Network& network, const Case& the_case, const belief::Observed& observed,
                      std::vector<std::string>& remarks) {
  for (const belief::Answer& answer : the_case.observations.answers) {
    const Finding& finding = *network.catalogue().finding(answer.finding);
    const auto* chances = observed.of(finding.id);
    if (chances == nullptr || chances->present() == answer.present()) continue;
    remarks.push_back(fmt::format("\"{}\" was answered {}, but the readings say otherwise ({}): they count.",
                                  finding.name, answer.present() ? "yes" : "no", chances->said));
  }
}

bool is_used(const belief::Network& network, const bench::Session& session, const Diagnosis& diagnosis,
             const bench::Run& run, const std::string& quantity) {
  const auto limited = [&](const bench::Limit& limit) { return limit.quantity == quantity && limit.run == run.kind; };
  if (std::ranges::any_of(session.limits, limited)) return true;
  if (quantity == "rail-volts" && run.kind == bench::RunKind::loaded) return true;  // a condition of the limits
  if (!diagnosis.analysis.figures.empty() &&
      (quantity == "amps" || quantity == "lap-rate" || quantity == "rail-volts" || quantity == "slip-amps"))
    return true;
  return std::ranges::any_of(network.catalogue().items().findings, [&](const Finding& finding) {
    return finding.reading && network.applies(finding) && finding.reading->run == run.kind &&
           (finding.reading->reading == quantity || finding.reading->minus == quantity) &&
           diagnosis.observed.of(finding.id) != nullptr;
  });
}

void remark_unused(const belief::Network& network, const Case& the_case, Diagnosis& diagnosis) {
  for (const bench::Run& run : the_case.session.runs)
    for (const auto& [quantity, reading] : run.readings) {
      if (is_used(network, the_case.session, diagnosis, run, quantity)) continue;
      const auto* known = network.catalogue().quantity(quantity);
      diagnosis.remarks.push_back(
          fmt::format("Read but not used: {} ({}), {}. No limit for it was given, or nothing to compare it with.",
                      known == nullptr ? quantity : known->name, bench::name(run.kind), measure::show(reading.value)));
    }
}

void remark_far(const belief::Network& network, const Case& the_case, std::vector<std::string>& remarks) {
  for (const bench::Run& run : the_case.session.runs)
    for (const auto& [quantity, reading] : run.readings)
      if (const auto far = bench::far_from_limit(the_case.session.limits, quantity, reading.value)) {
        const auto* known = network.catalogue().quantity(quantity);
        remarks.push_back(fmt::format("Is it right that {} ({}) reads {}? That is {}: look at the unit and the point.",
                                      known == nullptr ? quantity : known->name, bench::name(run.kind),
                                      measure::show(reading.value), *far));
      }
}

}  // namespace

Diagnosis diagnose(std::shared_ptr<const catalogue::Catalogue> catalogue, const Case& the_case,
                   const DiagnoseSettings& settings) {
  Diagnosis result;
  result.verdicts = bench::assess(the_case.session, settings.demand);
  result.analysis = bench::analyse(the_case.session);
  result.observed = belief::Observed(*catalogue, the_case.session, result.analysis.figures);
  const auto network =
      std::make_shared<const belief::Network>(std::move(catalogue), the_case.family, the_case.background);
  belief::Observations observations = the_case.observations;
  observations.readings = result.observed;
  for (std::size_t k = 0; k < the_case.past.size(); ++k)
    if (!the_case.past[k].runs.empty())
      observations.past[k].readings =
          belief::Observed(network->catalogue(), the_case.past[k], bench::analyse(the_case.past[k]).figures);
  result.belief = belief::infer(network, belief::gather(*network, observations), settings.belief);
  result.advice = plan::advise(result.belief, observations, settings.advice);
  const auto within = [](const bench::LimitVerdict& judged) {
    return judged.verdict && judged.verdict->call == measure::Call::within;
  };
  const auto outside = [](const bench::LimitVerdict& judged) {
    return judged.verdict && judged.verdict->call == measure::Call::outside;
  };
  const bool told = std::ranges::any_of(result.belief.evidence.items, &belief::Item::present) ||
                    std::ranges::any_of(observations.answers, &belief::Answer::present);
  const bool judged = !result.verdicts.empty();
  result.nothing_wrong = judged && !told && std::ranges::all_of(result.verdicts, within);
  result.unsettled =
      judged && std::ranges::none_of(result.verdicts, outside) && !std::ranges::all_of(result.verdicts, within);
  remark_conflicts(*network, the_case, result.remarks);
  remark_overruled(*network, the_case, result.observed, result.remarks);
  remark_unused(*network, the_case, result);
  remark_far(*network, the_case, result.remarks);
  return result;
}

}  // namespace wheeltapper::cases
