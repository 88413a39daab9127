#pragma once
#include <cstddef>

#include "engine/belief/trellis/reduce.hpp"

namespace wheeltapper::belief {

/// How the trellis writes down what an open node has come to. Both are exact.
///   level    number k: the weight of all configurations so far that leave the node in state k (the last: blocked).
///            A present cause is a triangular matrix. All numbers and weights are at least 0: nothing cancels.
///   at_most  number k: the weight of those that leave it unblocked in state k or below; where it may be blocked one
///            more number, the weight of all. A present cause multiplies each number by a factor of its own, which
///            costs far less. When the node is settled these are subtracted from each other, which costs digits: none
///            worth speaking of for a node that the other evidence makes likely, many for a surprising one
///            (nodes_at_most).
/// The blocked state merges with the top level once no cause is left that can block: neither can be left any more.
enum class Basis { level, at_most };

/// A node of more than one state, in its coordinates.
struct OpenNode {
  const Reduced* reduced;  ///< must outlive it
  Basis basis = Basis::level;
  StateVector start{};   ///< before any cause
  StateVector weight{};  ///< of each coordinate, when it is settled (and not merged)

  std::size_t coordinates(bool merged) const { return reduced->states() - (merged ? 1 : 0); }
  /// Weight of a coordinate when it is settled; merging has already weighed the last.
  double settled_weight(std::size_t k, bool merged) const {
    return merged && k + 1 == coordinates(true) ? 1.0 : weight[k];
  }
  /// True if a cause only multiplies the coordinates.
  bool diagonal(bool merged) const;
  /// True if it is diagonal as soon as it can be.
  bool ends_diagonal() const { return diagonal(reduced->may_block); }
};

OpenNode in_basis(const Reduced& reduced, Basis basis);

/// What the move does to the coordinates: one factor each where the node is diagonal, else a square matrix, row by row.
/// \param out  room for coordinates(merged) or its square
/// \returns how many numbers were written
std::size_t write_move(const OpenNode& node, const Move& move, bool merged, double* out);

}  // namespace wheeltapper::belief
