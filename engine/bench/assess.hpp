#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/session.hpp"
#include "engine/measure/verdict.hpp"

namespace wheeltapper::bench {

/// One limit held against one run.
struct LimitVerdict {
  std::size_t limit;               ///< index into Session::limits
  std::optional<std::size_t> run;  ///< index into Session::runs; nothing: no such run was made
  Direction direction;             ///< of the run, or of the run that is missing
  /// The reading as compared: lap rates are brought to the loop of the limit first (equal track speed).
  std::optional<measure::Measurement> reading;
  std::optional<measure::Verdict> verdict;    ///< nothing: not measured, or not comparable
  std::optional<measure::Settling> settling;  ///< there when the verdict is too close to call
  std::vector<std::string> notes;             ///< plain sentences: conditions that differ, uncertainties assumed
};

/// Holds every limit against every run that it is for. A limit for both directions asks for a forward and a
/// reverse run: the one that is missing stands in the result without a run. A run with another number of cars
/// than the limit's is not comparable: it gets no verdict but a note, since no sum brings it over.
/// \param demand  probability that a clear verdict needs, in [0.5, 1)
std::vector<LimitVerdict> assess(const Session& session, double demand = 0.95);

/// A reading that lies so far from its limit that a unit or a point may have slipped: 2.4 mA where 2 A are allowed. In
/// words, "1/833 of its limit of 2 A"; nothing if it is within kFarFromLimit times it.
inline constexpr double kFarFromLimit = 20;
std::optional<std::string> far_from_limit(const std::vector<Limit>& limits, const std::string& quantity,
                                          const measure::Measurement& value);

}  // namespace wheeltapper::bench
