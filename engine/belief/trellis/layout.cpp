#include "engine/belief/trellis/layout.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/belief/trellis/prepared_sum.hpp"

namespace wheeltapper::belief {
namespace {

constexpr std::size_t kMostOpenNodes = 64;
using Mask = std::uint64_t;

bool blocks(const OpenNode& node, const Tie& tie) {
  return node.reduced->may_block && node.reduced->moves[tie.move].passes < 1;
}

/// What is left to do for each node while causes are taken.
struct Left {
  std::size_t causes = 0;
  std::size_t blockers = 0;
};

std::vector<Left> all_left(const std::vector<OpenNode>& nodes, const std::vector<std::vector<Tie>>& ties) {
  std::vector<Left> left(nodes.size());
  for (const auto& of_cause : ties)
    for (const Tie& tie : of_cause) {
      ++left[tie.node].causes;
      if (blocks(nodes[tie.node], tie)) ++left[tie.node].blockers;
    }
  return left;
}

/// The narrowest node first: all its causes, those that open least before the others; then it can be settled.
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
      for (const Tie& tie : ties[cause]) --left[tie.node].causes;
  }
}

/// Two orders to choose from: by the narrowest node alone, and with all blockers before that, as a node whose blockers
/// are through has a coordinate less.
struct Orders {
  std::vector<std::size_t> plain;
  std::vector<std::size_t> blockers_first;  // empty where nothing blocks
};

Orders orders_of(const std::vector<OpenNode>& nodes, const std::vector<std::vector<Tie>>& ties,
                 const std::vector<Left>& left) {
  std::vector<Mask> mask(ties.size(), 0);
  std::vector<std::size_t> shared;
  for (std::size_t cause = 0; cause < ties.size(); ++cause) {
    if (ties[cause].empty()) continue;
    shared.push_back(cause);
    for (const Tie& tie : ties[cause]) mask[cause] |= Mask{1} << tie.node;
  }
  Orders orders;
  append_by_narrowest(orders.plain, shared, ties, mask, left);
  std::vector<std::size_t> blocked;  // nodes, those with the fewest blockers first
  for (std::size_t s = 0; s < nodes.size(); ++s)
    if (left[s].blockers > 0) blocked.push_back(s);
  if (blocked.empty()) return orders;
  std::ranges::stable_sort(blocked, {}, [&](std::size_t s) { return left[s].blockers; });
  std::vector<Left> rest_left = left;
  for (const std::size_t s : blocked)
    std::erase_if(shared, [&](std::size_t cause) {
      const bool now =
          std::ranges::any_of(ties[cause], [&](const Tie& t) { return t.node == s && blocks(nodes[s], t); });
      if (now) {
        orders.blockers_first.push_back(cause);
        for (const Tie& tie : ties[cause]) --rest_left[tie.node].causes;
      }
      return now;
    });
  append_by_narrowest(orders.blockers_first, shared, ties, mask, rest_left);
  return orders;
}

/// The ties of a cause together with those of its alternatives, by the first of them.
std::vector<std::vector<Tie>> ties_together(const std::vector<std::vector<Tie>>& ties,
                                            const Alternatives& alternatives) {
  std::vector<std::vector<Tie>> together(ties.size());
  for (std::size_t cause = 0; cause < ties.size(); ++cause) {
    auto& all = together[alternatives.first(cause)];
    all.insert(all.end(), ties[cause].begin(), ties[cause].end());
  }
  return together;
}

/// Follows the state vector's axes through an order of causes.
class Walk {
 public:
  /// \param ties  of alternatives together
  Walk(const std::vector<OpenNode>& nodes, const std::vector<std::vector<Tie>>& ties, std::vector<Left> left)
      : nodes_(nodes), ties_(ties), left_(std::move(left)), open_(nodes.size(), false), merged_(nodes.size(), false) {}

  /// Steps * numbers of an order, without making anything of it.
  double cost(const std::vector<std::size_t>& order) {
    double sum = 0;
    for (const std::size_t cause : order) {
      open_all(cause, [](std::size_t) {});
      std::size_t passes = 2;
      for (const Tie& tie : ties_[cause]) passes += nodes_[tie.node].diagonal(merged_[tie.node]) ? 0 : 1;
      sum += static_cast<double>(passes * size_);
      close_all(
          cause, [](std::size_t) {}, [](std::size_t) {});
    }
    return sum;
  }

  /// \param single  the ties of each cause alone
  Layout build(const std::vector<std::size_t>& order, const std::vector<std::vector<Tie>>& single,
               const Alternatives& alternatives, const TrellisLimits& limits) {
    layout_.operations.reserve(order.size() + 3 * nodes_.size());
    for (const std::size_t cause : order) {
      open_all(cause, [&](std::size_t node) { push_axis(Operation::Kind::open, node, limits); });
      push_take(Operation::Kind::take, cause, single[cause], limits);
      for (std::size_t each = alternatives.next(cause); each != Alternatives::kNone; each = alternatives.next(each))
        push_take(Operation::Kind::instead, each, single[each], limits);
      close_all(
          cause, [&](std::size_t node) { push_axis(Operation::Kind::merge, node, limits); },
          [&](std::size_t node) { push_axis(Operation::Kind::settle, node, limits); });
    }
    return std::move(layout_);
  }

 private:
  std::size_t coordinates(std::size_t node) const { return nodes_[node].coordinates(merged_[node]); }

  template <typename Opened>
  void open_all(std::size_t cause, Opened&& opened) {
    for (const Tie& tie : ties_[cause]) {
      if (open_[tie.node]) continue;
      open_[tie.node] = true;
      auto& axes = nodes_[tie.node].ends_diagonal() ? inside_ : outside_;
      axes.push_back(tie.node);
      size_ *= coordinates(tie.node);
      opened(tie.node);
    }
  }

  /// A blocker of no shared cause is among the private ones, in the node's start: then it merges after its first cause.
  template <typename Merged, typename Settled>
  void close_all(std::size_t cause, Merged&& merged, Settled&& settled) {
    for (const Tie& tie : ties_[cause]) {
      const OpenNode& node = nodes_[tie.node];
      Left& left = left_[tie.node];
      if (blocks(node, tie)) --left.blockers;
      if (--left.causes == 0) {
        settled(tie.node);
        size_ /= coordinates(tie.node);
        std::erase(node.ends_diagonal() ? inside_ : outside_, tie.node);
      } else if (left.blockers == 0 && node.reduced->may_block && !merged_[tie.node]) {
        merged(tie.node);
        size_ = size_ / coordinates(tie.node) * (coordinates(tie.node) - 1);
        merged_[tie.node] = true;
      }
    }
  }

  /// Numbers between neighbours on a node's axis.
  std::size_t stride(std::size_t node) const {
    std::size_t product = 1;
    for (const auto* axes : {&inside_, &outside_})
      for (const std::size_t axis : *axes) {
        if (axis == node) return product;
        product *= coordinates(axis);
      }
    return product;
  }

  void push(Operation operation, const TrellisLimits& limits) {
    const bool in_place = operation.kind == Operation::Kind::instead;
    operation.offset = in_place ? layout_.operations.back().offset : layout_.numbers;
    if (!in_place) layout_.numbers += operation.size_after;
    layout_.widest = std::max({layout_.widest, operation.size_before, operation.size_after});
    if (layout_.widest > limits.states || layout_.numbers > limits.numbers)
      throw FrontierTooWide(fmt::format("the evidence ties {} findings together; the exact sum stops at {} states",
                                        inside_.size() + outside_.size(), limits.states));
    layout_.operations.push_back(operation);
  }

  void push_axis(Operation::Kind kind, std::size_t node, const TrellisLimits& limits) {
    const std::size_t n = coordinates(node);
    const std::size_t inner = stride(node);
    Operation operation{.kind = kind,
                        .what = node,
                        .outer = 1,
                        .n = n,
                        .inner = inner,
                        .size_before = size_,
                        .size_after = size_,
                        .merged = merged_[node]};
    if (kind == Operation::Kind::open) operation.size_before = size_ / n;
    if (kind == Operation::Kind::settle) operation.size_after = size_ / n;
    if (kind == Operation::Kind::merge) operation.size_after = size_ / n * (n - 1);
    operation.outer = size_ / n / inner;
    push(operation, limits);
  }

  std::size_t append_data(const Tie& tie) {
    double numbers[kMostNodeStates * kMostNodeStates];
    const OpenNode& node = nodes_[tie.node];
    const std::size_t count = write_move(node, node.reduced->moves[tie.move], merged_[tie.node], numbers);
    const std::size_t at = layout_.data.size();
    layout_.data.insert(layout_.data.end(), numbers, numbers + count);
    return at;
  }

  void push_take(Operation::Kind kind, std::size_t cause, const std::vector<Tie>& ties, const TrellisLimits& limits) {
    Operation take{.kind = kind,
                   .what = cause,
                   .size_before = size_,
                   .size_after = size_,
                   .first_move = layout_.moves.size(),
                   .first_factor = layout_.factors.size()};
    std::vector<std::size_t>& factor_of = scratch_;
    factor_of.assign(nodes_.size(), Layout::kNone);
    for (const Tie& tie : ties) {
      const std::size_t data = append_data(tie);
      if (nodes_[tie.node].diagonal(merged_[tie.node])) {
        factor_of[tie.node] = data;
        continue;
      }
      const std::size_t n = coordinates(tie.node);
      const std::size_t inner = stride(tie.node);
      layout_.moves.push_back({size_ / n / inner, n, inner, data});
    }
    // A node outside that has become diagonal is still taken by its matrix (see ends_diagonal: there is none).
    std::size_t used = inside_.size();
    while (used > 0 && factor_of[inside_[used - 1]] == Layout::kNone) --used;
    for (std::size_t a = 0; a < used; ++a) layout_.factors.push_back({coordinates(inside_[a]), factor_of[inside_[a]]});
    take.moves = layout_.moves.size() - take.first_move;
    take.factors = used;
    push(take, limits);
  }

  const std::vector<OpenNode>& nodes_;
  const std::vector<std::vector<Tie>>& ties_;
  std::vector<Left> left_;
  std::vector<bool> open_, merged_;
  std::vector<std::size_t> inside_, outside_;  // open nodes, the innermost axis first
  std::vector<std::size_t> scratch_;
  std::size_t size_ = 1;
  Layout layout_;
};

}  // namespace

Layout lay_out(const std::vector<OpenNode>& nodes, const std::vector<std::vector<Tie>>& single,
               const Alternatives& alternatives, const TrellisLimits& limits) {
  if (nodes.size() > kMostOpenNodes)
    throw FrontierTooWide(
        fmt::format("{} findings are open at once; at most {} are taken", nodes.size(), kMostOpenNodes));
  const auto together = alternatives.any() ? ties_together(single, alternatives) : std::vector<std::vector<Tie>>();
  const auto& ties = alternatives.any() ? together : single;
  const std::vector<Left> left = all_left(nodes, ties);
  const Orders orders = orders_of(nodes, ties, left);
  const bool plain = orders.blockers_first.empty() ||
                     Walk(nodes, ties, left).cost(orders.plain) <= Walk(nodes, ties, left).cost(orders.blockers_first);
  return Walk(nodes, ties, left).build(plain ? orders.plain : orders.blockers_first, single, alternatives, limits);
}

}  // namespace wheeltapper::belief
