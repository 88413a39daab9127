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

/// Leaves out the positive finding with the most causes.
void leave_one_out(Evidence& evidence) {
  std::size_t widest = evidence.signs.size();
  for (std::size_t i = 0; i < evidence.signs.size(); ++i) {
    const Sign& sign = evidence.signs[i];
    const bool folds =
        sign.likelihood[0] > 0 &&
        std::all_of(sign.likelihood.begin() + 1, sign.likelihood.end(), [](double l) { return l == 0; }) &&
        sign.blocks.empty();
    if (!folds && (widest == evidence.signs.size() || sign.links.size() > evidence.signs[widest].links.size()))
      widest = i;
  }
  if (widest == evidence.signs.size()) throw FrontierTooWide("the evidence cannot be made narrower");
  evidence.dropped.push_back(
      {evidence.items[widest].id, "too many findings at once: this one tells least and was left out"});
  evidence.signs.erase(evidence.signs.begin() + static_cast<std::ptrdiff_t>(widest));
  evidence.items.erase(evidence.items.begin() + static_cast<std::ptrdiff_t>(widest));
}

std::shared_ptr<const Trellis> solve(Belief& belief, const TrellisLimits& limits) {
  for (;;) {
    try {
      return std::make_shared<const Trellis>(belief.network->prior(), belief.evidence.signs, limits,
                                             belief.network->none_weight());
    } catch (const FrontierTooWide&) {
      leave_one_out(belief.evidence);
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

void fill_weights(Belief& belief, std::size_t explained, const TrellisLimits& limits) {
  belief.weights.resize(belief.posterior.size());
  const std::size_t shown = std::min(explained, belief.ranking.size());
  if (shown == 0) return;
  for (std::size_t left_out = 0; left_out < belief.evidence.signs.size(); ++left_out) {
    std::vector<Sign> others = belief.evidence.signs;
    others.erase(others.begin() + static_cast<std::ptrdiff_t>(left_out));
    std::vector<double> without;
    try {
      without = Trellis(belief.network->prior(), others, limits, belief.network->none_weight()).posterior();
    } catch (const FrontierTooWide&) {
      continue;  // rare: without a sign the order of causes may come out wider; this one then goes unexplained
    }
    for (std::size_t r = 0; r < shown; ++r) {
      const std::size_t cause = belief.ranking[r];
      const double decibans = 10 * (log10_odds(belief.posterior[cause]) - log10_odds(without[cause]));
      belief.weights[cause].push_back({left_out, decibans});
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
