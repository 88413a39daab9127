#pragma once
#include <memory>
#include <string>
#include <vector>

#include "engine/belief/belief.hpp"
#include "engine/bench/analysis.hpp"
#include "engine/bench/assess.hpp"
#include "engine/cases/case.hpp"
#include "engine/input/input_error.hpp"
#include "engine/plan/advice.hpp"

namespace wheeltapper::cases {

struct DiagnoseSettings {
  double demand = 0.95;  ///< probability that a clear verdict needs
  belief::BeliefSettings belief;
  plan::AdviceSettings advice;
};

/// What a case comes to.
struct Diagnosis {
  std::vector<bench::LimitVerdict> verdicts;
  bench::BenchAnalysis analysis;
  belief::Observed observed;  ///< what the readings say of the findings
  belief::Belief belief;
  plan::Advice advice;
  /// Runs were judged, all are within their limits, and no finding was told to be there.
  bool nothing_wrong = false;
  /// No run is outside its limits, but a run is missing or too close to call: the test itself comes first.
  bool unsettled = false;
  /// Sentences on what was told: findings that can't both be there, answers that a reading overrules, readings that
  /// nothing here uses.
  std::vector<std::string> remarks;
};

/// The whole way of the data: runs -> verdicts, runs and answers -> evidence -> belief -> advice.
/// \throws belief::ImpossibleEvidence   if the observations have no chance together
/// \throws belief::NotInKnowledge       for ids that are not in the catalogue (a case from read_case has none)
Diagnosis diagnose(std::shared_ptr<const catalogue::Catalogue> catalogue, const Case& the_case,
                   const DiagnoseSettings& settings = {});

}  // namespace wheeltapper::cases
