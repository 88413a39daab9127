#include "engine/belief/past.hpp"

#include <algorithm>

namespace wheeltapper::belief {
namespace {

/// Adds the links and blocks of the fates that `counts` says.
template <typename Counts>
void add_fates(const FindingNode& node, const Fates& fates, std::size_t causes, Counts&& counts, FindingNode& to) {
  for (std::size_t k = 0; k < fates.instead_of.size(); ++k) {
    if (!counts(fates.until[k])) continue;
    for (const FindingNode::Link& link : node.links)
      if (link.cause == fates.instead_of[k]) to.links.push_back({causes + k, link.reach});
    for (const FindingNode::Block& block : node.blocks)
      if (block.cause == fates.instead_of[k]) to.blocks.push_back({causes + k, block.chance});
  }
}

}  // namespace

Fates fates_of(const Network& network, const std::vector<Past>& past) {
  Fates fates{network.prior(), {}, {}};
  for (std::size_t stage = 0; stage < past.size(); ++stage) {
    const auto* repair = network.catalogue().repair(past[stage].repair);
    if (repair == nullptr) continue;
    const bool before = std::any_of(past.begin(), past.begin() + static_cast<std::ptrdiff_t>(stage),
                                    [&](const Past& each) { return each.repair == repair->id; });
    const double worth = (past[stage].by_owner ? kOwnerWork : 1.0) * (before ? kOnceMore : 1.0);
    for (const auto& cure : repair->cures) {
      const auto cause = network.index(cure.cause);
      if (!cause) continue;
      const double chance = cure.chance.in(network.family()) * worth;
      fates.instead_of.push_back(*cause);
      fates.until.push_back(stage);
      fates.prior.push_back(fates.prior[*cause] * chance);
      fates.prior[*cause] *= 1 - chance;
    }
  }
  return fates;
}

FindingNode at_stage(FindingNode node, const Fates& fates, std::size_t stage, std::size_t causes) {
  const FindingNode still = node;
  add_fates(
      still, fates, causes, [&](std::size_t until) { return until >= stage; }, node);
  return node;
}

FindingNode gone_between(FindingNode node, const Fates& fates, std::size_t from, std::size_t to, std::size_t causes) {
  FindingNode gone = node;
  gone.leak = {};
  gone.links.clear();
  gone.blocks.clear();
  add_fates(
      node, fates, causes, [&](std::size_t until) { return until >= from && until < to; }, gone);
  return gone;
}

}  // namespace wheeltapper::belief
