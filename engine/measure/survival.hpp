#pragma once
#include <optional>
#include <span>
#include <vector>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {

/// How long something held: until it came back, or, not `ended`, at least until it was last looked at.
struct Lasted {
  double time;  ///< at least 0
  bool ended;
};

/// One step of the curve.
struct SurvivalStep {
  double time;
  double surviving;     ///< chance to hold longer than `time`
  double error;         ///< its standard error, Greenwood's formula
  std::size_t at_risk;  ///< still looked at just before
  std::size_t ended;    ///< at this time
};

/// The product-limit estimate of E. L. Kaplan and P. Meier, J. Amer. Statist. Assoc. 53 (1958) 457-481: a step for each
/// time at which something ended. What was lost sight of at a time counts as still at risk at that time.
/// \throws input::DomainError  for a time below 0 or not finite
std::vector<SurvivalStep> kaplan_meier(std::span<const Lasted> lasted);

/// The curve at a time: 1 before the first step.
double surviving_at(std::span<const SurvivalStep> steps, double time);

/// The first time at which the curve is at most one half; nothing if it stays above.
std::optional<double> median_survival(std::span<const SurvivalStep> steps);

}  // namespace wheeltapper::measure
