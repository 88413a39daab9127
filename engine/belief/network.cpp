#include "engine/belief/network.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <stdexcept>

namespace wheeltapper::belief {
namespace {

using catalogue::Context;

double odds_of(double per_1000) { return per_1000 / (1000 - per_1000); }
double chance_of(double odds) { return odds / (1 + odds); }

/// Chances of no cause and of just one, for odds that are scaled by `factor`.
struct Few {
  double none = 1;
  double one = 0;
};
Few few(const std::vector<double>& odds, double factor) {
  Few result;
  for (const double each : odds) {
    const double p = chance_of(each * factor);
    result.one = result.one * (1 - p) + result.none * p;
    result.none *= 1 - p;
  }
  return result;
}

/// The factor on all odds for which two or more causes are present in the share `wanted` of the sessions that have any.
/// That share rises with the factor, so the bisection finds it.
double scale_for(const std::vector<double>& odds, double wanted) {
  double low = 1e-6;
  double high = 1e3;
  for (int step = 0; step < 60; ++step) {
    const double middle = std::sqrt(low * high);
    const Few at = few(odds, middle);
    const double share = (1 - at.none - at.one) / (1 - at.none);
    (share < wanted ? low : high) = middle;
  }
  return std::sqrt(low * high);
}

[[noreturn]] void unknown(std::string_view kind, std::string_view id) {
  throw NotInKnowledge("there is no " + std::string(kind) + " \"" + std::string(id) + "\"");
}

}  // namespace

Network::Network(std::shared_ptr<const catalogue::Catalogue> catalogue, std::string_view family,
                 const Background& background)
    : catalogue_(std::move(catalogue)), family_(family) {
  const catalogue::Family* known = catalogue_->family(family);
  if (known == nullptr) unknown("family", family);
  std::vector<double> odds;
  for (const auto& cause : catalogue_->items().causes)
    for (const auto& prior : cause.rates)
      if (prior.family == family_) {
        index_.emplace(cause.id, causes_.size());
        causes_.push_back(&cause);
        odds.push_back(odds_of(prior.per_1000));
      }
  if (odds.size() > 1) {
    const double scale = scale_for(odds, known->two_or_more);
    for (double& each : odds) each *= scale;
  }
  const double none = few(odds, 1).none;
  none_weight_ = std::min(1.0, known->unlisted * (1 - none) / (none * (1 - known->unlisted)));
  std::vector<double> factor(causes_.size(), 1.0);
  const auto factor_of = [&](const Context::Factor& each) { return each.factor.in(family_); };
  const auto shift = [&](const std::string& id, bool told_true) {
    const Context* context = catalogue_->context(id);
    if (context == nullptr) unknown("context", id);
    for (const auto& each : context->odds)
      if (const auto at = index(each.cause))
        factor[*at] *= told_true ? factor_of(each) : (1 - context->share * factor_of(each)) / (1 - context->share);
  };
  for (const std::string& id : background.contexts) shift(id, true);
  for (const std::string& id : background.contexts_not) shift(id, false);
  for (double& each : factor) each = std::clamp(each, kLeastContext, kMostContext);
  for (const Tried& tried : background.tried) {
    const auto* repair = catalogue_->repair(tried.repair);
    if (repair == nullptr) unknown("repair", tried.repair);
    for (const auto& cure : repair->cures)
      if (const auto at = index(cure.cause))
        factor[*at] *= 1 - cure.chance.in(family_) * (tried.by_owner ? kOwnerWork : 1.0);
  }
  for (std::size_t i = 0; i < causes_.size(); ++i) prior_.push_back(chance_of(odds[i] * factor[i]));
}

std::optional<std::size_t> Network::index(std::string_view cause) const {
  const auto found = index_.find(cause);
  if (found == index_.end()) return std::nullopt;
  return found->second;
}

FindingNode Network::node_of(const catalogue::Finding& finding) const {
  assert(finding.top() >= 1 && finding.top() <= kMostLevels);
  FindingNode node{.id = finding.id, .top = finding.top(), .links = {}, .blocks = {}};
  std::ranges::copy(finding.leak.in(family_), node.leak.begin());
  for (const auto& link : finding.links)
    if (const auto at = index(link.cause)) {
      FindingNode::Link compiled{*at, {}};
      std::ranges::copy(link.strength.in(family_), compiled.reach.begin());
      node.links.push_back(compiled);
    }
  for (const auto& each : finding.inhibitors)
    if (const auto at = index(each.cause)) node.blocks.push_back({*at, each.blocks.in(family_)});
  node.likelihood.fill(1);
  node.likelihood_blocked = 1;
  return node;
}

FindingNode Network::node_of(const catalogue::Check& check, const catalogue::Result& result) const {
  assert(result.finding.empty() && result.specificity > 0);
  FindingNode node{.id = check.id + "/" + result.id, .links = {}, .blocks = {}};
  node.leak[0] = 1 - result.specificity;
  for (const auto& seen : result.causes)
    if (const auto at = index(seen.cause)) {
      FindingNode::Link link{*at, {}};
      link.reach[0] = 1 - (1 - seen.chance.in(family_)) / result.specificity;
      node.links.push_back(link);
    }
  node.likelihood.fill(1);
  node.likelihood_blocked = 1;
  return node;
}

}  // namespace wheeltapper::belief
