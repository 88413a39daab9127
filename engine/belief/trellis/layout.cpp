#include "engine/belief/trellis/layout.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace wheeltapper::belief {
namespace {

constexpr std::size_t kMostOpenSigns = 64;
using Mask = std::uint64_t;

bool blocks(const OpenSign& sign, const Tie& tie) {
  return sign.reduced->may_block && sign.reduced->moves[tie.move].passes < 1;
}

/// What is left to do for each sign while causes are taken.
struct Left {
  std::size_t causes = 0;
  std::size_t blockers = 0;
};

std::vector<Left> all_left(const std::vector<OpenSign>& signs, const std::vector<std::vector<Tie>>& ties) {
  std::vector<Left> left(signs.size());
  for (const auto& of_cause : ties)
    for (const Tie& tie : of_cause) {
      ++left[tie.sign].causes;
      if (blocks(signs[tie.sign], tie)) ++left[tie.sign].blockers;
    }
  return left;
}

/// The narrowest sign first: all its causes, those that open least before the others; then it can be settled.
void append_by_narrowest(std::vector<std::size_t>& order, std::vector<std::size_t> open_causes,
                         const std::vector<std::vector<Tie>>& ties, const std::vector<Mask>& mask,
                         std::vector<Left> left) {
  while (!open_causes.empty()) {
    std::size_t narrowest = left.size();
    for (std::size_t s = 0; s < left.size(); ++s)
      if (left[s].causes > 0 && (narrowest == left.size() || left[s].causes < left[narrowest].causes)) narrowest = s;
    const auto others = std::stable_partition(open_causes.begin(), open_causes.end(),
                                              [&](std::size_t cause) { return (mask[cause] >> narrowest & 1U) != 0; });
    const std::size_t first = order.size();
    order.insert(order.end(), open_causes.begin(), others);
    open_causes.erase(open_causes.begin(), others);
    const auto taken = std::span(order).subspan(first);
    std::ranges::stable_sort(taken, {}, [&](std::size_t cause) { return ties[cause].size(); });
    for (const std::size_t cause : taken)
      for (const Tie& tie : ties[cause]) --left[tie.sign].causes;
  }
}

/// Two orders to choose from: by the narrowest sign alone, and with all blockers before that, as a sign whose blockers
/// are through has a coordinate less.
struct Orders {
  std::vector<std::size_t> plain;
  std::vector<std::size_t> blockers_first;  // empty where nothing blocks
};

Orders orders_of(const std::vector<OpenSign>& signs, const std::vector<std::vector<Tie>>& ties,
                 const std::vector<Left>& left) {
  std::vector<Mask> mask(ties.size(), 0);
  std::vector<std::size_t> shared;
  for (std::size_t cause = 0; cause < ties.size(); ++cause) {
    if (ties[cause].empty()) continue;
    shared.push_back(cause);
    for (const Tie& tie : ties[cause]) mask[cause] |= Mask{1} << tie.sign;
  }
  Orders orders;
  append_by_narrowest(orders.plain, shared, ties, mask, left);
  std::vector<std::size_t> blocked;  // signs, those with the fewest blockers first
  for (std::size_t s = 0; s < signs.size(); ++s)
    if (left[s].blockers > 0) blocked.push_back(s);
  if (blocked.empty()) return orders;
  std::ranges::stable_sort(blocked, {}, [&](std::size_t s) { return left[s].blockers; });
  std::vector<Left> rest_left = left;
  for (const std::size_t s : blocked)
    std::erase_if(shared, [&](std::size_t cause) {
      const bool now =
          std::ranges::any_of(ties[cause], [&](const Tie& t) { return t.sign == s && blocks(signs[s], t); });
      if (now) {
        orders.blockers_first.push_back(cause);
        for (const Tie& tie : ties[cause]) --rest_left[tie.sign].causes;
      }
      return now;
    });
  append_by_narrowest(orders.blockers_first, shared, ties, mask, rest_left);
  return orders;
}

/// Follows the state vector's axes through an order of causes.
class Walk {
 public:
  Walk(const std::vector<OpenSign>& signs, const std::vector<std::vector<Tie>>& ties, std::vector<Left> left)
      : signs_(signs), ties_(ties), left_(std::move(left)), open_(signs.size(), false), merged_(signs.size(), false) {}

  /// Steps * numbers of an order, without making anything of it.
  double cost(const std::vector<std::size_t>& order) {
    double sum = 0;
    for (const std::size_t cause : order) {
      open_all(cause, [](std::size_t) {});
      std::size_t passes = 2;
      for (const Tie& tie : ties_[cause]) passes += signs_[tie.sign].diagonal(merged_[tie.sign]) ? 0 : 1;
      sum += static_cast<double>(passes * size_);
      close_all(
          cause, [](std::size_t) {}, [](std::size_t) {});
    }
    return sum;
  }

  Layout build(const std::vector<std::size_t>& order, const TrellisLimits& limits) {
    layout_.operations.reserve(order.size() + 3 * signs_.size());
    for (const std::size_t cause : order) {
      open_all(cause, [&](std::size_t sign) { push_axis(Operation::Kind::open, sign, limits); });
      push_take(cause, limits);
      close_all(
          cause, [&](std::size_t sign) { push_axis(Operation::Kind::merge, sign, limits); },
          [&](std::size_t sign) { push_axis(Operation::Kind::settle, sign, limits); });
    }
    return std::move(layout_);
  }

 private:
  std::size_t coordinates(std::size_t sign) const { return signs_[sign].coordinates(merged_[sign]); }

  template <typename Opened>
  void open_all(std::size_t cause, Opened&& opened) {
    for (const Tie& tie : ties_[cause]) {
      if (open_[tie.sign]) continue;
      open_[tie.sign] = true;
      auto& axes = signs_[tie.sign].ends_diagonal() ? inside_ : outside_;
      axes.push_back(tie.sign);
      size_ *= coordinates(tie.sign);
      opened(tie.sign);
    }
  }

  /// A blocker of no shared cause is among the private ones, in the sign's start: then it merges after its first cause.
  template <typename Merged, typename Settled>
  void close_all(std::size_t cause, Merged&& merged, Settled&& settled) {
    for (const Tie& tie : ties_[cause]) {
      const OpenSign& sign = signs_[tie.sign];
      Left& left = left_[tie.sign];
      if (blocks(sign, tie)) --left.blockers;
      if (--left.causes == 0) {
        settled(tie.sign);
        size_ /= coordinates(tie.sign);
        std::erase(sign.ends_diagonal() ? inside_ : outside_, tie.sign);
      } else if (left.blockers == 0 && sign.reduced->may_block && !merged_[tie.sign]) {
        merged(tie.sign);
        size_ = size_ / coordinates(tie.sign) * (coordinates(tie.sign) - 1);
        merged_[tie.sign] = true;
      }
    }
  }

  /// Numbers between neighbours on a sign's axis.
  std::size_t stride(std::size_t sign) const {
    std::size_t product = 1;
    for (const auto* axes : {&inside_, &outside_})
      for (const std::size_t axis : *axes) {
        if (axis == sign) return product;
        product *= coordinates(axis);
      }
    return product;
  }

  void push(Operation operation, const TrellisLimits& limits) {
    operation.offset = layout_.numbers;
    layout_.numbers += operation.size_after;
    layout_.widest = std::max({layout_.widest, operation.size_before, operation.size_after});
    if (layout_.widest > limits.states || layout_.numbers > limits.numbers)
      throw FrontierTooWide(fmt::format("the evidence ties {} findings together; the exact sum stops at {} states",
                                        inside_.size() + outside_.size(), limits.states));
    layout_.operations.push_back(operation);
  }

  void push_axis(Operation::Kind kind, std::size_t sign, const TrellisLimits& limits) {
    const std::size_t n = coordinates(sign);
    const std::size_t inner = stride(sign);
    Operation operation{.kind = kind,
                        .what = sign,
                        .outer = 1,
                        .n = n,
                        .inner = inner,
                        .size_before = size_,
                        .size_after = size_,
                        .merged = merged_[sign]};
    if (kind == Operation::Kind::open) operation.size_before = size_ / n;
    if (kind == Operation::Kind::settle) operation.size_after = size_ / n;
    if (kind == Operation::Kind::merge) operation.size_after = size_ / n * (n - 1);
    operation.outer = size_ / n / inner;
    push(operation, limits);
  }

  std::size_t append_data(const Tie& tie) {
    double numbers[kMostSignStates * kMostSignStates];
    const OpenSign& sign = signs_[tie.sign];
    const std::size_t count = write_move(sign, sign.reduced->moves[tie.move], merged_[tie.sign], numbers);
    const std::size_t at = layout_.data.size();
    layout_.data.insert(layout_.data.end(), numbers, numbers + count);
    return at;
  }

  void push_take(std::size_t cause, const TrellisLimits& limits) {
    Operation take{.kind = Operation::Kind::take,
                   .what = cause,
                   .size_before = size_,
                   .size_after = size_,
                   .first_move = layout_.moves.size(),
                   .first_factor = layout_.factors.size()};
    std::vector<std::size_t>& factor_of = scratch_;
    factor_of.assign(signs_.size(), Layout::kNone);
    for (const Tie& tie : ties_[cause]) {
      const std::size_t data = append_data(tie);
      if (signs_[tie.sign].diagonal(merged_[tie.sign])) {
        factor_of[tie.sign] = data;
        continue;
      }
      const std::size_t n = coordinates(tie.sign);
      const std::size_t inner = stride(tie.sign);
      layout_.moves.push_back({size_ / n / inner, n, inner, data});
    }
    // A sign outside that has become diagonal is still taken by its matrix (see ends_diagonal: there is none).
    std::size_t used = inside_.size();
    while (used > 0 && factor_of[inside_[used - 1]] == Layout::kNone) --used;
    for (std::size_t a = 0; a < used; ++a) layout_.factors.push_back({coordinates(inside_[a]), factor_of[inside_[a]]});
    take.moves = layout_.moves.size() - take.first_move;
    take.factors = used;
    push(take, limits);
  }

  const std::vector<OpenSign>& signs_;
  const std::vector<std::vector<Tie>>& ties_;
  std::vector<Left> left_;
  std::vector<bool> open_, merged_;
  std::vector<std::size_t> inside_, outside_;  // open signs, the innermost axis first
  std::vector<std::size_t> scratch_;
  std::size_t size_ = 1;
  Layout layout_;
};

}  // namespace

Layout lay_out(const std::vector<OpenSign>& signs, const std::vector<std::vector<Tie>>& ties,
               const TrellisLimits& limits) {
  if (signs.size() > kMostOpenSigns)
    throw FrontierTooWide(
        fmt::format("{} findings are open at once; at most {} are taken", signs.size(), kMostOpenSigns));
  const std::vector<Left> left = all_left(signs, ties);
  const Orders orders = orders_of(signs, ties, left);
  const bool plain = orders.blockers_first.empty() ||
                     Walk(signs, ties, left).cost(orders.plain) <= Walk(signs, ties, left).cost(orders.blockers_first);
  return Walk(signs, ties, left).build(plain ? orders.plain : orders.blockers_first, limits);
}

}  // namespace wheeltapper::belief
