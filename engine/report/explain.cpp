#include <fmt/format.h>

#include <algorithm>

#include "engine/input/words.hpp"
#include "engine/report/common.hpp"
#include "engine/report/text.hpp"

namespace wheeltapper::report {
namespace {

using catalogue::Catalogue;

struct Shows {
  double strength;
  std::string text;
};

void put_sorted(Page& page, std::vector<Shows> all, std::size_t most) {
  std::ranges::stable_sort(all, std::greater<>(), &Shows::strength);
  for (std::size_t i = 0; i < all.size() && (page.style().all || i < most); ++i)
    page.labelled(percent(all[i].strength), all[i].text, 2, 7);
  if (!page.style().all && all.size() > most)
    page.paragraph(fmt::format("and {} more (--all)", all.size() - most), 2, 0, Ink::dim);
}

std::string cause_name(const Catalogue& catalogue, const std::string& id) {
  const auto* cause = catalogue.cause(id);
  return cause == nullptr ? id : fmt::format("{} ({})", cause->name, id);
}

/// The page, and at its end in which file that stands.
std::string finished(Page& page, const catalogue::Origin& origin) {
  page.blank();
  const std::string over = origin.over.empty() ? "" : ", laid over " + origin.over;
  page.labelled("File:", origin.file + over, 0, 8);
  return page.text();
}

}  // namespace

std::string explain_cause(const Catalogue& catalogue, const catalogue::Cause& cause, const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("{} ({})", cause.name, cause.id), 0, 0, Ink::bold);
  page.labelled("Place:", catalogue.place(cause.place)->name, 0, 8);
  page.labelled("Looks:", cause.looks, 0, 8);
  page.labelled("Why:", cause.why, 0, 8);
  for (const auto& prior : cause.rates)
    page.labelled(
        "Rate:",
        fmt::format("present in {:g} of 1000 failed sessions of {} ({})", prior.per_1000, prior.family, cause.basis), 0,
        8);
  std::vector<Shows> shows;
  for (const auto& finding : catalogue.items().findings)
    for (const auto& link : finding.links)
      if (link.cause == cause.id)
        shows.push_back({link.strength.all.front(), fmt::format("{} ({})", finding.name, finding.id)});
  if (!shows.empty()) page.heading("Shows in, and how often when nothing else is wrong");
  put_sorted(page, std::move(shows), 8);
  page.heading("Found by");
  std::vector<Shows> found;
  for (const auto& check : catalogue.items().checks)
    for (const auto& result : check.results)
      for (const auto& seen : result.causes)
        if (seen.cause == cause.id)
          found.push_back({seen.chance.all, fmt::format("{} ({}): {}", check.name, check.id, result.shows)});
  put_sorted(page, std::move(found), 5);
  page.heading("Cured by");
  std::vector<Shows> cured;
  for (const auto& repair : catalogue.items().repairs)
    for (const auto& cure : repair.cures)
      if (cure.cause == cause.id)
        cured.push_back({cure.chance.all, fmt::format("{} ({}), {:.0f} min", repair.name, repair.id, repair.minutes)});
  put_sorted(page, std::move(cured), 5);
  return finished(page, cause.origin);
}

std::string explain_finding(const Catalogue& catalogue, const catalogue::Finding& finding, const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("{} ({})", finding.name, finding.id), 0, 0, Ink::bold);
  page.labelled("Ask:", finding.question, 0, 8);
  page.labelled("How:", finding.observe, 0, 8);
  if (finding.top() > 1) {
    std::string levels;
    for (const auto& level : finding.levels) input::join_to(levels, level, " / ");
    page.labelled("Levels:", levels, 0, 8);
  }
  page.labelled("Sure:",
                fmt::format("a novice says yes wrongly {} of the time and no wrongly {} ({})",
                            percent(finding.false_yes), percent(finding.false_no), finding.basis),
                0, 8);
  page.labelled(
      "Alone:",
      fmt::format("shows in {} of failed sessions with no listed cause behind it", percent(finding.leak.all.front())),
      0, 8);
  for (const auto& plain : finding.refines)
    page.labelled("Finer:", fmt::format("a finer form of \"{}\" ({})", catalogue.finding(plain)->name, plain), 0, 8);
  page.heading("Brought about by");
  std::vector<Shows> by;
  for (const auto& link : finding.links) by.push_back({link.strength.all.front(), cause_name(catalogue, link.cause)});
  put_sorted(page, std::move(by), 10);
  if (!finding.inhibitors.empty()) {
    page.heading("Hidden by");
    std::vector<Shows> hidden;
    for (const auto& each : finding.inhibitors) hidden.push_back({each.blocks.all, cause_name(catalogue, each.cause)});
    put_sorted(page, std::move(hidden), 5);
  }
  return finished(page, finding.origin);
}

std::string explain_check(const Catalogue& catalogue, const catalogue::Check& check, const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("{} ({})", check.name, check.id), 0, 0, Ink::bold);
  page.labelled("Work:", work_text(check.minutes, check.power, check.skill), 0, 8);
  page.labelled("Opens:", std::string(catalogue::name(check.opens)), 0, 8);
  page.labelled("Tools:", check.tools, 0, 8);
  page.blank();
  put_cautions(page, catalogue, check.cautions, 0, true);
  page.blank();
  put_steps(page, check.steps, 0);
  page.blank();
  page.labelled("If healthy:", check.expect, 0, 12);
  page.heading("It may show");
  for (const auto& result : check.results) {
    page.labelled("-", fmt::format("{} [{}]", result.shows, result.id), 2, 2);
    if (!result.finding.empty())
      page.paragraph(fmt::format("the finding \"{}\" ({})", catalogue.finding(result.finding)->name, result.finding), 6,
                     0, Ink::dim);
    std::string causes;
    for (const auto& seen : result.causes)
      causes += fmt::format("{}{} {}", causes.empty() ? "" : ", ", seen.cause, percent(seen.chance.all));
    if (!causes.empty())
      page.paragraph(fmt::format("{}; false alarm {}", causes, percent(1 - result.specificity)), 6, 0, Ink::dim);
  }
  return finished(page, check.origin);
}

std::string explain_repair(const Catalogue& catalogue, const catalogue::Repair& repair, const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("{} ({})", repair.name, repair.id), 0, 0, Ink::bold);
  page.labelled("Work:", work_text(repair.minutes, repair.power, repair.skill) + ", with its retest", 0, 8);
  page.labelled("Opens:", std::string(catalogue::name(repair.opens)), 0, 8);
  page.labelled(
      "Parts:", fmt::format("{}; {:g} to {:g} US dollars", repair.parts, repair.parts_least, repair.parts_most), 0, 8);
  page.blank();
  put_cautions(page, catalogue, repair.cautions, 0, true);
  page.blank();
  put_steps(page, repair.steps, 0);
  page.blank();
  page.labelled("Risks:", repair.risks, 0, 8);
  std::string verify;
  for (const auto& id : repair.verify) input::join_to(verify, id);
  page.labelled("Prove:", verify + ", then the whole load test both ways", 0, 8);
  page.heading("Cures, done once");
  std::vector<Shows> cures;
  for (const auto& cure : repair.cures) cures.push_back({cure.chance.all, cause_name(catalogue, cure.cause)});
  put_sorted(page, std::move(cures), 10);
  return finished(page, repair.origin);
}

std::string explain_caution(const catalogue::Caution& caution, const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("{}: {} ({})", catalogue::name(caution.signal), caution.hazard, caution.id), 0, 0,
                 Ink::bold);
  page.paragraph(caution.text);
  page.labelled("Source:", caution.source, 0, 8);
  return finished(page, caution.origin);
}

std::string explain_context(const Catalogue& catalogue, const catalogue::Context& context, const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("{} ({})", context.name, context.id), 0, 0, Ink::bold);
  page.labelled("Ask:", context.question, 0, 8);
  page.labelled("True:", fmt::format("in {} of failed sessions ({})", percent(context.share), context.basis), 0, 8);
  page.heading("When true, the odds change by a factor of");
  for (const auto& each : context.odds)
    page.labelled(fmt::format("{:g}", each.factor.all), cause_name(catalogue, each.cause), 2, 7);
  return finished(page, context.origin);
}

std::string explain_place(const Catalogue& catalogue, const catalogue::Place& place, const Style& style) {
  Page page(style);
  page.paragraph(fmt::format("{} ({})", place.name, place.id), 0, 0, Ink::bold);
  page.paragraph(place.go);
  page.heading("What can be wrong there");
  for (const auto& cause : catalogue.items().causes)
    if (cause.place == place.id) page.paragraph(fmt::format("{} ({})", cause.name, cause.id), 2, 2);
  return finished(page, place.origin);
}

}  // namespace wheeltapper::report
