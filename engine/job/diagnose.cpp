#include "engine/job/diagnose.hpp"

#include <algorithm>

namespace wheeltapper::job {

Diagnosis diagnose(std::shared_ptr<const catalogue::Catalogue> catalogue, const Case& the_case,
                   const DiagnoseSettings& settings) {
  Diagnosis result;
  result.verdicts = bench::assess(the_case.session, settings.demand);
  const auto network = std::make_shared<const belief::Network>(std::move(catalogue), the_case.family, the_case.background);
  belief::Observations observations = the_case.observations;
  observations.session = &the_case.session;
  result.belief = belief::infer(network, belief::gather(*network, observations), settings.belief);
  result.advice = plan::advise(result.belief, observations, settings.advice);
  const bool passes = std::ranges::all_of(result.verdicts, [](const bench::Judged& judged) {
    return !judged.verdict || judged.verdict->call == measure::Call::within;
  });
  result.nothing_wrong = passes && std::ranges::none_of(result.belief.evidence.items, &belief::Item::present);
  return result;
}

}  // namespace wheeltapper::job
