#pragma once
#include <vector>

namespace wheeltapper::measure {

/// Median of a normal distribution's absolute deviations to its standard deviation: 1 / quantile(3/4).
inline constexpr double kDeviationByMedian = 1.482602218505602;

/// The middle value; of an even number of values the mean of the two in the middle.
/// \throws input::DomainError  without a value
double median(std::vector<double> values);

/// Standard deviation of a normal distribution by the median of its absolute deviations: half of the values may be
/// anything (Hampel, F.R., The influence curve and its role in robust estimation, J. Am. Stat. Assoc. 69, 1974;
/// cited from memory, the factor recomputed by the tests).
/// \param deviations  from the middle, with or without their signs
/// \throws input::DomainError  without a value
double robust_deviation(std::vector<double> deviations);

}  // namespace wheeltapper::measure
