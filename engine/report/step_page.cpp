#include "engine/report/step_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/input/words.hpp"
#include "engine/report/common.hpp"

namespace wheeltapper::report {
namespace {

using belief::Belief;

constexpr double kSpeaks = 1.0;  // decibans that are worth naming

/// One beneath the other, or one after the other where the screen is short.
void put_results(Page& page, const catalogue::Check& check, double chance) {
  const std::string head = fmt::format("{} chance that this finds something. Note what you see:", percent(chance));
  if (page.style().all) {
    page.paragraph(head, 2);
    for (const auto& result : check.results) page.labelled("-", fmt::format("{} [{}]", result.shows, result.id), 4, 2);
    return;
  }
  std::string text = head;
  for (const auto& result : check.results)
    text += fmt::format("{} [{}] {}", &result == &check.results.front() ? "" : ";", result.id, result.shows);
  page.paragraph(text + ".", 2, 2);
}

std::string_view withheld_words(plan::Withheld what) {
  switch (what) {
    case plan::Withheld::live:
      return "No powered check is offered";
    case plan::Withheld::everything:
      return "No check or repair is offered";
    default:
      return "Nothing is offered";
  }
}

/// The cautions that no gate above has printed already on this screen.
std::vector<std::string> not_yet_said(std::vector<std::string> cautions, const std::vector<plan::Gate>& gates,
                                      bool all) {
  for (const plan::Gate* gate : plan::speaking(gates))
    if (!all)
      std::erase_if(cautions, [&](const std::string& id) {
        return std::ranges::find(gate->rule->cautions, id) != gate->rule->cautions.end();
      });
  return cautions;
}

/// Hazards whose rules are milder than those that speak. Their first sentence says what to do at once; where nothing
/// may be touched it is left out, as it sends hands to the bench.
void put_milder(Page& page, const plan::Advice& advice, const std::vector<const plan::Gate*>& said) {
  const bool touch = plan::withheld(advice.gates) == plan::Withheld::touch;
  for (const plan::Gate& gate : advice.gates) {
    if (gate.cleared || std::ranges::find(said, &gate) != said.end()) continue;
    const std::string at_once = touch ? std::string() : fmt::format(": {}", first_sentence(gate.rule->say));
    page.paragraph(fmt::format("Also told: {}{}", gate.because, at_once.empty() ? "." : at_once), 6);
  }
}

}  // namespace

void put_gates(Page& page, const catalogue::Catalogue& catalogue, const plan::Advice& advice) {
  const auto said = plan::speaking(advice.gates);
  for (const plan::Gate* gate : said) {
    page.blank();
    page.labelled("STOP", fmt::format("{} ({})", gate->rule->say, gate->because), 0, 6, Ink::alarm);
    put_cautions(page, catalogue, gate->rule->cautions, 6, page.style().all);
    std::string withheld(withheld_words(plan::withheld(*gate)));
    for (std::size_t i = 0; i < gate->left.size(); ++i)
      withheld += fmt::format("{}{}", i == 0 ? " until this comes out clean: " : ", ", gate->left[i]);
    if (gate->rule->refer) withheld += "; have a qualified person look at it, and keep to local codes";
    page.paragraph(withheld + ".", 6);
  }
  put_milder(page, advice, said);
}

void put_gates_in_short(Page& page, const plan::Advice& advice) {
  for (const plan::Gate* gate : plan::speaking(advice.gates))
    page.labelled("STOP", fmt::format("{} ({})", first_sentence(gate->rule->say), gate->because), 0, 6, Ink::alarm);
}

void put_step(Page& page, const catalogue::Catalogue& catalogue, const plan::Advice& advice, bool whole) {
  if (!advice.next) return;
  const plan::BenchStep& step = *advice.next;
  const std::string& name = step.check != nullptr ? step.check->name : step.repair->name;
  const std::string& id = step.check != nullptr ? step.check->id : step.repair->id;
  const auto power = step.check != nullptr ? step.check->power : step.repair->power;
  const auto skill = step.check != nullptr ? step.check->skill : step.repair->skill;
  const auto& cautions = step.check != nullptr ? step.check->cautions : step.repair->cautions;
  page.heading(fmt::format("Do next: {} ({}; {})", name, id, work_text(step.minutes, power, skill)));
  if (advice.hand_on)
    page.paragraph(
        "By the numbers no step pays any more against handing the locomotive on. This one has the most chance for its "
        "minutes.",
        2);
  put_cautions(page, catalogue, not_yet_said(cautions, advice.gates, whole), 2, whole);
  put_steps(page, step.check != nullptr ? step.check->steps : step.repair->steps, 2);
  if (step.check != nullptr) page.labelled("If healthy:", step.check->expect, 2, 12);
}

void put_next(Page& page, const catalogue::Catalogue& catalogue, const plan::Advice& advice) {
  if (!advice.next) return;
  put_step(page, catalogue, advice, page.style().all);
  if (advice.next->check != nullptr) {
    put_results(page, *advice.next->check, advice.next->chance);
    return;
  }
  page.paragraph(
      fmt::format(
          "{} chance that this fixes a fault. Repeat the whole load test both ways to see whether it was the only one.",
          percent(advice.next->chance)),
      2);
}

std::string evidence_named(const belief::Item& item, double decibans, bool numbers) {
  return fmt::format("{}{}{}", item.name, item.present ? "" : ": no", numbers ? fmt::format(" {:+.0f}", decibans) : "");
}

std::string speaking(const Belief& belief, std::size_t cause, bool all, bool numbers) {
  std::string text;
  for (const bool in_favour : {true, false}) {
    std::string part;
    std::size_t named = 0;
    for (const belief::Weight& weight : belief.weights[cause]) {
      if ((weight.decibans > 0) != in_favour || std::abs(weight.decibans) < kSpeaks) continue;
      if (!all && named++ == 3) break;
      part += (part.empty() ? "" : ", ") + evidence_named(belief.evidence.items[weight.item], weight.decibans, numbers);
    }
    if (!part.empty()) text += fmt::format("{}{}: {}", text.empty() ? "" : "; ", in_favour ? "for" : "against", part);
  }
  return text;
}

}  // namespace wheeltapper::report
