#include <algorithm>
#include <queue>

#include "engine/belief/trellis.hpp"
#include "engine/belief/trellis_plan.hpp"

namespace wheeltapper::belief {

Trellis::CauseSets Trellis::most_probable_sets(std::size_t most, std::size_t passes) const {
  const Plan& plan = *plan_;
  std::vector<std::size_t> by_chance(causes());
  for (std::size_t i = 0; i < by_chance.size(); ++i) by_chance[i] = i;
  std::ranges::stable_sort(by_chance, std::greater<>(), [&](std::size_t i) { return plan.posterior[i]; });
  const std::vector<double>& full = plan.present;

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
    std::vector<double> absent = plan.absent;
    for (std::size_t d = 0; d < decided; ++d) present[by_chance[d]] = 0;
    for (const std::size_t i : in) {
      present[i] = full[i];
      absent[i] = 0;
    }
    double total = Passes::of_thread().total(plan.problem, {present, absent});
    ++used;
    if (in.empty()) total = std::max(0.0, total - plan.taken_out);
    return total / plan.evidence;
  };
  const auto alone_of = [&](std::vector<std::size_t> in) {
    std::ranges::sort(in);
    return in.empty() ? plan.none_present : exactly(plan.problem, plan.weights(), in) / plan.evidence;
  };
  const auto node = [&](std::size_t decided, std::vector<std::size_t> in) {
    Node made{decided, std::move(in), 0, 0};
    made.alone = alone_of(made.in);
    made.mass = decided == causes() ? made.alone : std::max(made.alone, mass_of(decided, made.in));
    return made;
  };
  const auto worse = [](const Node& a, const Node& b) { return a.bound() < b.bound(); };
  std::priority_queue<Node, std::vector<Node>, decltype(worse)> open(worse);
  std::vector<CauseSet> found;
  const auto better = [](const CauseSet& a, const CauseSet& b) { return a.probability > b.probability; };
  const auto offer = [&](const Node& n) {
    if (!(n.alone > 0)) return;
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
