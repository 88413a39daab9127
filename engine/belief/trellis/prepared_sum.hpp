#pragma once
#include <optional>
#include <span>
#include <vector>

#include "engine/belief/trellis/layout.hpp"

namespace wheeltapper::belief {

/// Causes of which at most one is there: a cause, and behind it those that are there instead of it. The weight of the
/// absence of all of them stands with the first. Most causes are alone.
class Alternatives {
 public:
  Alternatives() = default;
  /// \param instead_of  for each of the last causes: the one that it is an alternative to, not itself among them
  Alternatives(std::size_t causes, std::span<const std::size_t> instead_of);
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);
  bool any() const { return !first_.empty(); }
  std::size_t first(std::size_t cause) const { return first_.empty() ? cause : first_[cause]; }
  bool is_first(std::size_t cause) const { return first(cause) == cause; }
  /// The next of the same group; kNone behind the last.
  std::size_t next(std::size_t cause) const { return next_.empty() ? kNone : next_[cause]; }

 private:
  std::vector<std::size_t> first_, next_;  // empty where all are alone
};

/// A cause tied to one open node only: it is summed into the node's start.
struct Private {
  static constexpr std::size_t kStays = static_cast<std::size_t>(-1);
  std::size_t cause;
  std::size_t data;  ///< what it does to the node's coordinates, in PreparedSum::private_moves; kStays: nothing
  bool instead;      ///< it is there instead of the one before it
};

/// All that the passes work on; what does not depend on the weights of the causes.
struct PreparedSum {
  std::vector<Reduced> reduced;
  std::vector<OpenNode> nodes;
  std::vector<std::vector<Private>> privates;  ///< by node
  std::vector<double> private_moves;           ///< factors or matrices, one after the other
  std::vector<bool> opens;                     ///< by node: some shared cause is tied to it
  std::vector<std::vector<Tie>> ties;          ///< by cause; only of shared ones
  std::vector<std::size_t> settled;            ///< causes tied to no open node, with all that are instead of them
  Alternatives alternatives;
  double scale = 1;  ///< of nodes without a state or a cause
  Layout layout;
};

/// The nodes of `reduced`, each in its basis, made ready: which causes are private, shared or settled, and the layout.
/// A node that no shared cause is tied to is put into level coordinates.
/// \param bases  one a node of `reduced`
/// \throws FrontierTooWide
void make_ready(PreparedSum& problem, std::size_t causes, std::span<const Basis> bases, const TrellisLimits& limits);

/// Adds to those that are kept all their alternatives.
void keep_together(const Alternatives& alternatives, std::vector<bool>& keep);

/// The problem with only some causes left, the others being surely absent: often far narrower. The weight of their
/// absence is not in it. Nothing where the order of its causes comes out wider than the whole: it would save no work.
/// \param keep  by cause; what is an alternative to one that is kept stays too
std::optional<PreparedSum> restricted(const PreparedSum& problem, std::vector<bool> keep);

/// Weight of each cause's being present and being absent, together with the nodes of one state.
struct Weights {
  std::span<const double> present;
  std::span<const double> absent;  ///< of all alternatives together with the first of them; 1 with the others
};

/// P(evidence, exactly these causes present): a product, without any pass.
/// \param present  causes, ascending
double exactly(const PreparedSum& problem, const Weights& weights, std::span<const std::size_t> present);

}  // namespace wheeltapper::belief
