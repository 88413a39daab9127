#pragma once
#include <optional>
#include <span>
#include <vector>

#include "engine/belief/trellis/layout.hpp"

namespace wheeltapper::belief {

/// A cause tied to one open node only: it is summed into the node's start.
struct Private {
  std::size_t cause;
  std::size_t data;  ///< what it does to the node's coordinates, in PreparedSum::private_moves
};

/// All that the passes work on; what does not depend on the weights of the causes.
struct PreparedSum {
  std::vector<Reduced> reduced;
  std::vector<OpenNode> nodes;
  std::vector<std::vector<Private>> privates;  ///< by node
  std::vector<double> private_moves;           ///< factors or matrices, one after the other
  std::vector<bool> opens;                     ///< by node: some shared cause is tied to it
  std::vector<std::vector<Tie>> ties;          ///< by cause; only of shared ones
  std::vector<std::size_t> settled;            ///< causes tied to no open node
  double scale = 1;                            ///< of nodes without a state or a cause
  Layout layout;
};

/// The nodes of `reduced`, each in its basis, made ready: which causes are private, shared or settled, and the layout.
/// A node that no shared cause is tied to is put into level coordinates.
/// \param bases  one a node of `reduced`
/// \throws FrontierTooWide
void make_ready(PreparedSum& problem, std::size_t causes, std::span<const Basis> bases, const TrellisLimits& limits);

/// The problem with only some causes left, the others being surely absent: often far narrower. The weight of their
/// absence is not in it. Nothing where the order of its causes comes out wider than the whole: it would save no work.
/// \param keep  by cause
std::optional<PreparedSum> restricted(const PreparedSum& problem, const std::vector<bool>& keep);

/// Weight of each cause's being present and being absent, together with the nodes of one state.
struct Weights {
  std::span<const double> present;
  std::span<const double> absent;
};

/// P(evidence, exactly these causes present): a product, without any pass.
/// \param present  causes, ascending
double exactly(const PreparedSum& problem, const Weights& weights, std::span<const std::size_t> present);

}  // namespace wheeltapper::belief
