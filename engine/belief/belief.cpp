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

std::shared_ptr<const Trellis> solve(Belief& belief, const TrellisLimits& limits) {
  for (;;) {
    try {
      return std::make_shared<const Trellis>(belief.network->prior(), belief.evidence.nodes, limits,
                                             belief.network->none_weight());
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
  const std::size_t n = network.causes().size();
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
      part.posterior =
          Trellis(belief.network->prior(), part.evidence.nodes, limits, belief.network->none_weight()).posterior();
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
      without = Trellis(belief.network->prior(), others, whole, belief.network->none_weight()).posterior();
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

}  // namespace

Belief infer(std::shared_ptr<const Network> network, Evidence evidence, const BeliefSettings& settings) {
  Belief belief;
  belief.network = std::move(network);
  belief.evidence = std::move(evidence);
  belief.trellis = solve(belief, settings.limits);
  belief.posterior = belief.trellis->posterior();
  belief.ranking = ranked(belief.posterior);
  belief.none_present = belief.trellis->none_present();
  fill_places(belief);
  if (settings.sets > 0) belief.sets = belief.trellis->most_probable_sets(settings.sets);
  fill_weights(belief, settings.explained, settings.limits);
  return belief;
}

}  // namespace wheeltapper::belief
