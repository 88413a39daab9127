#include "engine/belief/trellis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <queue>

#include "engine/belief/kernels.hpp"
#include "engine/belief/reduce.hpp"

namespace wheeltapper::belief {
namespace {

constexpr std::size_t kLanes = 4;
constexpr std::size_t kMostOpenSigns = 64;
constexpr std::size_t kMatrix = kMostSignStates * kMostSignStates;

using Vector = std::array<double, kMostSignStates>;
using Matrix = std::array<double, kMatrix>;

Matrix transposed(const Matrix& m, std::size_t n) {
  Matrix t{};
  for (std::size_t r = 0; r < n; ++r)
    for (std::size_t c = 0; c < n; ++c) t[c * n + r] = m[r * n + c];
  return t;
}

/// A cause tied to one open sign only.
struct Private {
  std::size_t cause;
  Matrix matrix;
};

/// A sign of more than one state.
struct OpenSign {
  std::size_t states;
  Vector start;
  Vector likelihood;
  std::vector<Private> privates;
  std::size_t shared_left = 0;  // shared causes not yet taken, while planning
  bool opens = false;           // some shared cause is tied to it
};

struct Tie {
  std::size_t sign;  // among the open signs
  Matrix matrix;
  Matrix transpose;
};

struct AxisMove {
  std::size_t stride;
  std::size_t n;
  const Tie* tie;
};

/// One operation on the state vector: open a sign, take a cause, settle a sign.
struct Operation {
  enum class Kind { open, take, settle } kind;
  std::size_t what;         // sign or cause
  std::size_t size_before;  // states
  std::size_t size_after;
  std::size_t stride = 0;     // settle
  std::size_t offset = 0;     // of the result in the arena, in states
  std::vector<AxisMove> axes; // take
};

}  // namespace

struct Trellis::Plan {
  std::vector<double> prior;
  std::vector<double> fold;      // per cause: product over single-state signs
  double scale = 1;              // product over single-state signs without any cause
  std::vector<OpenSign> signs;
  std::vector<std::vector<Tie>> ties;  // per cause; only shared ones have some
  std::vector<std::size_t> settled;    // tied to no open sign
  std::vector<std::size_t> shared;
  std::vector<Operation> operations;
  std::size_t widest = 1;
  std::size_t numbers = 1;
  double evidence = 0;  // none_weight taken into account
  double taken_out = 0; // (1 - none_weight) * P(evidence, no cause)
  std::vector<double> posterior;

  // Scratch, reused by every pass.
  mutable std::vector<double> arena, moved, back, back_next, starts;

  void sort_causes(std::vector<Reduced>& reduced);
  void order(const TrellisLimits& limits);
  void take_cause(std::size_t cause, std::vector<std::size_t>& axes, std::size_t& size, const TrellisLimits& limits);

  double absent(std::size_t cause) const { return 1 - prior[cause]; }

  struct Weights {
    const double* present;  // [cause][lane]
    const double* absent;   // [cause], or nullptr for 1 - prior
    std::size_t lanes;
    double absent_of(const Plan& plan, std::size_t cause) const {
      return absent == nullptr ? plan.absent(cause) : absent[cause];
    }
  };
  void fold_privates(const Weights& weights) const;
  /// P(evidence under the weights), one a lane.
  void forward(const Weights& weights, double* total) const;
  /// After forward(): P(cause present, evidence), to joint[cause * lanes + lane].
  void backward(const Weights& weights, const double* total, double* joint) const;
  void private_joint(const Weights& weights, std::size_t sign, const double* gradient, double* joint) const;
  std::vector<double> full_weights() const;
  double no_cause() const;
};

namespace {

/// Which causes are tied to how many signs.
void count_ties(const std::vector<Reduced>& reduced, std::vector<std::size_t>& ties) {
  for (const Reduced& each : reduced)
    if (each.states > 1)
      for (const Move& move : each.moves) ++ties[move.cause];
}

}  // namespace

void Trellis::Plan::sort_causes(std::vector<Reduced>& reduced) {
  std::vector<std::size_t> count(prior.size(), 0);
  count_ties(reduced, count);
  ties.resize(prior.size());
  for (Reduced& each : reduced) {
    if (each.states == 1) {
      scale *= each.start[0] * each.likelihood[0];
      for (const Move& move : each.moves) fold[move.cause] *= move.matrix[0];
      continue;
    }
    OpenSign sign{each.states, each.start, each.likelihood, {}};
    for (const Move& move : each.moves) {
      if (count[move.cause] == 1) {
        sign.privates.push_back({move.cause, move.matrix});
      } else {
        ties[move.cause].push_back({signs.size(), move.matrix, transposed(move.matrix, each.states)});
        ++sign.shared_left;
        sign.opens = true;
      }
    }
    signs.push_back(std::move(sign));
  }
  for (std::size_t cause = 0; cause < prior.size(); ++cause) {
    if (count[cause] == 0) settled.push_back(cause);
    if (count[cause] > 1) shared.push_back(cause);
  }
}

void Trellis::Plan::take_cause(std::size_t cause, std::vector<std::size_t>& axes, std::size_t& size,
                               const TrellisLimits& limits) {
  const auto push = [&](Operation operation) {
    operation.offset = numbers;
    numbers += operation.size_after;
    widest = std::max(widest, operation.size_after);
    if (operation.size_after > limits.states || numbers > limits.numbers)
      throw FrontierTooWide(fmt::format("the evidence ties {} findings together; the exact sum stops at {} states",
                                        axes.size(), limits.states));
    size = operation.size_after;
    operations.push_back(std::move(operation));
  };
  for (const Tie& tie : ties[cause]) {
    if (std::ranges::find(axes, tie.sign) != axes.end()) continue;
    axes.push_back(tie.sign);
    push({Operation::Kind::open, tie.sign, size, size * signs[tie.sign].states, 0, 0, {}});
  }
  const auto stride_of = [&](std::size_t sign) {
    std::size_t stride = 1;
    for (const std::size_t axis : axes) {
      if (axis == sign) break;
      stride *= signs[axis].states;
    }
    return stride;
  };
  Operation take{Operation::Kind::take, cause, size, size, 0, 0, {}};
  for (const Tie& tie : ties[cause]) take.axes.push_back({stride_of(tie.sign), signs[tie.sign].states, &tie});
  push(std::move(take));
  for (const Tie& tie : ties[cause]) {
    if (--signs[tie.sign].shared_left > 0) continue;
    push({Operation::Kind::settle, tie.sign, size, size / signs[tie.sign].states, stride_of(tie.sign), 0, {}});
    std::erase(axes, tie.sign);
  }
}

/// The narrowest sign first: all its causes, those that open least before the others, then it can be settled.
void Trellis::Plan::order(const TrellisLimits& limits) {
  if (signs.size() > kMostOpenSigns)
    throw FrontierTooWide(fmt::format("{} positive findings; at most {} are taken", signs.size(), kMostOpenSigns));
  std::vector<std::uint64_t> mask(prior.size(), 0);
  for (const std::size_t cause : shared)
    for (const Tie& tie : ties[cause]) mask[cause] |= std::uint64_t{1} << tie.sign;
  std::vector<std::size_t> left = shared;
  std::vector<std::size_t> axes;
  std::size_t size = 1;
  while (!left.empty()) {
    std::size_t narrowest = signs.size();
    for (std::size_t s = 0; s < signs.size(); ++s)
      if (signs[s].shared_left > 0 &&
          (narrowest == signs.size() || signs[s].shared_left < signs[narrowest].shared_left))
        narrowest = s;
    std::vector<std::size_t> now;
    std::erase_if(left, [&](std::size_t cause) {
      const bool taken = (mask[cause] >> narrowest & 1U) != 0;
      if (taken) now.push_back(cause);
      return taken;
    });
    std::ranges::stable_sort(now, {}, [&](std::size_t cause) { return std::popcount(mask[cause]); });
    for (const std::size_t cause : now) take_cause(cause, axes, size, limits);
  }
}

std::vector<double> Trellis::Plan::full_weights() const {
  std::vector<double> present(prior.size());
  for (std::size_t i = 0; i < prior.size(); ++i) present[i] = prior[i] * fold[i];
  return present;
}

/// P(evidence, no cause present).
double Trellis::Plan::no_cause() const {
  double value = scale;
  for (std::size_t i = 0; i < prior.size(); ++i) value *= absent(i);
  for (const OpenSign& sign : signs) {
    double seen = 0;
    for (std::size_t k = 0; k < sign.states; ++k) seen += sign.start[k] * sign.likelihood[k];
    value *= seen;
  }
  return value;
}

/// Each sign's start with its private causes summed in, to starts[(sign * kMostSignStates + state) * lanes + lane].
void Trellis::Plan::fold_privates(const Weights& weights) const {
  const std::size_t lanes = weights.lanes;
  starts.assign(signs.size() * kMostSignStates * lanes, 0);
  for (std::size_t f = 0; f < signs.size(); ++f) {
    const std::size_t n = signs[f].states;
    for (std::size_t l = 0; l < lanes; ++l) {
      Vector v = signs[f].start;
      for (const Private& each : signs[f].privates) {
        const double stay = weights.absent_of(*this, each.cause);
        const double go = weights.present[each.cause * lanes + l];
        Vector next{};
        for (std::size_t r = 0; r < n; ++r) {
          double moved_in = 0;
          for (std::size_t c = 0; c <= r; ++c) moved_in += each.matrix[r * n + c] * v[c];
          next[r] = stay * v[r] + go * moved_in;
        }
        v = next;
      }
      for (std::size_t k = 0; k < n; ++k) starts[(f * kMostSignStates + k) * lanes + l] = v[k];
    }
  }
}

void Trellis::Plan::forward(const Weights& weights, double* total) const {
  const std::size_t lanes = weights.lanes;
  fold_privates(weights);
  arena.resize(numbers * lanes);
  moved.resize(widest * lanes);
  for (std::size_t l = 0; l < lanes; ++l) {
    double value = scale;
    for (const std::size_t cause : settled)
      value *= weights.absent_of(*this, cause) + weights.present[cause * lanes + l];
    for (std::size_t f = 0; f < signs.size(); ++f) {
      if (signs[f].opens) continue;
      double factor = 0;
      for (std::size_t k = 0; k < signs[f].states; ++k)
        factor += signs[f].likelihood[k] * starts[(f * kMostSignStates + k) * lanes + l];
      value *= factor;
    }
    arena[l] = value;
  }
  const double* now = arena.data();
  for (const Operation& op : operations) {
    double* out = arena.data() + op.offset * lanes;
    switch (op.kind) {
      case Operation::Kind::open:
        open_axis(now, out, signs[op.what].states, op.size_before, lanes, &starts[op.what * kMostSignStates * lanes]);
        break;
      case Operation::Kind::take: {
        const double* from = now;
        for (const AxisMove& axis : op.axes) {
          apply_axis(from, moved.data(), op.size_before / (axis.stride * axis.n), axis.n, axis.stride * lanes,
                     axis.tie->matrix.data());
          from = moved.data();
        }
        mix(out, now, from, weights.absent_of(*this, op.what), &weights.present[op.what * lanes], op.size_before,
            lanes);
        break;
      }
      case Operation::Kind::settle: {
        const OpenSign& sign = signs[op.what];
        contract(now, out, op.size_before / (op.stride * sign.states), sign.states, op.stride * lanes,
                 sign.likelihood.data());
        break;
      }
    }
    now = out;
  }
  std::copy_n(now, lanes, total);
}

/// P(each private cause present, evidence) from dP/d(start of its sign).
void Trellis::Plan::private_joint(const Weights& weights, std::size_t f, const double* gradient, double* joint) const {
  const std::size_t lanes = weights.lanes;
  const OpenSign& sign = signs[f];
  const std::size_t n = sign.states;
  std::vector<Vector> before(sign.privates.size() + 1);
  for (std::size_t l = 0; l < lanes; ++l) {
    before[0] = sign.start;
    const auto moved_by = [&](const Private& each, const Vector& v) {
      Vector out{};
      for (std::size_t r = 0; r < n; ++r)
        for (std::size_t c = 0; c <= r; ++c) out[r] += each.matrix[r * n + c] * v[c];
      return out;
    };
    for (std::size_t i = 0; i < sign.privates.size(); ++i) {
      const Private& each = sign.privates[i];
      const Vector m = moved_by(each, before[i]);
      for (std::size_t k = 0; k < n; ++k)
        before[i + 1][k] = weights.absent_of(*this, each.cause) * before[i][k] +
                           weights.present[each.cause * lanes + l] * m[k];
    }
    Vector after{};  // gradient, with the later private causes summed in
    for (std::size_t k = 0; k < n; ++k) after[k] = gradient[k * lanes + l];
    for (std::size_t i = sign.privates.size(); i-- > 0;) {
      const Private& each = sign.privates[i];
      const double go = weights.present[each.cause * lanes + l];
      const Vector m = moved_by(each, before[i]);
      double sum = 0;
      for (std::size_t k = 0; k < n; ++k) sum += after[k] * m[k];
      joint[each.cause * lanes + l] = go * sum;
      Vector next{};
      for (std::size_t c = 0; c < n; ++c) {
        next[c] = weights.absent_of(*this, each.cause) * after[c];
        for (std::size_t r = c; r < n; ++r) next[c] += go * each.matrix[r * n + c] * after[r];
      }
      after = next;
    }
  }
}

void Trellis::Plan::backward(const Weights& weights, const double* total, double* joint) const {
  const std::size_t lanes = weights.lanes;
  back.resize(widest * lanes);
  back_next.resize(widest * lanes);
  std::fill_n(back.begin(), lanes, 1.0);
  for (std::size_t at = operations.size(); at-- > 0;) {
    const Operation& op = operations[at];
    const double* before = arena.data() + (at == 0 ? 0 : operations[at - 1].offset) * lanes;
    switch (op.kind) {
      case Operation::Kind::settle: {
        const OpenSign& sign = signs[op.what];
        expand(back.data(), back_next.data(), op.size_before / (op.stride * sign.states), sign.states,
               op.stride * lanes, sign.likelihood.data());
        std::swap(back, back_next);
        break;
      }
      case Operation::Kind::take: {
        const double* from = back.data();
        for (const AxisMove& axis : op.axes) {
          apply_axis(from, moved.data(), op.size_before / (axis.stride * axis.n), axis.n, axis.stride * lanes,
                     axis.tie->transpose.data());
          from = moved.data();
        }
        double* sum = joint + op.what * lanes;
        std::fill_n(sum, lanes, 0.0);
        dot(before, from, sum, op.size_before, lanes);
        for (std::size_t l = 0; l < lanes; ++l) sum[l] *= weights.present[op.what * lanes + l];
        mix(back.data(), back.data(), from, weights.absent_of(*this, op.what), &weights.present[op.what * lanes],
            op.size_before, lanes);
        break;
      }
      case Operation::Kind::open: {
        const std::size_t n = signs[op.what].states;
        std::vector<double> gradient(n * lanes, 0.0);
        for (std::size_t k = 0; k < n; ++k)
          dot(back.data() + k * op.size_before * lanes, before, &gradient[k * lanes], op.size_before, lanes);
        private_joint(weights, op.what, gradient.data(), joint);
        close_open_axis(back.data(), back_next.data(), n, op.size_before, lanes,
                        &starts[op.what * kMostSignStates * lanes]);
        std::swap(back, back_next);
        break;
      }
    }
  }
  for (std::size_t f = 0; f < signs.size(); ++f) {
    if (signs[f].opens) continue;
    const std::size_t n = signs[f].states;
    std::vector<double> gradient(n * lanes, 0.0);
    for (std::size_t l = 0; l < lanes; ++l) {
      double factor = 0;
      for (std::size_t k = 0; k < n; ++k)
        factor += signs[f].likelihood[k] * starts[(f * kMostSignStates + k) * lanes + l];
      for (std::size_t k = 0; k < n; ++k)
        gradient[k * lanes + l] = factor > 0 ? signs[f].likelihood[k] * total[l] / factor : 0;
    }
    private_joint(weights, f, gradient.data(), joint);
  }
  for (const std::size_t cause : settled)
    for (std::size_t l = 0; l < lanes; ++l) {
      const double go = weights.present[cause * lanes + l];
      const double whole = weights.absent_of(*this, cause) + go;
      joint[cause * lanes + l] = whole > 0 ? total[l] * go / whole : 0;
    }
}

Trellis::Trellis(std::span<const double> prior, std::span<const Sign> signs, TrellisLimits limits,
                 double none_weight)
    : plan_(std::make_unique<Plan>()) {
  Plan& plan = *plan_;
  plan.prior.assign(prior.begin(), prior.end());
  for (const double p : prior)
    if (!(p >= 0 && p <= 1)) throw std::domain_error("a prior probability is outside 0 to 1");
  plan.fold.assign(prior.size(), 1.0);
  std::vector<Reduced> reduced;
  reduced.reserve(signs.size());
  for (std::size_t i = 0; i < signs.size(); ++i) {
    const auto in_range = [&](std::size_t cause) { return cause < prior.size(); };
    if (!std::ranges::all_of(signs[i].links, in_range, &Sign::Link::cause) ||
        !std::ranges::all_of(signs[i].blocks, in_range, &Sign::Block::cause))
      throw std::domain_error("sign " + signs[i].id + ": names a cause that is not there");
    if (auto one = reduce(signs[i], i)) reduced.push_back(std::move(*one));
  }
  plan.sort_causes(reduced);
  plan.order(limits);
  const std::vector<double> present = plan.full_weights();
  const Plan::Weights weights{present.data(), nullptr, 1};
  if (!(none_weight >= 0 && none_weight <= 1)) throw std::domain_error("the weight of no cause is outside 0 to 1");
  double total = 0;
  plan.forward(weights, &total);
  plan.taken_out = (1 - none_weight) * plan.no_cause();
  plan.evidence = total - plan.taken_out;
  if (!(plan.evidence > 0)) throw ImpossibleEvidence("the findings contradict each other: together they have no chance");
  plan.posterior.resize(prior.size());
  plan.backward(weights, &total, plan.posterior.data());
  for (double& p : plan.posterior) p = std::clamp(p / plan.evidence, 0.0, 1.0);
}

Trellis::~Trellis() = default;
Trellis::Trellis(Trellis&&) noexcept = default;
Trellis& Trellis::operator=(Trellis&&) noexcept = default;

std::size_t Trellis::causes() const noexcept { return plan_->prior.size(); }
double Trellis::evidence() const noexcept { return plan_->evidence; }
std::vector<double> Trellis::posterior() const { return plan_->posterior; }
std::size_t Trellis::widest() const noexcept { return plan_->widest; }
std::size_t Trellis::shared_causes() const noexcept { return plan_->shared.size(); }

double Trellis::share(std::span<const double> factor) const { return shares(factor).front(); }

namespace {

/// Hypotheses in groups of kLanes, or one by one where a group would hold a single one.
template <typename Group>
void in_groups(std::size_t hypotheses, Group&& group) {
  for (std::size_t first = 0; first < hypotheses;) {
    const std::size_t lanes = hypotheses - first > 1 ? kLanes : 1;
    group(first, lanes, std::min(lanes, hypotheses - first));
    first += lanes;
  }
}

/// Weights of a group in [cause][lane] order; lanes beyond `used` repeat the first.
std::vector<double> lane_weights(std::span<const double> full, std::span<const double> factors, std::size_t first,
                                 std::size_t lanes, std::size_t used) {
  const std::size_t causes = full.size();
  std::vector<double> present(causes * lanes);
  for (std::size_t i = 0; i < causes; ++i)
    for (std::size_t l = 0; l < lanes; ++l)
      present[i * lanes + l] = full[i] * factors[(first + (l < used ? l : 0)) * causes + i];
  return present;
}

}  // namespace

std::vector<double> Trellis::shares(std::span<const double> factors) const {
  const Plan& plan = *plan_;
  const std::vector<double> full = plan.full_weights();
  std::vector<double> result(causes() == 0 ? 1 : factors.size() / causes());
  if (causes() == 0) {
    result[0] = 1;
    return result;
  }
  in_groups(result.size(), [&](std::size_t first, std::size_t lanes, std::size_t used) {
    const auto present = lane_weights(full, factors, first, lanes, used);
    double total[kLanes];
    plan.forward({present.data(), nullptr, lanes}, total);
    for (std::size_t l = 0; l < used; ++l)
      result[first + l] = std::max(0.0, total[l] - plan.taken_out) / plan.evidence;
  });
  return result;
}

std::vector<double> Trellis::joint_posteriors(std::span<const double> factors, std::vector<double>& shares_out) const {
  const Plan& plan = *plan_;
  const std::vector<double> full = plan.full_weights();
  const std::size_t n = causes();
  const std::size_t hypotheses = n == 0 ? 0 : factors.size() / n;
  std::vector<double> result(factors.size());
  shares_out.assign(hypotheses, 1.0);
  in_groups(hypotheses, [&](std::size_t first, std::size_t lanes, std::size_t used) {
    const auto present = lane_weights(full, factors, first, lanes, used);
    std::vector<double> joint(n * lanes);
    double total[kLanes];
    const Plan::Weights weights{present.data(), nullptr, lanes};
    plan.forward(weights, total);
    plan.backward(weights, total, joint.data());
    for (std::size_t l = 0; l < used; ++l) {
      shares_out[first + l] = std::max(0.0, total[l] - plan.taken_out) / plan.evidence;
      for (std::size_t i = 0; i < n; ++i) result[(first + l) * n + i] = joint[i * lanes + l] / plan.evidence;
    }
  });
  return result;
}

double Trellis::none_present() const {
  const std::vector<double> nothing(causes(), 0.0);
  return share(nothing);
}

Trellis::CauseSets Trellis::most_probable_sets(std::size_t most, std::size_t passes) const {
  const Plan& plan = *plan_;
  std::vector<std::size_t> by_chance(causes());
  for (std::size_t i = 0; i < by_chance.size(); ++i) by_chance[i] = i;
  std::ranges::stable_sort(by_chance, std::greater<>(), [&](std::size_t i) { return plan.posterior[i]; });
  const std::vector<double> full = plan.full_weights();

  /// The first `decided` causes of by_chance are fixed: those in `in` present, the others absent.
  struct Node {
    std::size_t decided;
    std::vector<std::size_t> in;
    double mass;   // of all completions
    double alone;  // of the completion without further causes
    double bound() const { return std::max(alone, mass - alone); }
  };
  std::size_t used = 0;
  const auto mass_of = [&](std::size_t decided, const std::vector<std::size_t>& in) {
    std::vector<double> present = full;
    std::vector<double> absent(causes());
    for (std::size_t i = 0; i < causes(); ++i) absent[i] = plan.absent(i);
    for (std::size_t d = 0; d < decided; ++d) present[by_chance[d]] = 0;
    for (const std::size_t i : in) {
      present[i] = full[i];
      absent[i] = 0;
    }
    double total = 0;
    plan.forward({present.data(), absent.data(), 1}, &total);
    ++used;
    if (in.empty()) total = std::max(0.0, total - plan.taken_out);
    return total / plan.evidence;
  };
  const auto node = [&](std::size_t decided, std::vector<std::size_t> in) {
    Node made{decided, std::move(in), 0, 0};
    made.mass = mass_of(decided, made.in);
    made.alone = decided == causes() ? made.mass : mass_of(causes(), made.in);
    return made;
  };
  const auto worse = [](const Node& a, const Node& b) { return a.bound() < b.bound(); };
  std::priority_queue<Node, std::vector<Node>, decltype(worse)> open(worse);
  std::vector<CauseSet> found;
  const auto better = [](const CauseSet& a, const CauseSet& b) { return a.probability > b.probability; };
  const auto offer = [&](const Node& n) {
    CauseSet set{n.in, n.alone};
    std::ranges::sort(set.causes);
    found.insert(std::ranges::upper_bound(found, set, better), set);
    if (found.size() > most) found.pop_back();
  };
  const auto needed = [&](double bound) { return found.size() < most ? bound > 0 : bound > found.back().probability; };

  CauseSets result;
  if (most == 0) return result;
  Node root = node(0, {});
  offer(root);
  open.push(std::move(root));
  while (!open.empty()) {
    Node top = open.top();
    open.pop();
    if (top.decided == causes() || !needed(top.mass - top.alone)) continue;
    if (used >= passes) {
      result.complete = false;
      break;
    }
    const std::size_t next = by_chance[top.decided];
    std::vector<std::size_t> with = top.in;
    with.push_back(next);
    Node in = node(top.decided + 1, std::move(with));
    offer(in);
    // Without it: the completion without further causes is the parent's own, offered already.
    Node out{top.decided + 1, top.in, std::max(top.mass - in.mass, top.alone), top.alone};
    if (needed(in.mass - in.alone)) open.push(std::move(in));
    if (needed(out.mass - out.alone)) open.push(std::move(out));
  }
  result.sets = std::move(found);
  return result;
}

}  // namespace wheeltapper::belief
