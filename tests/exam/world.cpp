#include "tests/exam/world.hpp"

#include <algorithm>
#include <random>

#include "engine/belief/evidence.hpp"

namespace wheeltapper::exam {
namespace {

using catalogue::Finding;

/// FNV-1a over the words, then the finaliser of splitmix64 (both in the public domain; constants from memory).
double uniform(std::uint64_t seed, std::string_view a, std::string_view b, std::string_view c) {
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const std::string_view part : {a, b, c}) {
    for (const char each : part) hash = (hash ^ static_cast<unsigned char>(each)) * 0x100000001b3ULL;
    hash = (hash ^ 0xffU) * 0x100000001b3ULL;
  }
  std::uint64_t z = hash + (seed + 1) * 0x9e3779b97f4a7c15ULL;
  z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27U)) * 0x94d049bb133111ebULL;
  z ^= z >> 31U;
  return static_cast<double>(z >> 11U) * 0x1p-53;
}

constexpr double kListed = 0.1;  // share of a question's false yes that a list has

}  // namespace

World::World(std::shared_ptr<const belief::Network> network, std::vector<std::size_t> wrong, std::uint64_t seed)
    : network_(std::move(network)), left_(std::move(wrong)), unlisted_(left_.empty()), seed_(seed) {}

double World::draw(std::string_view what, std::string_view which, std::string_view whom) const {
  return uniform(seed_, what, which, whom);
}

bool World::is_left(std::size_t cause) const { return std::ranges::find(left_, cause) != left_.end(); }

std::size_t World::level(const belief::FindingNode& node, std::string_view what) const {
  const auto& causes = network_->causes();
  for (const auto& block : node.blocks)
    if (is_left(block.cause) && draw("block", what, causes[block.cause]->id) < block.chance) return 0;
  const auto reached = [&](const belief::Reach& reach, double drawn) {
    std::size_t level = 0;
    while (level < node.top && drawn < reach[level]) ++level;
    return level;
  };
  std::size_t level = reached(node.leak, draw("leak", what));
  for (const auto& link : node.links)
    if (is_left(link.cause)) level = std::max(level, reached(link.reach, draw("link", what, causes[link.cause]->id)));
  return level;
}

bool World::is_hazard(const Finding& finding) const {
  return std::ranges::any_of(network_->catalogue().items().rules, [&](const catalogue::Rule& rule) {
    return std::ranges::find(rule.any, finding.id) != rule.any.end();
  });
}

std::size_t World::level(const Finding& finding) const {
  return is_hazard(finding) ? caused_level(finding) : level(network_->node_of(finding), finding.id);
}

std::size_t World::caused_level(const Finding& finding) const {
  belief::FindingNode node = network_->node_of(finding);
  node.leak = {};
  return level(node, finding.id);
}

std::size_t World::said(const Finding& finding) const {
  const std::size_t truth = level(finding);
  if (truth > 0) return draw("overlooked", finding.id) < finding.false_no ? 0 : truth;
  if (is_hazard(finding)) return 0;
  std::size_t said = 0;
  double rate = finding.false_yes;
  for (const double drawn = draw("imagined", finding.id); said < finding.top() && drawn < rate;
       rate *= finding.false_yes)
    ++said;
  return said;
}

bool World::named_in_list(const Finding& finding) const {
  if (level(finding) > 0) return draw("overlooked", finding.id) >= finding.false_no;
  return draw("imagined", finding.id) < finding.false_yes * kListed;
}

bool World::clears(const catalogue::Check& check) const {
  const auto has = [&](const auto& list) { return std::ranges::find(list, check.id) != list.end(); };
  return std::ranges::any_of(network_->catalogue().items().rules,
                             [&](const catalogue::Rule& rule) { return has(rule.until) || has(rule.hold); });
}

bool World::shows(const catalogue::Check& check, const catalogue::Result& result) const {
  const std::string id = check.id + "/" + result.id;
  if (clears(check)) {
    belief::FindingNode node = result.finding.empty()
                                   ? network_->node_of(check, result)
                                   : network_->node_of(*network_->catalogue().finding(result.finding));
    node.leak = {};
    return level(node, result.finding.empty() ? id : result.finding) > 0;
  }
  if (result.finding.empty()) return level(network_->node_of(check, result), id) > 0;
  const Finding& finding = *network_->catalogue().finding(result.finding);
  constexpr double kCareful = 0.5;  // a check looks twice as carefully as an answer
  if (level(finding) > 0) return draw("overlooked", id) >= kCareful * finding.false_no;
  return draw("imagined", id) < kCareful * finding.false_yes;
}

bool World::can_be_done(const catalogue::Check& check) const {
  return std::ranges::none_of(check.not_when, [&](const std::string& id) {
    const Finding& finding = *network_->catalogue().finding(id);
    return network_->applies(finding) && level(finding) > 0;
  });
}

bool World::holds(const catalogue::Context& context) const {
  constexpr double kMost = 0.98;
  double share = context.share;
  for (const auto& each : context.odds)
    if (const auto at = network_->index(each.cause); at && is_left(*at))
      share = std::min(kMost, context.share * each.factor.in(network_->family()));
  return draw("context", context.id) < share;
}

void World::repair(const catalogue::Repair& repair) {
  const std::string turn = repair.id + "/" + std::to_string(done_++);
  for (const auto& cure : repair.cures)
    if (const auto at = network_->index(cure.cause))
      if (draw("cure", turn, cure.cause) < cure.chance.in(network_->family())) std::erase(left_, *at);
}

std::vector<std::size_t> draw_causes(const belief::Network& network, std::uint64_t seed, bool listed) {
  std::mt19937_64 random(seed);
  const auto chance = [&](double p) { return std::uniform_real_distribution<>()(random) < p; };
  for (;;) {
    std::vector<std::size_t> causes;
    for (std::size_t i = 0; i < network.prior().size(); ++i)
      if (chance(network.prior()[i])) causes.push_back(i);
    if (!causes.empty() || (!listed && chance(network.none_weight()))) return causes;
  }
}

}  // namespace wheeltapper::exam
