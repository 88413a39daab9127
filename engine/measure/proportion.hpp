#pragma once

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {

/// A range of a proportion, both ends in [0, 1].
struct Interval {
  double low;
  double high;
};

/// Interval for the chance behind `hits` of `trials`. `coverage` is two-sided, in (0, 1). 0 <= hits <= trials and
/// trials >= 1, else input::DomainError.
/// Wilson's score interval: Newcombe, Statistics in Medicine 17 (1998) 857-872, method 3.
Interval wilson(double hits, double trials, double coverage = 0.95);
/// Clopper and Pearson's exact interval, from the beta distribution (same paper, method 5).
Interval clopper_pearson(double hits, double trials, double coverage = 0.95);
/// Equal-tailed interval of the Beta(hits + 1/2, trials - hits + 1/2) posterior; an end at 0 or 1 where
/// hits is 0 or trials (Brown, Cai and DasGupta, Statistical Science 16 (2001), 3.1.3).
Interval jeffreys(double hits, double trials, double coverage = 0.95);

/// What is known of a proportion after `hits` of `trials`, where before it was Beta(a, b).
struct BetaPosterior {
  double mean;
  double deviation;  ///< standard deviation
  double median;
  Interval interval;  ///< equal-tailed
};
/// Beta(a + hits, b + trials - hits); hits and trials need not be whole (expected counts). a, b above 0, 0 <= hits <=
/// trials, else input::DomainError. Conjugate prior: Gelman et al., Bayesian Data Analysis, 2.4.
BetaPosterior beta_posterior(double hits, double trials, double a = 1, double b = 1, double coverage = 0.95);

}  // namespace wheeltapper::measure
