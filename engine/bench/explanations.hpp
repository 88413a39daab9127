#pragma once
#include <vector>

#include "engine/bench/explanation.hpp"
#include "engine/measure/propagate.hpp"

namespace wheeltapper::bench {

/// Of a normal quantity.
Estimate symmetrical(double value, double uncertainty);
/// Of a quantity whose logarithm is normal.
Estimate of_log(double log, double uncertainty_of_log);
Estimate one_of(const measure::Estimates& all, Eigen::Index i);

/// All subsets of the three indexes that the readings can tell from each other, likeliest first, their chances adding
/// up to 1. Every subset is fitted by weighted least squares; its weight is
///   prior * exp(-misfit / 2) * product over those that differ of sqrt(2 pi) u / range     (Laplace's approximation)
/// with priors 0.6 for none, 1 for each one, a quarter for a pair (two causes in about one failed test of four;
/// elicited judgement), a twentieth for all, and ranges ln 4, `ohms_range`, ln 2. Subsets that need a drag below, ohms
/// below or a flux above the baseline's by more than twice their uncertainty are left out: a fault does not do that.
/// None at all where the misfit of every subset is one that chance gives less than once in a thousand. \param apart  ln
/// drag ratio, added Ohm, ln flux ratio, observed apart from each other
std::vector<Explanation> explain_line(const measure::Estimates& apart, double ohms_range);

/// The same from one run, which shows two sums of the three only: ln d - ln f, and r + (f - 1) e.
/// \param generated_per_amp  e: volts that the baseline's flux would generate at the run's speed, over its amps
std::vector<Explanation> explain_run(const measure::Estimates& together, double generated_per_amp, double ohms_range);

}  // namespace wheeltapper::bench
