#include "tests/support/simulated_jobs.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/belief/network.hpp"
#include "engine/learn/apply.hpp"

namespace wheeltapper::tests {
namespace {

using belief::Network;
using catalogue::Catalogue;
using job::Summary;
using Random = std::mt19937_64;

constexpr const char* kFamily = "ac-series";

bool chance(double p, Random& random) { return std::uniform_real_distribution<>()(random) < p; }

std::vector<std::size_t> draw_causes(const Network& network, bool& unlisted, Random& random) {
  for (;;) {
    std::vector<std::size_t> causes;
    for (std::size_t i = 0; i < network.prior().size(); ++i)
      if (chance(network.prior()[i], random)) causes.push_back(i);
    unlisted = causes.empty();
    if (!unlisted || chance(network.none_weight(), random)) return causes;
  }
}

/// The level that the present causes bring about.
std::size_t draw_level(const belief::FindingNode& node, const std::vector<std::size_t>& causes, Random& random) {
  const auto present = [&](std::size_t cause) { return std::ranges::find(causes, cause) != causes.end(); };
  for (const auto& block : node.blocks)
    if (present(block.cause) && chance(block.chance, random)) return 0;
  const double drawn = std::uniform_real_distribution<>()(random);
  std::size_t level = 0;
  for (std::size_t s = 0; s < node.top; ++s) {
    double silent = 1 - node.leak[s];
    for (const auto& link : node.links)
      if (present(link.cause)) silent *= 1 - link.reach[s];
    if (drawn >= silent) level = s + 1;  // P(level > s) = 1 - silent: one draw for all levels
  }
  return level;
}

std::size_t draw_answer(std::size_t level, std::size_t top, double false_yes, double false_no, Random& random) {
  if (level > 0) return chance(false_no, random) ? 0 : level;
  std::size_t said = 0;
  while (said < top && chance(false_yes, random)) ++said;
  return said;
}

void add_findings(const Network& network, const std::vector<std::size_t>& causes, std::size_t count, Summary& summary,
                  Random& random) {
  std::vector<const catalogue::Finding*> all;
  for (const auto& finding : network.catalogue().items().findings)
    if (network.applies(finding)) all.push_back(&finding);
  std::ranges::shuffle(all, random);
  all.resize(std::min(all.size(), count));
  for (const auto* finding : all) {
    const belief::FindingNode node = network.node_of(*finding);
    const std::size_t level = draw_level(node, causes, random);
    summary.findings.push_back({finding->id,
                                draw_answer(level, node.top, finding->false_yes, finding->false_no, random),
                                Summary::Seen::By::answer});
  }
}

void add_results(const Network& network, const std::vector<std::size_t>& causes, std::size_t count, Summary& summary,
                 Random& random) {
  std::vector<const catalogue::Check*> all;
  for (const auto& check : network.catalogue().items().checks)
    if (network.applies(check)) all.push_back(&check);
  std::ranges::shuffle(all, random);
  all.resize(std::min(all.size(), count));
  for (const auto* check : all)
    for (const auto& result : check->results)
      if (result.finding.empty())
        summary.results.push_back(
            {check->id, result.id, draw_level(network.node_of(*check, result), causes, random) > 0});
}

void add_fixes(const Network& network, const std::vector<std::size_t>& causes, Summary& summary, Random& random) {
  for (const std::size_t cause : causes) {
    const std::string& id = network.causes()[cause]->id;
    for (bool cured = false; !cured;) {
      const catalogue::Repair* repair = nullptr;
      double best = 0;
      for (const auto& each : network.catalogue().items().repairs)
        for (const auto& cure : each.cures)
          if (cure.cause == id && cure.chance.in(kFamily) > best) {
            best = cure.chance.in(kFamily);
            repair = &each;
          }
      if (repair == nullptr) break;
      cured = chance(best, random) || summary.fixes.size() > 6;
      const bool last = cured && cause == causes.back();
      summary.fixes.push_back({repair->id, repair->minutes, last ? job::Retest::passed : job::Retest::failed});
    }
  }
}

double draw_beta(double mean, double size, Random& random) {
  std::gamma_distribution<> yes(std::max(1e-9, mean * size));
  std::gamma_distribution<> no(std::max(1e-9, (1 - mean) * size));
  const double a = yes(random);
  const double b = no(random);
  return a + b > 0 ? std::clamp(a / (a + b), 1e-7, 1 - 1e-7) : mean;
}

}  // namespace

std::vector<Summary> simulate_jobs(const std::shared_ptr<const Catalogue>& catalogue, std::size_t count,
                                   const Simulation& simulation, Random& random) {
  const Network network(catalogue, kFamily);
  std::vector<Summary> jobs;
  while (jobs.size() < count) {
    Summary summary;
    const std::size_t n = jobs.size();
    summary.job = fmt::format("{:08x}-0000-4000-8000-000000000000", n);
    summary.locomotive = fmt::format("Fernhill No. {}", n % 97);
    summary.family = kFamily;
    summary.opened = fmt::format("20{:02}-{:02}-{:02}T09:00:00.000Z", 10 + n / 336 % 80, n / 28 % 12 + 1, n % 28 + 1);
    summary.closed = summary.opened;
    summary.proven = !chance(simulation.unproven, random);
    const auto causes = draw_causes(network, summary.unlisted, random);
    for (const std::size_t cause : causes) summary.causes.push_back(network.causes()[cause]->id);
    add_findings(network, causes, simulation.findings, summary, random);
    add_results(network, causes, simulation.checks, summary, random);
    add_fixes(network, causes, summary, random);
    if (!summary.proven && !causes.empty() && chance(simulation.wrong_if_unproven, random))
      summary.causes = {network.causes()[random() % network.causes().size()]->id};
    jobs.push_back(std::move(summary));
  }
  return jobs;
}

std::vector<learn::Parameter> parameters_of(const std::shared_ptr<const Catalogue>& catalogue) {
  using learn::Kind;
  const Network network(catalogue, kFamily);
  std::vector<learn::Parameter> all;
  for (std::size_t i = 0; i < network.causes().size(); ++i)
    all.push_back({Kind::prior, kFamily, network.causes()[i]->id, 1, network.prior()[i], 0, 0, 0});
  all.push_back({Kind::unlisted, kFamily, "", 1, catalogue->family(kFamily)->unlisted, 0, 0, 0});
  const auto add_node = [&](const belief::FindingNode& node, Kind leak, Kind link) {
    for (std::size_t s = 0; s < node.top; ++s) {
      all.push_back({leak, node.id, "", s + 1, node.leak[s], 0, 0, 0});
      for (const auto& each : node.links)
        all.push_back({link, node.id, network.causes()[each.cause]->id, s + 1, each.reach[s], 0, 0, 0});
    }
  };
  for (const auto& finding : catalogue->items().findings)
    if (network.applies(finding)) add_node(network.node_of(finding), Kind::leak, Kind::link);
  for (const auto& check : catalogue->items().checks)
    if (network.applies(check))
      for (const auto& result : check.results)
        if (result.finding.empty()) add_node(network.node_of(check, result), Kind::false_alarm, Kind::shows);
  for (const auto& repair : catalogue->items().repairs)
    for (const auto& cure : repair.cures)
      all.push_back({Kind::cure, repair.id, cure.cause, 1, cure.chance.in(kFamily), 0, 0, 0});
  return all;
}

catalogue::Items shifted(const std::shared_ptr<const Catalogue>& catalogue, const learn::PriorStrength& worth,
                         Random& random) {
  auto parameters = parameters_of(catalogue);
  for (learn::Parameter& each : parameters) {
    const double drawn = draw_beta(each.shipped, learn::strength_of(worth, each.kind), random);
    each.yes = drawn;
    each.no = 1 - drawn;
  }
  return learn::apply(catalogue->items(), parameters);
}

}  // namespace wheeltapper::tests
