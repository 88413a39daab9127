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
  const double* numbers;  ///< nullptr: none
  std::size_t n;
  bool diagonal;
  StateVector forward(const StateVector& v) const {
    if (numbers == nullptr) return v;
    StateVector out{};
    if (diagonal)
      for (std::size_t k = 0; k < n; ++k) out[k] = numbers[k] * v[k];
    else
      for (std::size_t r = 0; r < n; ++r)
        for (std::size_t c = 0; c <= r; ++c) out[r] += numbers[r * n + c] * v[c];
    return out;
  }
  StateVector backward(const StateVector& v) const {
    if (numbers == nullptr) return v;
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
  const double* numbers = each.data == Private::kStays ? nullptr : &problem.private_moves[each.data];
  return {numbers, open.coordinates(false), open.diagonal(false)};
}

StateVector mixed(double absent, const StateVector& stay, double present, const StateVector& moved, std::size_t n) {
  StateVector out{};
  for (std::size_t k = 0; k < n; ++k) out[k] = absent * stay[k] + present * moved[k];
  return out;
}

void add(double present, const StateVector& moved, std::size_t n, StateVector& sum) {
  for (std::size_t k = 0; k < n; ++k) sum[k] += present * moved[k];
}

/// Chance of a group of settled causes: of none, and of each of them.
double whole(const PreparedSum& problem, const Weights& weights, std::size_t first) {
  double sum = weights.absent[first];
  for (std::size_t each = first; each != Alternatives::kNone; each = problem.alternatives.next(each))
    sum += weights.present[each];
  return sum;
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
    const std::size_t n = problem.nodes[f].coordinates(false);
    StateVector before{};
    StateVector v = problem.nodes[f].start;
    for (const Private& each : problem.privates[f]) {
      const PrivateMove move = private_move(problem, f, each);
      const double present = weights.present[each.cause];
      if (each.instead) {
        add(present, move.forward(before), n, v);
        continue;
      }
      before = v;
      v = mixed(weights.absent[each.cause], before, present, move.forward(before), n);
    }
    starts_[f] = v;
  }
}

/// The factor of everything that no shared cause is tied to.
double Passes::outside(const PreparedSum& problem, const Weights& weights) const {
  double value = problem.scale;
  for (const std::size_t first : problem.settled) value *= whole(problem, weights, first);
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

void Passes::take_instead(const PreparedSum& problem, const Operation& op, const Weights& weights, const double* before,
                          double* to) {
  const std::size_t lanes = lane_factors(problem.layout, op, weights.present[op.what]);
  const double* there = moved(problem.layout, op, before, false);
  mix_lanes(to, there, to, op.size_before / lanes, lanes, 1.0, lane_.data());
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
    const bool of_cause = op.kind == Kind::take || op.kind == Kind::instead;
    const bool possible = of_cause && weights.present[op.what] != 0;
    if (op.kind == Kind::take && problem.alternatives.next(op.what) == Alternatives::kNone && !possible) {
      scale *= weights.absent[op.what];
      continue;
    }
    if (op.kind == Kind::instead) {  // what the take started from is still in the other buffer
      if (possible) take_instead(problem, op, weights, other_.data(), one_.data());
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
  const double* before = from;
  for (std::size_t at = first; at < operations.size(); ++at) {
    if (operations[at].kind == Kind::instead) {  // the take before it wrote to one_
      take_instead(problem, operations[at], weights, before, one_.data());
      continue;
    }
    step(problem, operations[at], weights, from, other_.data(), Sum::magnitudes);
    std::swap(one_, other_);
    before = at == first ? from : other_.data();
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
  const double* before = now;
  double magnitude = -1;
  for (std::size_t at = 0; at < layout.operations.size(); ++at) {
    const Operation& op = layout.operations[at];
    if (lost != nullptr && magnitude < 0 && subtracts(problem, op))
      magnitude = magnitude_from(problem, weights, at, now);
    double* out = kept_.data() + op.offset;
    if (op.kind == Kind::instead) {
      take_instead(problem, op, weights, before, out);
      continue;
    }
    step(problem, op, weights, now, out, Sum::as_is);
    before = now;
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
  std::vector<StateVector> before;  // by private cause: without it and its alternatives
  StateVector v = node.start;
  for (std::size_t i = 0; i < privates.size(); ++i) {
    const PrivateMove move = private_move(problem, f, privates[i]);
    const double present = weights.present[privates[i].cause];
    before.push_back(privates[i].instead ? before.back() : v);
    if (privates[i].instead)
      add(present, move.forward(before[i]), n, v);
    else
      v = mixed(weights.absent[privates[i].cause], before[i], present, move.forward(before[i]), n);
  }
  StateVector after = gradient;  // with the later private causes summed in
  StateVector sum{};             // the same with those of the group at hand
  for (std::size_t i = privates.size(); i-- > 0;) {
    const std::size_t cause = privates[i].cause;
    const StateVector back = private_move(problem, f, privates[i]).backward(after);
    double dot = 0;
    for (std::size_t k = 0; k < n; ++k) dot += back[k] * before[i][k];
    joint[cause] = weights.present[cause] * dot;
    add(weights.present[cause], back, n, sum);
    if (privates[i].instead) continue;
    add(weights.absent[cause], after, n, sum);
    after = sum;
    sum = {};
  }
}

/// A take and the causes instead of it, backwards: operation `at` is the last of them.
void Passes::take_back(const PreparedSum& problem, std::size_t at, const Weights& weights, const double* before,
                       std::span<double> joint) {
  const auto& operations = problem.layout.operations;
  bool first = true;
  for (;; --at) {
    const Operation& op = operations[at];
    const std::size_t lanes = lane_factors(problem.layout, op, weights.present[op.what]);
    const std::size_t outer = op.size_before / lanes;
    const double* there = moved(problem.layout, op, one_.data(), true);
    joint[op.what] = dot_lanes(before, there, outer, lanes, lane_.data());
    const bool last = op.kind == Kind::take;
    const double absent = last ? weights.absent[op.what] : 0;
    if (first) {
      mix_lanes(one_.data(), there, other_.data(), outer, lanes, absent, lane_.data());
    } else {
      mix_lanes(other_.data(), there, other_.data(), outer, lanes, 1, lane_.data());
      if (last)
        for (std::size_t i = 0; i < op.size_before; ++i) other_[i] += absent * one_[i];
    }
    first = false;
    if (last) break;
  }
  std::swap(one_, other_);
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
      case Kind::instead: {
        std::size_t take = at;
        while (layout.operations[take].kind == Kind::instead) --take;
        take_back(problem, at, weights, kept_.data() + (take == 0 ? 0 : layout.operations[take - 1].offset), joint);
        at = take;
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
  for (const std::size_t first : problem.settled) {
    const double all = whole(problem, weights, first);
    for (std::size_t each = first; each != Alternatives::kNone; each = problem.alternatives.next(each))
      joint[each] = all > 0 ? total * weights.present[each] / all : 0;
  }
  constexpr std::size_t kKeptWarm = std::size_t{1} << 20U;  // numbers: 8 MB a thread
  if (kept_.size() > kKeptWarm) std::vector<double>().swap(kept_);
}

}  // namespace wheeltapper::belief
