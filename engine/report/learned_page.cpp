#include "engine/report/learned_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/measure/proportion.hpp"

namespace wheeltapper::report {
namespace {

using learn::Kind;
using learn::Parameter;

std::string name_of(const catalogue::Catalogue& catalogue, std::string_view id) {
  const std::string text(id);
  if (const auto* finding = catalogue.finding(text)) return finding->name;
  if (const auto* cause = catalogue.cause(text)) return cause->name;
  if (const auto* repair = catalogue.repair(text)) return repair->name;
  if (const auto slash = text.find('/'); slash != std::string::npos)
    if (const auto* check = catalogue.check(text.substr(0, slash)))
      for (const auto& result : check->results)
        if (result.id == text.substr(slash + 1)) return result.shows;
  return text;
}

std::string said(const catalogue::Catalogue& catalogue, const Parameter& each) {
  const std::string first = name_of(catalogue, each.first);
  const std::string second = name_of(catalogue, each.second);
  const std::string level = each.level > 1 ? fmt::format(", level {}", each.level) : "";
  switch (each.kind) {
    case Kind::prior:
      return second + ", among failed sessions";
    case Kind::unlisted:
      return "None of the listed causes, among failed sessions";
    case Kind::link:
      return fmt::format("{}{}, from {}", first, level, second);
    case Kind::leak:
      return fmt::format("{}{}, with no listed cause", first, level);
    case Kind::shows:
      return fmt::format("\"{}\" when it is {}", first, second);
    case Kind::false_alarm:
      return fmt::format("\"{}\" falsely", first);
    case Kind::cure:
      return fmt::format("{} cures {}", first, second);
  }
  return first;
}

/// How far a number moved, in log-odds, as far as the cases bear it out.
double moved(const Parameter& each) {
  const auto logit = [](double p) { return std::log(p / (1 - p)); };
  const double shipped = std::clamp(each.shipped, 1e-6, 1 - 1e-6);
  const double mean = std::clamp(each.mean(), 1e-6, 1 - 1e-6);
  const double doubt = 1 / std::sqrt((each.yes + each.no) * mean * (1 - mean));
  return std::abs(logit(mean) - logit(shipped)) / (1 + doubt) * std::min(1.0, each.trials / 10);
}

std::string small_percent(double p) {
  return p < 0.0995 ? fmt::format("{:.1f} %", 100 * p) : fmt::format("{:.0f} %", 100 * p);
}

learn::Score score_of(const nlohmann::json& report) {
  learn::Score score;
  score.jobs = report.value("scored", std::size_t{0});
  score.shipped = report.value("shipped", 0.0);
  score.learned = report.value("learned", 0.0);
  score.difference = report.value("difference", 0.0);
  score.uncertainty = report.value("uncertainty", 0.0);
  return score;
}

}  // namespace

nlohmann::json score_json(const learn::Score& score, double factor) {
  return {{"scored", score.jobs},           {"shipped", score.shipped},         {"learned", score.learned},
          {"difference", score.difference}, {"uncertainty", score.uncertainty}, {"factor", factor}};
}

std::string learned_text(const catalogue::Catalogue& catalogue, const learn::LearnedNumbers& numbers,
                         const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("Learned from {} closed jobs, {}", numbers.jobs, numbers.at.substr(0, 10)), 0, 0,
                 Ink::bold);
  page.paragraph(learn::verdict(score_of(numbers.report)), 0, 2);
  const double factor = numbers.report.value("factor", 1.0);
  const learn::PriorStrength strength;
  page.paragraph(
      fmt::format("A shipped number counts as {:.0f} cases (a rate {:.0f}, a false alarm {:.0f}){}.",
                  strength.link * factor, strength.prior * factor, strength.leak * factor,
                  numbers.jobs < 40 ? "; with so few jobs no less"
                  : factor > 1      ? "; with less trust in them the faults of these jobs were not predicted better"
                                    : ""),
      0, 2);
  std::vector<const Parameter*> order;
  for (const Parameter& each : numbers.parameters)
    if (each.trials >= 5 && moved(each) > 0.05) order.push_back(&each);
  std::ranges::stable_sort(order, std::ranges::greater(), [](const Parameter* each) { return moved(*each); });
  page.heading(order.empty() ? "Nothing moved much" : "What moved most");
  const std::size_t most = style.all ? order.size() : std::min<std::size_t>(order.size(), 10);
  for (std::size_t i = 0; i < most; ++i) {
    const Parameter& each = *order[i];
    const auto interval = measure::beta_posterior(0, 0, each.yes, each.no, 0.90).interval;
    page.paragraph(
        fmt::format("{}: {} -> {} (90 %: {} to {}; {:.0f} cases)", said(catalogue, each), small_percent(each.shipped),
                    small_percent(each.mean()), small_percent(interval.low), small_percent(interval.high), each.trials),
        2, 4);
  }
  if (most < order.size()) page.paragraph(fmt::format("{} more: --all.", order.size() - most), 2);
  page.blank();
  page.paragraph(
      "diagnose, quick and job use these numbers from now on; --no-learning leaves them out for once, "
      "`wheeltapper learn forget` for good.",
      0, 0, Ink::dim);
  return page.text();
}

nlohmann::ordered_json learned_json(const learn::LearnedNumbers& numbers) {
  nlohmann::ordered_json out;
  out["at"] = numbers.at;
  out["jobs"] = numbers.jobs;
  out["score"] = numbers.report;
  out["verdict"] = learn::verdict(score_of(numbers.report));
  out["parameters"] = nlohmann::ordered_json::array();
  for (const Parameter& each : numbers.parameters) {
    const auto interval = measure::beta_posterior(0, 0, each.yes, each.no, 0.90).interval;
    out["parameters"].push_back({{"kind", learn::name(each.kind)},
                                 {"first", each.first},
                                 {"second", each.second},
                                 {"level", each.level},
                                 {"shipped", each.shipped},
                                 {"mean", each.mean()},
                                 {"low", interval.low},
                                 {"high", interval.high},
                                 {"trials", each.trials}});
  }
  return out;
}

}  // namespace wheeltapper::report
