#include "engine/belief/trellis/passes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/belief/trellis/kernels.hpp"

namespace wheeltapper::belief {
namespace {

using Kind = Operation::Kind;
using Square = std::array<double, kMostNodeStates * kMostNodeStates>;

/// A private cause's effect on its node's coordinates.
struct PrivateMove {
  const double* numbers;
  std::size_t n;
  bool diagonal;
  StateVector forward(const StateVector& v) const {
    StateVector out{};
    if (diagonal)
      for (std::size_t k = 0; k < n; ++k) out[k] = numbers[k] * v[k];
    else
      for (std::size_t r = 0; r < n; ++r)
        for (std::size_t c = 0; c <= r; ++c) out[r] += numbers[r * n + c] * v[c];
    return out;
  }
  StateVector backward(const StateVector& v) const {
    StateVector out{};
    if (diagonal)
      for (std::size_t k = 0; k < n; ++k) out[k] = numbers[k] * v[k];
    else
      for (std::size_t c = 0; c < n; ++c)
        for (std::size_t r = c; r < n; ++r) out[c] += numbers[r * n + c] * v[r];
    return out;
  }
};

PrivateMove private_move(const PreparedSum& problem, std::size_t node, const Private& each) {
  const OpenNode& open = problem.nodes[node];
  return {&problem.private_moves[each.data], open.coordinates(false), open.diagonal(false)};
}

StateVector mixed(double absent, const StateVector& stay, double present, const StateVector& moved, std::size_t n) {
  StateVector out{};
  for (std::size_t k = 0; k < n; ++k) out[k] = absent * stay[k] + present * moved[k];
  return out;
}

/// What an axis is settled or merged with.
StateVector weights_of(const PreparedSum& problem, const Operation& op) {
  const OpenNode& node = problem.nodes[op.what];
  StateVector weight{};
  for (std::size_t k = 0; k < op.n; ++k) weight[k] = node.settled_weight(k, op.merged);
  return weight;
}

void merge_axis(const double* from, double* to, const Operation& op, double top, double blocked) {
  for (std::size_t o = 0; o < op.outer; ++o) {
    const double* f = from + o * op.n * op.inner;
    double* t = to + o * (op.n - 1) * op.inner;
    std::copy_n(f, (op.n - 2) * op.inner, t);
    for (std::size_t i = 0; i < op.inner; ++i)
      t[(op.n - 2) * op.inner + i] = top * f[(op.n - 2) * op.inner + i] + blocked * f[(op.n - 1) * op.inner + i];
  }
}

void unmerge_axis(const double* from, double* to, const Operation& op, double top, double blocked) {
  for (std::size_t o = 0; o < op.outer; ++o) {
    const double* f = from + o * (op.n - 1) * op.inner;
    double* t = to + o * op.n * op.inner;
    std::copy_n(f, (op.n - 2) * op.inner, t);
    for (std::size_t i = 0; i < op.inner; ++i) {
      t[(op.n - 2) * op.inner + i] = top * f[(op.n - 2) * op.inner + i];
      t[(op.n - 1) * op.inner + i] = blocked * f[(op.n - 2) * op.inner + i];
    }
  }
}

constexpr StateVector kOnes = [] {
  StateVector ones{};
  for (double& each : ones) each = 1;
  return ones;
}();

void grow(std::vector<double>& memory, std::size_t size) {
  if (memory.size() < size) memory.resize(size);
}

bool subtracts(const PreparedSum& problem, const Operation& op) {
  if (op.kind != Kind::merge && op.kind != Kind::settle) return false;
  return std::ranges::any_of(problem.nodes[op.what].weight, [](double w) { return w < 0; });
}

}  // namespace

Passes& Passes::of_thread() {
  static thread_local Passes passes;
  return passes;
}

/// Each node's start with its private causes summed in.
void Passes::fold_privates(const PreparedSum& problem, const Weights& weights) {
  starts_.resize(problem.nodes.size());
  for (std::size_t f = 0; f < problem.nodes.size(); ++f) {
    StateVector v = problem.nodes[f].start;
    for (const Private& each : problem.privates[f])
      v = mixed(weights.absent[each.cause], v, weights.present[each.cause], private_move(problem, f, each).forward(v),
                problem.nodes[f].coordinates(false));
    starts_[f] = v;
  }
}

/// The factor of everything that no shared cause is tied to.
double Passes::outside(const PreparedSum& problem, const Weights& weights) const {
  double value = problem.scale;
  for (const std::size_t cause : problem.settled) value *= weights.absent[cause] + weights.present[cause];
  for (std::size_t f = 0; f < problem.nodes.size(); ++f) {
    if (problem.opens[f]) continue;
    double factor = 0;
    for (std::size_t k = 0; k < problem.nodes[f].coordinates(false); ++k)
      factor += problem.nodes[f].weight[k] * starts_[f][k];
    value *= factor;
  }
  return value;
}

/// The product of the factors along all axes inside, times `present`, to lane_; repeated until it is worth a loop.
std::size_t Passes::lane_factors(const Layout& layout, const Operation& op, double present) {
  constexpr std::size_t kWorthALoop = 64;
  double* lane = lane_.data();
  lane[0] = present;
  std::size_t size = 1;
  for (std::size_t a = op.first_factor; a < op.first_factor + op.factors; ++a) {
    const AxisFactor& axis = layout.factors[a];
    extend_lanes(lane, size, axis.n, axis.data == Layout::kNone ? kOnes.data() : &layout.data[axis.data]);
    size *= std::max<std::size_t>(axis.n, 1);
  }
  while (size < kWorthALoop && op.size_before / size % 2 == 0) {
    std::copy_n(lane, size, lane + size);
    size *= 2;
  }
  return size;
}

/// `from` moved along all axes outside by a cause; `from` itself where there is none.
const double* Passes::moved(const Layout& layout, const Operation& op, const double* from, bool transposed) {
  for (std::size_t m = op.first_move; m < op.first_move + op.moves; ++m) {
    const AxisMove& move = layout.moves[m];
    apply_axis(from, moved_.data(), move.outer, move.n, move.inner, &layout.data[move.data], transposed);
    from = moved_.data();
  }
  return from;
}

void Passes::take(const PreparedSum& problem, const Operation& op, const Weights& weights, const double* from,
                  double* to) {
  const std::size_t lanes = lane_factors(problem.layout, op, weights.present[op.what]);
  const double absent = weights.absent[op.what];
  const double* there = moved(problem.layout, op, from, false);
  if (there == from)
    scale_lanes(from, to, op.size_before / lanes, lanes, absent, lane_.data());
  else
    mix_lanes(from, there, to, op.size_before / lanes, lanes, absent, lane_.data());
}

void Passes::step(const PreparedSum& problem, const Operation& op, const Weights& weights, const double* from,
                  double* to, Sum sum) {
  if (op.kind == Kind::take) {
    take(problem, op, weights, from, to);
    return;
  }
  if (op.kind == Kind::open) {
    expand(from, to, op.outer, op.n, op.inner, starts_[op.what].data());
    return;
  }
  StateVector weight = weights_of(problem, op);
  if (sum == Sum::magnitudes)
    for (double& w : weight) w = std::abs(w);
  if (op.kind == Kind::settle)
    contract(from, to, op.outer, op.n, op.inner, weight.data());
  else
    merge_axis(from, to, op, weight[op.n - 2], weight[op.n - 1]);
}

double Passes::total(const PreparedSum& problem, const Weights& weights) {
  const Layout& layout = problem.layout;
  fold_privates(problem, weights);
  double scale = outside(problem, weights);
  grow(moved_, layout.widest);
  grow(lane_, 2 * layout.widest);
  grow(one_, layout.widest);
  grow(other_, layout.widest);
  one_[0] = 1;
  for (const Operation& op : layout.operations) {
    if (op.kind == Kind::take && weights.present[op.what] == 0) {
      scale *= weights.absent[op.what];
      continue;
    }
    step(problem, op, weights, one_.data(), other_.data(), Sum::as_is);
    std::swap(one_, other_);
  }
  return scale * one_[0];
}

/// The rest of a pass from operation `first` on, with all magnitudes.
double Passes::magnitude_from(const PreparedSum& problem, const Weights& weights, std::size_t first,
                              const double* from) {
  const auto& operations = problem.layout.operations;
  grow(one_, problem.layout.widest);
  grow(other_, problem.layout.widest);
  for (std::size_t at = first; at < operations.size(); ++at) {
    step(problem, operations[at], weights, from, other_.data(), Sum::magnitudes);
    std::swap(one_, other_);
    from = one_.data();
  }
  return from[0];
}

double Passes::keep(const PreparedSum& problem, const Weights& weights, double* lost) {
  const Layout& layout = problem.layout;
  fold_privates(problem, weights);
  grow(moved_, layout.widest);
  grow(lane_, 2 * layout.widest);
  grow(kept_, layout.numbers);
  kept_[0] = outside(problem, weights);
  const double* now = kept_.data();
  double magnitude = -1;
  for (std::size_t at = 0; at < layout.operations.size(); ++at) {
    const Operation& op = layout.operations[at];
    if (lost != nullptr && magnitude < 0 && subtracts(problem, op))
      magnitude = magnitude_from(problem, weights, at, now);
    double* out = kept_.data() + op.offset;
    step(problem, op, weights, now, out, Sum::as_is);
    now = out;
  }
  if (lost != nullptr)
    *lost = magnitude < 0 ? 1 : now[0] > 0 ? magnitude / now[0] : std::numeric_limits<double>::infinity();
  return now[0];
}

/// P(each private cause present, evidence) from dP/d(start of its node).
void Passes::private_joint(const PreparedSum& problem, const Weights& weights, std::size_t f,
                           const StateVector& gradient, std::span<double> joint) const {
  const OpenNode& node = problem.nodes[f];
  const std::size_t n = node.coordinates(false);
  const auto& privates = problem.privates[f];
  if (privates.empty()) return;
  std::vector<StateVector> before{node.start};
  for (const Private& each : privates)
    before.push_back(mixed(weights.absent[each.cause], before.back(), weights.present[each.cause],
                           private_move(problem, f, each).forward(before.back()), n));
  StateVector after = gradient;  // with the later private causes summed in
  for (std::size_t i = privates.size(); i-- > 0;) {
    const std::size_t cause = privates[i].cause;
    const StateVector back = private_move(problem, f, privates[i]).backward(after);
    double sum = 0;
    for (std::size_t k = 0; k < n; ++k) sum += back[k] * before[i][k];
    joint[cause] = weights.present[cause] * sum;
    after = mixed(weights.absent[cause], after, weights.present[cause], back, n);
  }
}

void Passes::backward(const PreparedSum& problem, const Weights& weights, double total, std::span<double> joint) {
  const Layout& layout = problem.layout;
  grow(one_, layout.widest);
  grow(other_, layout.widest);
  one_[0] = 1;
  for (std::size_t at = layout.operations.size(); at-- > 0;) {
    const Operation& op = layout.operations[at];
    const double* before = kept_.data() + (at == 0 ? 0 : layout.operations[at - 1].offset);
    switch (op.kind) {
      case Kind::settle:
        expand(one_.data(), other_.data(), op.outer, op.n, op.inner, weights_of(problem, op).data());
        std::swap(one_, other_);
        break;
      case Kind::merge: {
        const StateVector weight = weights_of(problem, op);
        unmerge_axis(one_.data(), other_.data(), op, weight[op.n - 2], weight[op.n - 1]);
        std::swap(one_, other_);
        break;
      }
      case Kind::take: {
        const std::size_t lanes = lane_factors(layout, op, weights.present[op.what]);
        const std::size_t outer = op.size_before / lanes;
        const double absent = weights.absent[op.what];
        const double* there = moved(layout, op, one_.data(), true);
        joint[op.what] = dot_lanes(before, there, outer, lanes, lane_.data());
        if (there == one_.data())
          scale_lanes(there, one_.data(), outer, lanes, absent, lane_.data());
        else
          mix_lanes(one_.data(), there, one_.data(), outer, lanes, absent, lane_.data());
        break;
      }
      case Kind::open: {
        StateVector gradient{};
        for (std::size_t o = 0; o < op.outer; ++o)
          for (std::size_t k = 0; k < op.n; ++k)
            gradient[k] += dot(one_.data() + (o * op.n + k) * op.inner, before + o * op.inner, op.inner);
        private_joint(problem, weights, op.what, gradient, joint);
        contract(one_.data(), other_.data(), op.outer, op.n, op.inner, starts_[op.what].data());
        std::swap(one_, other_);
        break;
      }
    }
  }
  for (std::size_t f = 0; f < problem.nodes.size(); ++f) {
    if (problem.opens[f]) continue;
    const OpenNode& node = problem.nodes[f];
    double factor = 0;
    for (std::size_t k = 0; k < node.coordinates(false); ++k) factor += node.weight[k] * starts_[f][k];
    StateVector gradient{};
    for (std::size_t k = 0; k < node.coordinates(false); ++k)
      gradient[k] = factor > 0 ? node.weight[k] * (total / factor) : 0;
    private_joint(problem, weights, f, gradient, joint);
  }
  for (const std::size_t cause : problem.settled) {
    const double whole = weights.absent[cause] + weights.present[cause];
    joint[cause] = whole > 0 ? total * weights.present[cause] / whole : 0;
  }
  constexpr std::size_t kKeptWarm = std::size_t{1} << 20U;  // numbers: 8 MB a thread
  if (kept_.size() > kKeptWarm) std::vector<double>().swap(kept_);
}

}  // namespace wheeltapper::belief
