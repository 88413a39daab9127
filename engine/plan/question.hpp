#pragma once
#include <string>
#include <vector>

#include "engine/plan/advice.hpp"

namespace wheeltapper::plan {

/// Something to ask: what the locomotive does, or what is known of it beforehand.
struct Question {
  const catalogue::Finding* finding = nullptr;  ///< one of the two is there
  const catalogue::Context* context = nullptr;
  double saves = 0;  ///< minutes that the answer is expected to save, less its own
  double yes = 0;    ///< chance that it is answered yes
};

/// Minutes that an answer costs (elicited judgement).
inline constexpr double kAnswerMinutes = 0.5;

/// What is worth asking now, the most useful first, by the screening (screening.hpp). A finding is asked about only if
/// no reading and no check decides it better, and nothing that is known answers it; a context only if it is not known.
/// Nothing is asked that saves less than it costs.
/// \param asked  ids that were asked already, whatever the answer
std::vector<Question> questions(const belief::Belief& belief, const belief::Observations& observations,
                                const belief::Background& background, const std::vector<std::string>& asked,
                                const AdviceSettings& settings = {});

}  // namespace wheeltapper::plan
