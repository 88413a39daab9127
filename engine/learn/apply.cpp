#include "engine/learn/apply.hpp"

#include <algorithm>
#include <map>
#include <tuple>

namespace wheeltapper::learn {
namespace {

using catalogue::Items;
using Key = std::tuple<Kind, std::string_view, std::string_view, std::size_t>;
using Means = std::map<Key, double>;

void take(const Means& means, Kind kind, std::string_view first, std::string_view second, std::size_t level,
          double& value) {
  const auto found = means.find({kind, first, second, level});
  if (found != means.end()) value = found->second;
}

/// Levels never rise; where learning made one do so, the plainer level holds it down.
void keep_monotone(catalogue::Levels& levels) {
  for (std::size_t s = 1; s < levels.size(); ++s) levels[s] = std::min(levels[s], levels[s - 1]);
}

/// The share of sessions with two causes or more among those with any, for rates as they are.
double two_or_more(const Items& items, const std::string& family) {
  double none = 1;
  double one = 0;
  for (const auto& cause : items.causes)
    for (const auto& prior : cause.rates)
      if (prior.family == family) {
        const double p = prior.per_1000 / 1000;
        one = one * (1 - p) + none * p;
        none *= 1 - p;
      }
  return (1 - none - one) / (1 - none);
}

void apply_priors(Items& items, const Means& means, const std::vector<std::string>& families) {
  for (const std::string& family : families) {
    for (auto& cause : items.causes)
      for (auto& prior : cause.rates)
        if (prior.family == family) {
          double p = prior.per_1000 / 1000;
          take(means, Kind::prior, family, cause.id, 1, p);
          prior.per_1000 = std::clamp(1000 * p, 1e-6, 999.0);
        }
    for (auto& known : items.families)
      if (known.id == family) {
        take(means, Kind::unlisted, family, "", 1, known.unlisted);
        known.two_or_more = two_or_more(items, family);  // so that the rates stand as they are: the factor is 1
      }
  }
}

void apply_finding(catalogue::Finding& finding, const Means& means) {
  for (std::size_t s = 0; s < finding.leak.all.size(); ++s)
    take(means, Kind::leak, finding.id, "", s + 1, finding.leak.all[s]);
  keep_monotone(finding.leak.all);
  for (auto& link : finding.links) {
    for (std::size_t s = 0; s < link.strength.all.size(); ++s)
      take(means, Kind::link, finding.id, link.cause, s + 1, link.strength.all[s]);
    keep_monotone(link.strength.all);
  }
}

void apply_result(const std::string& check, catalogue::Result& result, const Means& means) {
  const std::string id = check + "/" + result.id;
  const double shipped_specificity = result.specificity;
  double alarm = 1 - result.specificity;
  take(means, Kind::false_alarm, id, "", 1, alarm);
  result.specificity = std::clamp(1 - alarm, 1e-6, 1.0);
  for (auto& seen : result.causes) {
    double reach = std::clamp(1 - (1 - seen.chance.all) / shipped_specificity, 0.0, 1.0);
    take(means, Kind::shows, id, seen.cause, 1, reach);
    seen.chance.all = 1 - result.specificity * (1 - reach);
  }
}

}  // namespace

Items apply(const Items& given, std::span<const Parameter> parameters) {
  Items items = given;
  Means means;
  std::vector<std::string> families;
  for (const Parameter& each : parameters) {
    means[{each.kind, each.first, each.second, each.level}] = each.mean();
    if (each.kind == Kind::prior && std::ranges::find(families, each.first) == families.end())
      families.push_back(each.first);
  }
  apply_priors(items, means, families);
  for (auto& finding : items.findings) apply_finding(finding, means);
  for (auto& check : items.checks)
    for (auto& result : check.results)
      if (result.finding.empty()) apply_result(check.id, result, means);
  for (auto& repair : items.repairs)
    for (auto& cure : repair.cures) take(means, Kind::cure, repair.id, cure.cause, 1, cure.chance.all);
  return items;
}

}  // namespace wheeltapper::learn
