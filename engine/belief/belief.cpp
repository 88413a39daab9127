#include "engine/belief/belief.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace wheeltapper::belief {
namespace {

constexpr double kSmallest = 1e-12;  // chances are held this far from 0 and 1 before their odds are taken

double log10_odds(double chance) {
  const double held = std::clamp(chance, kSmallest, 1 - kSmallest);
  return std::log10(held / (1 - held));
}

std::vector<std::size_t> ranked(const std::vector<double>& chance) {
  std::vector<std::size_t> order(chance.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::ranges::stable_sort(order, std::greater<>(), [&](std::size_t i) { return chance[i]; });
  return order;
}

/// The positive finding with the most causes: it tells least.
std::size_t widest_node(const Evidence& evidence) {
  std::size_t widest = evidence.nodes.size();
  for (std::size_t i = 0; i < evidence.nodes.size(); ++i) {
    const FindingNode& node = evidence.nodes[i];
    const bool folds =
        node.likelihood[0] > 0 &&
        std::all_of(node.likelihood.begin() + 1, node.likelihood.end(), [](double l) { return l == 0; }) &&
        node.blocks.empty();
    if (!folds && (widest == evidence.nodes.size() || node.links.size() > evidence.nodes[widest].links.size()))
      widest = i;
  }
  if (widest == evidence.nodes.size()) throw FrontierTooWide("the evidence cannot be made narrower");
  return widest;
}

void leave_out(Evidence& evidence, std::size_t at) {
  evidence.dropped.push_back(
      {evidence.items[at].id, "too many findings at once: this one tells least and was left out"});
  evidence.nodes.erase(evidence.nodes.begin() + static_cast<std::ptrdiff_t>(at));
  evidence.items.erase(evidence.items.begin() + static_cast<std::ptrdiff_t>(at));
}

/// "It is still wrong", of what is there now: as in a session without a listed cause, only an unlisted one can be it
/// when all are gone.
FindingNode still_wrong(const Network& network) {
  FindingNode node{.id = "it is still wrong", .links = {}, .blocks = {}};
  for (std::size_t i = 0; i < network.causes().size(); ++i) node.links.push_back({i, Reach{1}});
  node.likelihood = {network.none_weight(), 1};
  return node;
}

Trellis trellis_of(const Network& network, const Evidence& evidence, std::vector<FindingNode> nodes,
                   const TrellisLimits& limits) {
  if (evidence.still_failing) nodes.push_back(still_wrong(network));
  const auto& prior = evidence.prior.empty() ? network.prior() : evidence.prior;
  return {prior, nodes, limits, evidence.still_failing ? 1.0 : network.none_weight(), evidence.instead_of};
}

std::shared_ptr<const Trellis> solve(Belief& belief, const TrellisLimits& limits) {
  for (;;) {
    try {
      return std::make_shared<const Trellis>(
          trellis_of(*belief.network, belief.evidence, belief.evidence.nodes, limits));
    } catch (const FrontierTooWide&) {
      leave_out(belief.evidence, widest_node(belief.evidence));
      belief.approximate = true;
    }
  }
}

void fill_places(Belief& belief) {
  const Network& network = *belief.network;
  std::map<std::string_view, std::size_t> at;
  for (const auto& place : network.catalogue().items().places) {
    at.emplace(place.id, belief.places.size());
    belief.places.push_back({&place, 0, {}});
  }
  for (const std::size_t cause : belief.ranking)
    belief.places[at.at(network.causes()[cause]->place)].causes.push_back(cause);
  std::erase_if(belief.places, [](const PlaceChance& p) { return p.causes.empty(); });
  const std::size_t n = belief.trellis->causes();
  std::vector<double> factors(belief.places.size() * n, 1.0);
  for (std::size_t p = 0; p < belief.places.size(); ++p)
    for (const std::size_t cause : belief.places[p].causes) factors[p * n + cause] = 0;
  const auto none_here = belief.trellis->shares(factors);
  for (std::size_t p = 0; p < belief.places.size(); ++p)
    belief.places[p].chance = std::clamp(1 - none_here[p], 0.0, 1.0);
  std::ranges::stable_sort(belief.places, std::greater<>(), &PlaceChance::chance);
}

/// What the sums for explanations are made from: all nodes, or where that would take long, without the widest of them.
struct Explained {
  Evidence evidence;
  std::vector<std::size_t> items;  ///< index of each in the whole evidence
  std::vector<double> posterior;
};

/// One sum a finding: each may cost so much less than that of the posterior itself.
constexpr std::size_t kCheaper = 16;

Explained explained_evidence(const Belief& belief, const TrellisLimits& limits) {
  Explained part{belief.evidence, {}, belief.posterior};
  for (std::size_t i = 0; i < part.evidence.items.size(); ++i) part.items.push_back(i);
  const auto fits = [&] {
    try {
      part.posterior = trellis_of(*belief.network, part.evidence, part.evidence.nodes, limits).current_posterior();
      return true;
    } catch (const FrontierTooWide&) {
      return false;
    }
  };
  if (belief.trellis->widest() <= limits.states) return part;  // the posterior that is there will do
  while (!fits()) {
    const std::size_t gone = widest_node(part.evidence);
    part.items.erase(part.items.begin() + static_cast<std::ptrdiff_t>(gone));
    leave_out(part.evidence, gone);
  }
  return part;
}

void fill_weights(Belief& belief, std::size_t explained, const TrellisLimits& whole) {
  belief.weights.resize(belief.posterior.size());
  const std::size_t shown = std::min(explained, belief.ranking.size());
  if (shown == 0) return;
  const TrellisLimits limits{whole.states / kCheaper, whole.numbers / kCheaper};
  const Explained part = explained_evidence(belief, limits);
  for (std::size_t left_out = 0; left_out < part.evidence.nodes.size(); ++left_out) {
    std::vector<FindingNode> others = part.evidence.nodes;
    others.erase(others.begin() + static_cast<std::ptrdiff_t>(left_out));
    std::vector<double> without;
    try {
      without = trellis_of(*belief.network, part.evidence, std::move(others), whole).current_posterior();
    } catch (const FrontierTooWide&) {
      continue;  // rare: without a node the order of causes may come out wider; this one then goes unexplained
    }
    for (std::size_t r = 0; r < shown; ++r) {
      const std::size_t cause = belief.ranking[r];
      const double decibans = 10 * (log10_odds(part.posterior[cause]) - log10_odds(without[cause]));
      belief.weights[cause].push_back({part.items[left_out], decibans});
    }
  }
  for (auto& weights : belief.weights)
    std::ranges::stable_sort(weights, std::greater<>(), [](const Weight& w) { return std::abs(w.decibans); });
}

/// The most probable sets of what is there now: those that differ in what is gone are one. After a repair the chance of
/// each is a lower bound, as what lies beyond those that were looked at may add to it.
Trellis::CauseSets sets_there_now(const Trellis& trellis, std::size_t most) {
  const bool all_now = trellis.current() == trellis.causes();
  constexpr std::size_t kMany = 4;  // looked for, as some of them fall together
  Trellis::CauseSets sets = trellis.most_probable_sets(all_now ? most : kMany * most);
  if (all_now) return sets;
  std::map<std::vector<std::size_t>, double> merged;
  for (auto& set : sets.sets) {
    std::erase_if(set.causes, [&](std::size_t cause) { return cause >= trellis.current(); });
    merged[set.causes] += set.probability;
  }
  sets.sets.clear();
  for (const auto& [causes, probability] : merged) sets.sets.push_back({causes, probability});
  std::ranges::stable_sort(sets.sets, std::greater<>(), &Trellis::CauseSet::probability);
  if (sets.sets.size() > most) sets.sets.resize(most);
  return sets;
}

}  // namespace

Belief infer(std::shared_ptr<const Network> network, Evidence evidence, const BeliefSettings& settings) {
  Belief belief;
  belief.network = std::move(network);
  belief.evidence = std::move(evidence);
  belief.trellis = solve(belief, settings.limits);
  belief.posterior = belief.trellis->current_posterior();
  belief.ranking = ranked(belief.posterior);
  belief.none_present = belief.trellis->none_present();
  fill_places(belief);
  if (settings.sets > 0) belief.sets = sets_there_now(*belief.trellis, settings.sets);
  fill_weights(belief, settings.explained, settings.limits);
  return belief;
}

}  // namespace wheeltapper::belief
