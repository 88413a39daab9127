#include "engine/report/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <span>

#include "engine/input/words.hpp"
#include "engine/report/bench_page.hpp"
#include "engine/report/common.hpp"
#include "engine/report/step_page.hpp"

namespace wheeltapper::report {
namespace {

using belief::Belief;
using belief::PlaceChance;
using cases::Case;
using cases::Diagnosis;

// What fits one screen of 50 lines by 80 columns.
constexpr std::size_t kPlaces = 3;
constexpr std::size_t kCausesInPlace = 3;
constexpr std::size_t kExplained = 2;
constexpr std::size_t kLinesAfter = 3;
constexpr double kPlaceWorthALine = 0.08;
constexpr double kCauseWorthALine = 0.03;

void put_title(Page& page, const Case& the_case) {
  std::string title = the_case.title.empty() ? "Diagnosis" : the_case.title;
  if (!the_case.locomotive.empty()) title = the_case.locomotive + ": " + title;
  page.paragraph(title, 0, 0, Ink::bold);
}

void put_cause(Page& page, const Belief& belief, std::size_t cause, bool explain) {
  const auto& item = *belief.network->causes()[cause];
  page.ends_with(item.name, fmt::format(" ({})", item.id), percent(belief.posterior[cause]), 4);
  if (!explain) return;
  const std::string why = speaking(belief, cause, page.style().all, page.style().all);
  if (!why.empty()) page.paragraph(why, 8, 0, Ink::dim);
}

void put_places(Page& page, const Belief& belief, bool crowded) {
  const bool all = page.style().all;
  page.heading("Where to look, and how likely something is wrong there");
  const auto explained = [&](std::size_t cause) {
    const auto rank = std::ranges::find(belief.ranking, cause) - belief.ranking.begin();
    return static_cast<std::size_t>(rank) < (all ? belief.ranking.size() : crowded ? 1 : kExplained);
  };
  std::size_t shown = 0;
  for (const PlaceChance& place : belief.places) {
    if (!all && shown > 0 && (shown == (crowded ? 2 : kPlaces) || place.chance < kPlaceWorthALine)) break;
    ++shown;
    page.ends(place.place->name, fmt::format("{} {:>5}", bar(place.chance, 20), percent(place.chance)), 2, Ink::bold);
    std::size_t listed = 0;
    for (const std::size_t cause : place.causes) {
      const std::size_t most = shown == 1 ? kCausesInPlace : 1;
      if (!all && listed > 0 && (listed >= most || belief.posterior[cause] < kCauseWorthALine)) break;
      if (all && listed > 0 && belief.posterior[cause] < 1e-4) break;
      ++listed;
      put_cause(page, belief, cause, explained(cause));
    }
  }
}

std::string set_names(const Belief& belief, const belief::Trellis::CauseSet& set) {
  if (set.causes.empty()) return "nothing that is known here";
  std::string names;
  for (const std::size_t cause : set.causes) input::join_to(names, belief.network->causes()[cause]->id, " + ");
  return names;
}

void put_sets(Page& page, const Belief& belief) {
  const std::size_t most =
      page.style().all ? belief.sets.sets.size() : std::min<std::size_t>(3, belief.sets.sets.size());
  std::string text = "Most probable combinations: ";
  for (std::size_t s = 0; s < most; ++s)
    text += fmt::format("{}{} {}", s == 0 ? "" : "; ", set_names(belief, belief.sets.sets[s]),
                        percent(belief.sets.sets[s].probability));
  const bool said =
      std::ranges::any_of(std::span(belief.sets.sets).first(most), [](const auto& set) { return set.causes.empty(); });
  page.paragraph(text + (said ? "." : fmt::format(". None of the known causes: {}.", percent(belief.none_present))), 2,
                 2);
  if (!belief.sets.complete) page.paragraph("(The search for these sets was cut short.)", 2);
}

void put_list(Page& page, const plan::Advice& advice) {
  const std::size_t most = page.style().all ? advice.list.size() : std::min(advice.list.size(), kLinesAfter + 1);
  if (most < 2) return;
  page.heading("If that shows nothing");
  for (std::size_t i = 1; i < most; ++i) {
    const plan::BenchStep& step = advice.list[i];
    const std::string name = step.check != nullptr ? step.check->name : step.repair->name;
    const std::string id = step.check != nullptr ? step.check->id : step.repair->id;
    const auto power = step.check != nullptr ? step.check->power : step.repair->power;
    const auto skill = step.check != nullptr ? step.check->skill : step.repair->skill;
    page.ends_with(fmt::format("{}. {}{}", i + 1, step.repair != nullptr ? "Repair: " : "", name),
                   fmt::format(" ({})", id), work_text(step.minutes, power, skill), 2);
  }
  page.paragraph(fmt::format("Cautions in full, for each: wheeltapper explain {}",
                             advice.list[1].check != nullptr ? advice.list[1].check->id : advice.list[1].repair->id),
                 2, 0, Ink::dim);
}

void put_evidence(Page& page, const Belief& belief) {
  page.heading("Evidence used");
  for (const belief::Item& item : belief.evidence.items) {
    const bool figure = item.said != "yes" && item.said != "no" && item.said != "seen" && item.said != "not seen";
    page.ends(item.name, item.said + (figure ? item.present ? " (yes)" : " (no)" : ""), 2);
  }
  for (const belief::Dropped& each : belief.evidence.dropped)
    page.paragraph(fmt::format("Not counted: {}, as {}.", each.id, each.reason), 2, 2, Ink::dim);
}

void put_nothing_wrong(Page& page, bool all) {
  page.blank();
  page.paragraph("Every run is within its limits and no other symptom was reported: nothing needs repair.");
  if (all) page.paragraph("The chances below only hold if it did fail a test.");
}

void put_remarks(Page& page, const Diagnosis& diagnosis) {
  const auto& items = diagnosis.belief.evidence.items;
  const bool silent = std::ranges::none_of(items, &belief::Item::present) && diagnosis.verdicts.empty();
  if (!diagnosis.remarks.empty() || diagnosis.unsettled || silent) page.blank();
  for (const std::string& remark : diagnosis.remarks) page.paragraph(remark, 0, 2, Ink::care);
  if (silent) page.paragraph("No reported symptom points to a fault yet: the chances are those of any failed test.");
  if (diagnosis.unsettled)
    page.paragraph(
        "No run is outside its limits. First finish the test: what says NOT RUN, then what is too close. The rest is "
        "for when it fails.",
        0, 0, Ink::bold);
}

std::string cost_line(const plan::Advice& advice) {
  return fmt::format(
      "Expected minutes from here {:.0f}, repairing without any inspection {:.0f}: minutes of work, parts and risk as "
      "minutes, and a high price for having to hand it on, which a cause that is not among these would force.",
      advice.expected_minutes, advice.repair_only_minutes);
}

}  // namespace

std::string assessment_text(const catalogue::Catalogue& catalogue, const Case& the_case,
                            const std::vector<bench::LimitVerdict>& verdicts, const bench::BenchAnalysis& analysis,
                            const Style& style) {
  Page page(style);
  put_title(page, the_case);
  page.blank();
  if (verdicts.empty()) page.paragraph("The case has no limits, so there is nothing to hold its runs against.");
  put_verdicts(page, catalogue, the_case, verdicts, true);
  put_analysis(page, the_case.session, analysis);
  if (!verdicts.empty()) {
    page.blank();
    page.paragraph("The figure after ± holds with 95 %. A call is made when it is at least 95 % sure.", 0, 0, Ink::dim);
  }
  return page.text();
}

std::string diagnosis_text(const Case& the_case, const Diagnosis& diagnosis, const Style& style) {
  Page page(style);
  const Belief& belief = diagnosis.belief;
  put_title(page, the_case);
  put_gates(page, belief.network->catalogue(), diagnosis.advice);
  if (!diagnosis.verdicts.empty()) {
    page.blank();
    put_verdicts(page, belief.network->catalogue(), the_case, diagnosis.verdicts, style.all);
  }
  bool crowded = diagnosis.unsettled;
  if (style.all)
    put_analysis(page, the_case.session, diagnosis.analysis);
  else if (put_analysis_in_short(page, diagnosis.analysis))
    crowded = true;
  put_remarks(page, diagnosis);
  if (diagnosis.nothing_wrong) put_nothing_wrong(page, style.all);
  if (belief.approximate)
    page.paragraph(
        "Too many findings are linked for the exact calculation: the least informative were left out, so the chances "
        "are "
        "approximate.",
        0, 0, Ink::care);
  if (!diagnosis.nothing_wrong || style.all) {
    // Where everything is withheld, the places are not where anybody should look now.
    const bool all_held = plan::withheld(diagnosis.advice.gates) >= plan::Withheld::everything;
    if (!all_held || style.all) {
      put_places(page, belief, crowded);
      put_sets(page, belief);
    }
    if (style.all) put_evidence(page, belief);
    put_next(page, belief.network->catalogue(), diagnosis.advice);
    put_list(page, diagnosis.advice);
    if (diagnosis.advice.next && style.all) page.paragraph(cost_line(diagnosis.advice), 2);
  }
  return page.text();
}

}  // namespace wheeltapper::report
