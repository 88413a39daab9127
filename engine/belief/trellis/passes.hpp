#pragma once
#include <span>
#include <vector>

#include "engine/belief/trellis/prepared_sum.hpp"

namespace wheeltapper::belief {

/// Runs over the state vector. Holds its scratch memory, so that nothing is allocated when it is warm.
class Passes {
 public:
  /// The calling thread's own: between keep() and its backward() no other pass may run on it.
  static Passes& of_thread();

  /// P(evidence under the weights). Causes that cannot be present are skipped.
  double total(const PreparedSum& problem, const Weights& weights);
  /// The same, keeping every state vector for backward(). `lost`, if given, receives the sum of the magnitudes of all
  /// terms over the sum itself: times the rounding of a product it is the relative error. 1 where nothing cancels.
  double keep(const PreparedSum& problem, const Weights& weights, double* lost = nullptr);
  /// After keep() with the same weights: joint[cause] = P(cause present, evidence).
  void backward(const PreparedSum& problem, const Weights& weights, double total, std::span<double> joint);

 private:
  enum class Sum { as_is, magnitudes };
  void fold_privates(const PreparedSum& problem, const Weights& weights);
  double outside(const PreparedSum& problem, const Weights& weights) const;
  void step(const PreparedSum& problem, const Operation& op, const Weights& weights, const double* from, double* to,
            Sum sum);
  void take(const PreparedSum& problem, const Operation& op, const Weights& weights, const double* from, double* to);
  void take_instead(const PreparedSum& problem, const Operation& op, const Weights& weights, const double* before,
                    double* to);
  void take_back(const PreparedSum& problem, std::size_t at, const Weights& weights, const double* before,
                 std::span<double> joint);
  std::size_t lane_factors(const Layout& layout, const Operation& op, double present);
  const double* moved(const Layout& layout, const Operation& op, const double* from, bool transposed);
  double magnitude_from(const PreparedSum& problem, const Weights& weights, std::size_t first, const double* from);
  void private_joint(const PreparedSum& problem, const Weights& weights, std::size_t node, const StateVector& gradient,
                     std::span<double> joint) const;

  std::vector<StateVector> starts_;
  std::vector<double> kept_, moved_, lane_, one_, other_;
};

}  // namespace wheeltapper::belief
