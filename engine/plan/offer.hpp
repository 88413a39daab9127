#pragma once
#include <string>
#include <vector>

#include "engine/plan/advice.hpp"

namespace wheeltapper::plan {

/// The checks that may be done and still tell something.
struct Offer {
  std::vector<const catalogue::Check*> checks;
  std::vector<CheckOption> options;  ///< in step with `checks`
};

/// The repairs that may be done.
struct RepairOffer {
  std::vector<const catalogue::Repair*> repairs;
  std::vector<RepairOption> options;  ///< in step with `repairs`
  enum class Looked { no, told, checked };
  std::vector<Looked> looked;   ///< whether somebody has looked for what it cures, or a check has
  std::vector<bool> of_method;  ///< it mends how the test is made, or how something is set
};

/// \param declined  ids of what the person at the bench won't do
Offer offer_checks(const belief::Belief& belief, const belief::Observations& observations,
                   const std::vector<std::string>& declined);
RepairOffer offer_repairs(const belief::Belief& belief, const std::vector<Gate>& gates,
                          const belief::Observations& observations, const std::vector<std::string>& declined);

/// Those that bear on the suspects (AdviceSettings::bearing).
Offer bearing_checks(const Offer& all, const std::vector<double>& chance, double least);

/// What each costs from here, and which repairs want an inspection first.
void set_costs(Offer& checks, RepairOffer& repairs, const Costs& costs, const Setup& setup);

}  // namespace wheeltapper::plan
