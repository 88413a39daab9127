#pragma once
#include <span>
#include <vector>

#include "engine/belief/layout.hpp"

namespace wheeltapper::belief {

/// A cause tied to one open sign only: it is summed into the sign's start.
struct Private {
  std::size_t cause;
  std::size_t data;  ///< what it does to the sign's coordinates, in Problem::private_moves
};

/// All that the passes work on; what does not depend on the weights of the causes.
struct Problem {
  std::vector<Reduced> reduced;
  std::vector<OpenSign> signs;
  std::vector<std::vector<Private>> privates;  ///< by sign
  std::vector<double> private_moves;           ///< factors or matrices, one after the other
  std::vector<bool> opens;                     ///< by sign: some shared cause is tied to it
  std::vector<std::vector<Tie>> ties;          ///< by cause; only of shared ones
  std::vector<std::size_t> settled;            ///< causes tied to no open sign
  double scale = 1;                            ///< of signs without a state or a cause
  Layout layout;
};

/// The signs of `reduced`, each in its basis, made ready: which causes are private, shared or settled, and the layout.
/// A sign that no shared cause is tied to is put into level coordinates.
/// \param bases  one a sign of `reduced`
/// \throws FrontierTooWide
void make_ready(Problem& problem, std::size_t causes, std::span<const Basis> bases, const TrellisLimits& limits);

/// The problem with only some causes left, the others being surely absent: often far narrower. The weight of their
/// absence is not in it.
/// \param keep  by cause
Problem restricted(const Problem& problem, const std::vector<bool>& keep);

/// Weight of each cause's being present and being absent, together with the signs of one state.
struct Weights {
  std::span<const double> present;
  std::span<const double> absent;
};

/// P(evidence, exactly these causes present): a product, without any pass.
/// \param present  causes, ascending
double exactly(const Problem& problem, const Weights& weights, std::span<const std::size_t> present);

/// Runs over the state vector. Holds its scratch memory, so that nothing is allocated when it is warm.
class Passes {
 public:
  /// The calling thread's own: between keep() and its backward() no other pass may run on it.
  static Passes& of_thread();

  /// P(evidence under the weights). Causes that cannot be present are skipped.
  double total(const Problem& problem, const Weights& weights);
  /// The same, keeping every state vector for backward(). `lost`, if given, receives the sum of the magnitudes of all
  /// terms over the sum itself: times the rounding of a product it is the relative error. 1 where nothing cancels.
  double keep(const Problem& problem, const Weights& weights, double* lost = nullptr);
  /// After keep() with the same weights: joint[cause] = P(cause present, evidence).
  void backward(const Problem& problem, const Weights& weights, double total, std::span<double> joint);

 private:
  enum class Sum { as_is, magnitudes };
  void fold_privates(const Problem& problem, const Weights& weights);
  double outside(const Problem& problem, const Weights& weights) const;
  void step(const Problem& problem, const Operation& op, const Weights& weights, const double* from, double* to,
            Sum sum);
  void take(const Problem& problem, const Operation& op, const Weights& weights, const double* from, double* to);
  std::size_t lane_factors(const Layout& layout, const Operation& op, double present);
  const double* moved(const Layout& layout, const Operation& op, const double* from, bool transposed);
  double magnitude_from(const Problem& problem, const Weights& weights, std::size_t first, const double* from);
  void private_joint(const Problem& problem, const Weights& weights, std::size_t sign, const StateVector& gradient,
                     std::span<double> joint) const;

  std::vector<StateVector> starts_;
  std::vector<double> kept_, moved_, lane_, one_, other_;
};

}  // namespace wheeltapper::belief
