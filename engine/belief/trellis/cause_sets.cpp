// The most probable sets of causes, best first.
//
// w(X) = P(exactly X present, evidence) = prod_{i in X} p_i prod_{i not in X} (1 - p_i) prod_f L_f(X). A set grows by
// causes that come later in a fixed order, so each set is made once. For a larger set Y = X + Z two bounds hold, and
// the smaller counts, at its largest over the number m of further causes:
//   - a plain yes has L_f = 1 - (1 - leak) prod (1 - reach), whose logarithm is submodular in the set: what Z gains is
//   at
//     most the product of what each of its causes gains alone, so at most the product of the m largest single gains;
//   - L_f(Y) is at most the largest likelihood M_f, so Z gains at most prod_f M_f / L_f(X) times the m largest odds.
// A node that is neither a plain yes nor a plain no (levels, blocks, soft readings) enters both by M_f / L_f(X). A
// plain no multiplies each cause's odds by a number of its own, and stands in the odds.
#include <algorithm>
#include <cmath>
#include <queue>

#include "engine/belief/trellis.hpp"
#include "engine/belief/trellis/plan.hpp"

namespace wheeltapper::belief {
namespace {

/// A node as the set of causes present moves it: the chance of staying below each level, and of not being blocked.
struct Reached {
  Reach below{};  // P(level <= s), unblocked
  double open = 1;
};

/// The part of a cause in one node.
struct Hold {
  std::size_t node;
  Reach reach{};
  double blocks = 0;
};

double likelihood(const FindingNode& node, const Reached& at) {
  double sum = 0;
  double under = 0;  // P(level < s)
  for (std::size_t s = 0; s <= node.top; ++s) {
    const double upto = s == node.top ? 1 : at.below[s];
    sum += node.likelihood[s] * (upto - under);
    under = upto;
  }
  return at.open * sum + (1 - at.open) * node.likelihood_blocked;
}

bool plain_no(const FindingNode& node) {
  return node.blocks.empty() && node.likelihood[0] > 0 &&
         std::all_of(node.likelihood.begin() + 1, node.likelihood.end(), [](double each) { return each == 0; });
}

/// Seen, and by the same likelihood at each level above 0.
bool plain_yes(const FindingNode& node) {
  if (!node.blocks.empty() || node.likelihood[0] != 0) return false;
  for (std::size_t s = 1; s <= node.top; ++s)
    if (node.likelihood[s] != node.likelihood[1]) return false;
  return node.likelihood[1] > 0;
}

double largest(const FindingNode& node) {
  double most = node.blocks.empty() ? 0 : node.likelihood_blocked;
  for (std::size_t s = 0; s <= node.top; ++s) most = std::max(most, node.likelihood[s]);
  return most;
}

/// The network as the search wants it: odds with the plain noes in them, the other nodes, and each cause's part in
/// them.
class Net {
 public:
  Net(const Trellis::Plan& plan, const std::vector<std::size_t>& order) : odds_(order.size()), ties_(order.size()) {
    std::vector<std::size_t> place(order.size());
    for (std::size_t at = 0; at < order.size(); ++at) place[order[at]] = at;
    const Alternatives& alternatives = plan.problem.alternatives;
    std::vector<double> absent(order.size(), 1.0);
    for (std::size_t cause = 0; cause < order.size(); ++cause) absent[alternatives.first(cause)] -= plan.prior[cause];
    for (std::size_t at = 0; at < order.size(); ++at) {
      const std::size_t first = alternatives.first(order[at]);
      group_.push_back(first);
      odds_[at] = plan.prior[order[at]] / std::max(absent[first], 1e-300);
      if (first == order[at]) scale_ *= absent[first];
    }
    for (const FindingNode& node : plan.observed) add(node, place);
  }

  std::size_t causes() const { return odds_.size(); }
  /// At most one of those with the same number can be there.
  std::size_t group(std::size_t cause) const { return group_[cause]; }
  double odds(std::size_t cause) const { return odds_[cause]; }
  const std::vector<Hold>& ties(std::size_t cause) const { return ties_[cause]; }
  const FindingNode& node(std::size_t at) const { return *nodes_[at]; }
  std::size_t nodes() const { return nodes_.size(); }
  bool submodular(std::size_t at) const { return plain_[at]; }
  double most(std::size_t at) const { return most_[at]; }
  double scale() const { return scale_; }
  Reached start(std::size_t at) const {
    Reached reached;
    for (std::size_t s = 0; s < nodes_[at]->top; ++s) reached.below[s] = 1 - nodes_[at]->leak[s];
    return reached;
  }

 private:
  void add(const FindingNode& node, const std::vector<std::size_t>& place) {
    if (plain_no(node)) {
      scale_ *= node.likelihood[0] * (1 - node.leak[0]);
      for (const FindingNode::Link& link : node.links) odds_[place[link.cause]] *= 1 - link.reach[0];
      return;
    }
    const std::size_t at = nodes_.size();
    nodes_.push_back(&node);
    plain_.push_back(plain_yes(node));
    most_.push_back(largest(node));
    const auto tie = [&](std::size_t cause) -> Hold& {
      auto& ties = ties_[place[cause]];
      if (ties.empty() || ties.back().node != at) ties.push_back({at, {}, 0});
      return ties.back();
    };
    for (const FindingNode::Link& link : node.links) tie(link.cause).reach = link.reach;
    for (const FindingNode::Block& block : node.blocks) tie(block.cause).blocks = block.chance;
  }

  std::vector<double> odds_;
  std::vector<std::size_t> group_;
  std::vector<std::vector<Hold>> ties_;
  std::vector<const FindingNode*> nodes_;
  std::vector<char> plain_;
  std::vector<double> most_;
  double scale_ = 1;
};

Reached moved(const FindingNode& node, Reached reached, const Hold& tie) {
  for (std::size_t s = 0; s < node.top; ++s) reached.below[s] *= 1 - tie.reach[s];
  reached.open *= 1 - tie.blocks;
  return reached;
}

/// A set of causes with all that growing it needs.
struct Grown {
  std::vector<Reached> nodes;
  std::vector<double> like;  // of each node
  double alone = 0;          // scale and odds, without the nodes
};

Grown nothing_present(const Net& net) {
  Grown none;
  none.alone = net.scale();
  for (std::size_t f = 0; f < net.nodes(); ++f) {
    none.nodes.push_back(net.start(f));
    none.like.push_back(likelihood(net.node(f), none.nodes.back()));
  }
  return none;
}

/// \param in  places in the order
Grown grown_by(const Net& net, const Grown& none, const std::vector<std::size_t>& in) {
  Grown grown = none;
  for (const std::size_t cause : in) {
    grown.alone *= net.odds(cause);
    for (const Hold& tie : net.ties(cause))
      grown.nodes[tie.node] = moved(net.node(tie.node), grown.nodes[tie.node], tie);
  }
  for (std::size_t f = 0; f < net.nodes(); ++f) grown.like[f] = likelihood(net.node(f), grown.nodes[f]);
  return grown;
}

double weight_of(const Grown& grown) {
  double weight = grown.alone;
  for (const double each : grown.like) weight *= each;
  return weight;
}

/// With one cause more, without making the set.
double weight_with(const Net& net, const Grown& grown, std::size_t cause) {
  double weight = grown.alone * net.odds(cause);
  auto tie = net.ties(cause).begin();
  const auto end = net.ties(cause).end();
  for (std::size_t f = 0; f < net.nodes(); ++f) {
    const bool tied = tie != end && tie->node == f;
    weight *= tied ? likelihood(net.node(f), moved(net.node(f), grown.nodes[f], *tie)) : grown.like[f];
    if (tied) ++tie;
  }
  return weight;
}

/// The most that a set with further causes from `from` on can weigh.
double bound_of(const Net& net, const Grown& at, std::size_t from) {
  std::vector<double> gains;
  std::vector<double> odds;
  for (std::size_t cause = from; cause < net.causes(); ++cause) {
    double gain = net.odds(cause);
    odds.push_back(gain);
    for (const Hold& tie : net.ties(cause))
      if (net.submodular(tie.node) && at.like[tie.node] > 0)
        gain *= likelihood(net.node(tie.node), moved(net.node(tie.node), at.nodes[tie.node], tie)) / at.like[tie.node];
    gains.push_back(gain);
  }
  std::ranges::sort(gains, std::greater<>());
  std::ranges::sort(odds, std::greater<>());
  double with_gains = at.alone;  // nodes of their own kind at their most, plain ones as they are
  double with_odds = at.alone;   // all nodes at their most
  for (std::size_t f = 0; f < net.nodes(); ++f) {
    with_gains *= net.submodular(f) ? at.like[f] : net.most(f);
    with_odds *= net.most(f);
  }
  // From nothing to something no gain bounds: then the odds alone do.
  bool gains_bound = true;
  for (std::size_t f = 0; f < net.nodes(); ++f) gains_bound = gains_bound && (!net.submodular(f) || at.like[f] > 0);
  double most = 0;
  for (std::size_t m = 0; m < gains.size(); ++m) {
    with_gains *= gains[m];
    with_odds *= odds[m];
    most = std::max(most, gains_bound ? std::min(with_gains, with_odds) : with_odds);
    if ((gains[m] <= 1 || !gains_bound) && odds[m] <= 1) break;  // both only fall from here
  }
  return most;
}

/// A set to grow further; its own bound is only worked out when it comes up.
struct Node {
  double bound;
  bool exact;  // the bound is its own, not one that its parent left it
  std::vector<std::size_t> in;
  friend bool operator<(const Node& a, const Node& b) { return a.bound < b.bound; }
};

}  // namespace

Trellis::CauseSets Trellis::most_probable_sets(std::size_t most, std::size_t looks) const {
  const Plan& plan = *plan_;
  CauseSets result;
  if (most == 0) return result;
  std::vector<std::size_t> order(causes());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::ranges::stable_sort(order, std::greater<>(), [&](std::size_t i) { return plan.posterior[i]; });
  const Net net(plan, order);
  const double evidence = this->evidence();
  const auto better = [](const CauseSet& a, const CauseSet& b) { return a.probability > b.probability; };
  const auto least = [&] { return result.sets.size() < most ? 0.0 : result.sets.back().probability; };
  const auto offer = [&](const std::vector<std::size_t>& in, double weight) {
    if (!(weight / evidence > least())) return;
    CauseSet set{{}, weight / evidence};
    for (const std::size_t at : in) set.causes.push_back(order[at]);
    std::ranges::sort(set.causes);
    result.sets.insert(std::ranges::upper_bound(result.sets, set, better), std::move(set));
    if (result.sets.size() > most) result.sets.pop_back();
  };

  std::priority_queue<Node> open;
  const Grown none = nothing_present(net);
  offer({}, plan.weight_of_none * weight_of(none));
  open.push({1e300, false, {}});
  std::size_t looked = 0;
  while (!open.empty()) {
    Node top = open.top();
    open.pop();
    constexpr double kRounding = 1 + 1e-9;
    if (!(top.bound * kRounding / evidence > least())) break;
    const std::size_t from = top.in.empty() ? 0 : top.in.back() + 1;
    const Grown grown = grown_by(net, none, top.in);
    if (!top.exact) {
      top.bound = std::min(top.bound, bound_of(net, grown, from));
      top.exact = true;
      if (top.bound > 0) open.push(std::move(top));
      continue;
    }
    for (std::size_t cause = from; cause < net.causes(); ++cause) {
      if (!(net.odds(cause) > 0)) continue;
      if (std::ranges::any_of(top.in, [&](std::size_t in) { return net.group(in) == net.group(cause); })) continue;
      std::vector<std::size_t> in = top.in;
      in.push_back(cause);
      offer(in, weight_with(net, grown, cause));
      ++looked;
      if (cause + 1 < net.causes()) open.push({top.bound, false, std::move(in)});
    }
    if (looked >= looks) {
      result.complete = false;
      break;
    }
  }
  return result;
}

}  // namespace wheeltapper::belief
