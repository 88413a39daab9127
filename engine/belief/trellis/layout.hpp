#pragma once
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "engine/belief/trellis/coordinates.hpp"

namespace wheeltapper::belief {

/// A present cause acts on one axis of the state vector by a matrix. An axis of `n` coordinates with `inner` numbers
/// between neighbours occurs `outer` times.
struct AxisMove {
  std::size_t outer, n, inner;
  std::size_t data;  ///< its n * n numbers, in Layout::data
};

/// A present cause multiplies along one axis. The factors of all these axes together are the lanes' factors, as they
/// are the innermost ones.
struct AxisFactor {
  std::size_t n;
  std::size_t data;  ///< its n numbers; Layout::kNone: all 1
};

/// One step over the state vector.
struct Operation {
  enum class Kind {
    open,     ///< a new axis, `inner` numbers inside it: to[o][k][i] = start[k] * from[o][i]
    take,     ///< a cause: absent * from + present * moved
    instead,  ///< behind a take: a cause that is there instead: to += present * moved, of what the take started from
    merge,    ///< the last two coordinates of an axis, weighed, into one
    settle,   ///< an axis ends: to[o][i] = sum over k of weight[k] * from[o][k][i]
  };
  Kind kind;
  std::size_t what;  ///< the node, or the cause
  std::size_t outer = 1, n = 1, inner = 1;
  std::size_t size_before, size_after;        ///< numbers in the state vector
  std::size_t offset = 0;                     ///< of the result when all results are kept
  bool merged = false;                        ///< settle: the node's last coordinate has been weighed already
  std::size_t first_move = 0, moves = 0;      ///< take, instead: into Layout::moves
  std::size_t first_factor = 0, factors = 0;  ///< the same: into Layout::factors, from the innermost axis
};

/// The shared causes in the order in which they are taken, as operations. The state vector has an axis for each open
/// node: it opens before its first shared cause and is settled after its last. Axes on which causes only multiply lie
/// inside the others, so that one loop runs over them all.
struct Layout {
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);
  std::vector<Operation> operations;
  std::vector<AxisMove> moves;
  std::vector<AxisFactor> factors;
  std::vector<double> data;
  std::size_t widest = 1;   ///< numbers in the widest state vector
  std::size_t numbers = 1;  ///< in all state vectors together
};

/// Which cause moves which node.
struct Tie {
  std::uint32_t node;
  std::uint32_t move;  ///< index into the node's moves
};

class Alternatives;

/// \param ties  for each cause; those of causes that are not shared are empty. Alternatives are taken together
/// \throws FrontierTooWide
Layout lay_out(const std::vector<OpenNode>& nodes, const std::vector<std::vector<Tie>>& ties,
               const Alternatives& alternatives, const TrellisLimits& limits);

}  // namespace wheeltapper::belief
