#pragma once
#include <Eigen/Core>
#include <cstdint>
#include <functional>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {

/// Several quantities together: values, and the covariance of their uncertainties (JCGM 102:2011, 3.11).
struct Estimates {
  Eigen::VectorXd value;
  Eigen::MatrixXd covariance;  ///< symmetric, positive semidefinite; size of `value` both ways

  double uncertainty(Eigen::Index i) const;
  /// 0 where one of the two is known exactly.
  double correlation(Eigen::Index i, Eigen::Index j) const;
};

/// A measurement model: all output quantities from all input quantities.
using Model = std::function<Eigen::VectorXd(const Eigen::VectorXd&)>;

/// Means of quantities that were read together several times, with the covariance of the means (Type A;
/// JCGM 100:2008, 4.2.3 and 5.2.3: sums of products of deviations over n (n - 1)).
/// \param sets  one row a set of readings, one column a quantity; at least two rows
/// \throws input::DomainError  for fewer rows
Estimates means_of_sets(const Eigen::MatrixXd& sets);

/// Linear propagation (JCGM 102:2011, 6.2; JCGM 100:2008, 5.2): covariance J S J', the sensitivities J by central
/// differences over a thousandth of each input's standard uncertainty. Inputs known exactly cost nothing.
/// The model's exceptions pass through.
Estimates propagate(const Estimates& in, const Model& model);

/// What sampling found.
struct Sampled {
  Estimates result;           ///< mean and covariance of the outputs
  Eigen::VectorXd low, high;  ///< the shortest-tailed interval: equal chance below and above
  std::size_t samples = 0;    ///< that gave a result
  std::size_t without = 0;    ///< for which the model had none (it threw input::DomainError)
};

/// Propagation of distributions by sampling (JCGM 101:2008, clause 7; several outputs: JCGM 102:2011, clause 7).
/// Inputs are jointly normal. The same seed gives the same result.
/// \param samples  at least 100   \param coverage  of the interval, between 0 and 1
/// \throws input::DomainError  for arguments out of range, a covariance that is not positive semidefinite, or a model
///         that fails for more than half of the samples
Sampled propagate_by_sampling(const Estimates& in, const Model& model, std::size_t samples, std::uint64_t seed,
                              double coverage = 0.95);

}  // namespace wheeltapper::measure
