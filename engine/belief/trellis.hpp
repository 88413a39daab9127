#pragma once
#include <cstddef>
#include <memory>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include "engine/belief/finding_node.hpp"

namespace wheeltapper::belief {

/// Most states of the frontier at any one step, and most numbers kept over all steps (16 MB).
struct TrellisLimits {
  std::size_t states = std::size_t{1} << 15U;
  std::size_t numbers = std::size_t{1} << 21U;
};

/// The evidence ties so many findings to the same causes that the exact sum would not fit TrellisLimits.
class FrontierTooWide : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// The evidence has probability 0 under the network: some observation cannot happen together with the others.
class ImpossibleEvidence : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Exact inference in a two-layer network: causes that are independent beforehand, and observed nodes that are
/// leaky noisy-MAXes of them (finding_node.hpp).
///
/// Method. A node that leaves one state (a plain "no") folds into the weights of its causes. A cause tied to no other
/// node is settled by its weight, one tied to a single node folds into that node's start. The shared causes are then
/// taken one after the other; the state is, for each node that is open, the level reached so far (and "blocked").
/// A cause absent leaves the state, a cause present moves it, one node at a time. A node opens at its first shared
/// cause and is settled after its last. The forward pass gives P(evidence); the backward pass over the kept forward
/// states gives every posterior.
/// Signs that the others make likely are carried in coordinates in which a cause only multiplies (coordinates.hpp), as
/// far as the subtractions at their end cost at most four of sixteen digits: that is measured, and where it fails the
/// nodes go back to coordinates in which only sums and products of numbers that are not negative occur.
/// Cost: sum over the shared causes of (nodes tied to it by a matrix + 2) * product of the open nodes' states.
///
/// A hypothesis multiplies, for each cause, the weight of its being present by a factor in [0, 1]: 0 forbids it, the
/// chance of a "no" enters a negative node. Causes at 0 cost nothing.
///
/// Something is wrong. A session that failed has a cause; what is left for "no known cause" is a cause that is not
/// listed. So the configuration without any cause counts with the factor `none_weight` (1: nothing is known of this):
/// every probability is that of the network given that the session failed, where a session without a listed cause fails
/// with that chance and any other one surely. Exact: that single configuration is known in closed form and taken out.
///
/// Immutable; safe for use by several threads at once, as each thread has scratch memory of its own.
class Trellis {
 public:
  /// \param prior  probability of each cause, in [0, 1]
  /// \param nodes  what was observed; causes are indices into `prior`
  /// \param none_weight  in [0, 1], see above
  /// \param instead_of  the last causes of `prior` are alternatives, one number each: the cause, before them all, that
  ///   it is instead of. At most one of a cause and its alternatives is there, each with its prior, together at most 1.
  ///   They are how a cause was there once and is gone (past.hpp)
  /// \throws std::domain_error   if a number is out of range (the message names the node)
  /// \throws FrontierTooWide     see TrellisLimits
  /// \throws ImpossibleEvidence  if P(evidence) is 0
  Trellis(std::span<const double> prior, std::span<const FindingNode> nodes, TrellisLimits limits = {},
          double none_weight = 1, std::span<const std::size_t> instead_of = {});
  ~Trellis();
  Trellis(Trellis&&) noexcept;
  Trellis& operator=(Trellis&&) noexcept;
  Trellis(const Trellis&) = delete;
  Trellis& operator=(const Trellis&) = delete;

  std::size_t causes() const noexcept;
  /// How many of them are no alternatives: the first ones.
  std::size_t current() const noexcept;
  /// P(evidence), with the configuration without a cause at its weight. Likelihoods count as they were given, so it may
  /// exceed 1 where they do.
  double evidence() const noexcept;
  /// P(cause present | evidence), one a cause.
  std::vector<double> posterior() const;
  /// The same of the current causes.
  std::vector<double> current_posterior() const;

  /// P(evidence under the hypothesis) / P(evidence), where each cause's weight of being present is multiplied by its
  /// factor. With 0 for a set of causes and 1 elsewhere: P(none of the set present | evidence).
  /// \param factor  one number in [0, 1] a cause
  double share(std::span<const double> factor) const;
  /// The same for many hypotheses, `factors` holding them one after the other. Result: one number a hypothesis. (A
  /// trellis without causes knows one hypothesis only.)
  std::vector<double> shares(std::span<const double> factors) const;
  /// P(cause present, hypothesis | evidence) for each cause and hypothesis: result[h * causes + i]. Divided by share h
  /// it is the posterior under hypothesis h. `shares_out` receives the shares.
  std::vector<double> joint_posteriors(std::span<const double> factors, std::vector<double>& shares_out) const;

  /// P(none of the current causes | evidence).
  double none_present() const noexcept;

  /// A set of causes that explains the evidence together, and how likely exactly this set is.
  struct CauseSet {
    std::vector<std::size_t> causes;  ///< ascending
    double probability;               ///< P(these present, all others absent | evidence)
  };
  /// The `most` most probable sets, the likeliest first, exactly: best first over sets that grow by one cause at a
  /// time. The weight of a set has a closed form; how much more a larger set can weigh is bounded (cause_sets.cpp).
  /// Gives up after looking at `looks` sets: what is returned then is right as far as it goes and `complete` is false.
  struct CauseSets {
    std::vector<CauseSet> sets;
    bool complete = true;
  };
  CauseSets most_probable_sets(std::size_t most, std::size_t looks = 10000) const;

  /// For tests and benchmarks: the widest frontier in states, and the shared causes.
  std::size_t widest() const noexcept;
  std::size_t shared_causes() const noexcept;
  /// The same: the nodes whose terms are subtracted from each other (coordinates.hpp: at_most).
  std::size_t subtracting() const noexcept;

  struct Plan;  ///< private to the implementation

 private:
  std::unique_ptr<Plan> plan_;
};

}  // namespace wheeltapper::belief
