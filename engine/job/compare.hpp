#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/session.hpp"

namespace wheeltapper::job {

/// What a repair did to one quantity of the bench run.
enum class Change { better, worse, none_provable, changed };

struct Compared {
  std::string quantity;
  bench::RunKind run;
  bench::Direction direction;
  measure::Measurement before, after;
  measure::Measurement difference;  ///< after less before; what two readings of one meter share cancels, what a single
                                    ///< run hides does not (kRunToRun)
  double rose;                      ///< probability that it rose
  Change change;
  std::optional<measure::Limits> limits;  ///< of the later run
};

/// Relative scatter from run to run of one and the same test, where it was not repeated (elicited judgement: half of
/// the twentieth by which three good runs may differ at most).
inline constexpr double kRunToRun = 0.015;

/// Every quantity that was read in both sessions in a run of the same kind and direction. Which way is better: towards
/// a limit's allowed side; without a limit, fewer amps and degrees, more laps. Of other quantities only a change is
/// told. A change is called when it is at least `demand` sure.
std::vector<Compared> compare(const bench::Session& before, const bench::Session& after, double demand = 0.95);

/// "better", "worse", "no provable change", "changed".
std::string_view words(Change change);

}  // namespace wheeltapper::job
