#include "engine/report/guide_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/report/common.hpp"
#include "engine/report/step_page.hpp"

namespace wheeltapper::report {
namespace {

using TopicKind = job::Topic::Kind;

using guide::Position;
using guide::Prompt;

constexpr std::size_t kNamed = 3;           // causes
constexpr double kMovedWorthSaying = 0.01;  // change of a chance

double chance_of(const belief::Belief& belief, const std::string& cause) {
  const auto at = belief.network->index(cause);
  return at ? belief.posterior[*at] : 0;
}

/// The causes to name: the first now and the first before.
std::vector<std::string> named_causes(const belief::Belief& before, const belief::Belief& after) {
  std::vector<std::string> ids;
  for (const belief::Belief* belief : {&after, &before})
    for (std::size_t i = 0; i < std::min(kNamed, belief->ranking.size()); ++i) {
      const std::string& id = belief->network->causes()[belief->ranking[i]]->id;
      const bool first = i == 0 || belief == &after;
      if (first && std::ranges::find(ids, id) == ids.end()) ids.push_back(id);
    }
  return ids;
}

/// What is new among the evidence and speaks for the likeliest cause, or against it.
std::string new_evidence(const belief::Belief& before, const belief::Belief& after, bool numbers) {
  if (after.ranking.empty()) return {};
  const auto was = [&](const belief::Item& item) {
    return std::ranges::any_of(before.evidence.items,
                               [&](const belief::Item& old) { return old.id == item.id && old.said == item.said; });
  };
  std::string in_favour, against;
  for (const belief::Weight& weight : after.weights[after.ranking.front()]) {
    const belief::Item& item = after.evidence.items[weight.item];
    if (was(item) || std::abs(weight.decibans) < 0.5) continue;
    std::string& part = weight.decibans > 0 ? in_favour : against;
    part += (part.empty() ? "" : ", ") + evidence_named(item, weight.decibans, numbers);
  }
  if (!in_favour.empty()) in_favour = "for the first of them: " + in_favour;
  if (against.empty()) return in_favour;
  return in_favour + (in_favour.empty() ? "against the first of them: " : "; against it: ") + against;
}

bool same_verdicts(const std::vector<bench::LimitVerdict>& a, const std::vector<bench::LimitVerdict>& b) {
  return std::ranges::equal(a, b, [](const bench::LimitVerdict& x, const bench::LimitVerdict& y) {
    const bool both = x.verdict.has_value() == y.verdict.has_value();
    return both && (!x.verdict || std::abs(x.verdict->conforms - y.verdict->conforms) < 1e-9);
  });
}

void put_moved(Page& page, const belief::Belief& before, const belief::Belief& after) {
  const auto ids = named_causes(before, after);
  const bool moved = std::ranges::any_of(ids, [&](const std::string& id) {
    return std::abs(chance_of(before, id) - chance_of(after, id)) >= kMovedWorthSaying;
  });
  if (!moved) return;
  std::string text = "Now: ";
  for (const std::string& id : ids) {
    const auto& name = after.network->causes()[*after.network->index(id)]->name;
    const std::string now = percent(chance_of(after, id));
    const std::string was = percent(chance_of(before, id));
    text += fmt::format("{}{} {}{}", &id == &ids.front() ? "" : "; ", name, now,
                        was == now ? "" : fmt::format(" (was {})", was));
  }
  page.paragraph(text + ".", 0, 5);
  if (const std::string why = new_evidence(before, after, page.style().all); !why.empty())
    page.paragraph(fmt::format("New {}.", why), 5, 0, Ink::dim);
}

/// Rules that held before and hold no more.
void put_cleared(Page& page, const plan::Advice& before, const plan::Advice& after) {
  for (const plan::Gate& gate : before.gates) {
    const bool holds = std::ranges::any_of(
        after.gates, [&](const plan::Gate& each) { return each.rule == gate.rule && !each.cleared; });
    if (gate.cleared || holds) continue;
    page.paragraph(
        fmt::format("Cleared: {}.{}", gate.rule->name,
                    plan::withheld(after.gates) == plan::Withheld::no
                        ? " Power may come on again: stay with it, and cut it at the first smell, smoke or hum."
                        : ""),
        0, 0, Ink::bold);
  }
}

void put_retest(Page& page, const Position& at) {
  if (at.job.stage() == 0) return;
  if (at.retest == job::Retest::passed)
    page.paragraph("The retest passed.", 0, 0, Ink::bold);
  else if (at.retest == job::Retest::failed)
    page.paragraph("The retest failed: something is still wrong.", 0, 0, Ink::bold);
}

void put_choices(Page& page, const Prompt& prompt) {
  for (std::size_t i = 0; i < prompt.choices.size(); ++i)
    page.labelled(fmt::format("{}", i + 1), prompt.choices[i], 2, 3);
}

/// The comparison of a retest with the runs before the repair.
void put_compared(Page& page, const Position& at, const std::vector<job::Compared>& compared) {
  for (const job::Compared& each : compared) {
    bench::Limit limit{each.quantity, each.run, each.direction, {{}, {}, each.after.unit()}, {}};
    const double sure = std::max(each.rose, 1 - each.rose);
    const std::string call = each.change == job::Change::none_provable
                                 ? std::string(words(each.change))
                                 : fmt::format("{}, {}", words(each.change), percent(sure));
    page.ends_with(
        fmt::format("{}:", what_was_read(*at.catalogue, limit, each.direction, at.the_case.session.motor.neutral)),
        fmt::format(" {} -> {}", measure::show(each.before), measure::show(each.after)), call, 2);
    if (page.style().all) page.paragraph("by " + measure::show_with_uncertainty(each.difference), 4);
  }
}

}  // namespace

std::string short_id(const std::string& job) { return job.substr(0, 8); }

std::string prompt_text(const Position& position, const Prompt& prompt, const Style& style) {
  Page page(style);
  page.line();
  using Ask = Prompt::Ask;
  if (prompt.ask == Ask::check || prompt.ask == Ask::repair) {
    put_gates(page, *position.catalogue, position.diagnosis.advice);
    put_step(page, *position.catalogue, position.diagnosis.advice, true);
  }
  if (prompt.topic.kind == TopicKind::outcome) put_gates(page, *position.catalogue, position.diagnosis.advice);
  if (page.text() == "\n") put_gates_in_short(page, position.diagnosis.advice);
  if (page.text() != "\n") page.blank();
  if (prompt.caution) put_cautions(page, *position.catalogue, {"caution-low-voltage-live"}, 0, style.all);
  page.paragraph(prompt.question, 0, 0, Ink::bold);
  put_choices(page, prompt);
  if (!prompt.hint.empty()) page.paragraph(prompt.hint, 2, 0, Ink::dim);
  return page.text();
}

std::string moved_text(const Position& before, const Position& after, const Style& style) {
  Page page(style);
  if (!same_verdicts(before.diagnosis.verdicts, after.diagnosis.verdicts) && guide::missing_readings(after).empty()) {
    put_verdicts(page, *after.catalogue, after.the_case, after.diagnosis.verdicts, false);
    if (!after.compared.empty()) {
      page.paragraph("Compared with before the repair:");
      put_compared(page, after, after.compared);
    }
    put_retest(page, after);
  } else if (before.retest != after.retest && before.job.stage() == after.job.stage() &&
             guide::missing_readings(after).empty()) {
    put_retest(page, after);
  }
  const auto held = plan::withheld(after.diagnosis.advice.gates);
  const bool prompt_says_it =
      after.prompt && (after.prompt->ask == Prompt::Ask::check || after.prompt->ask == Prompt::Ask::repair ||
                       after.prompt->topic.kind == TopicKind::outcome);
  if (held > plan::withheld(before.diagnosis.advice.gates) && !prompt_says_it) {
    put_gates(page, *after.catalogue, after.diagnosis.advice);
    page.blank();
  }
  put_cleared(page, before.diagnosis.advice, after.diagnosis.advice);
  std::set<std::string> old(before.diagnosis.remarks.begin(), before.diagnosis.remarks.end());
  for (const std::string& remark : after.diagnosis.remarks)
    if (!old.contains(remark)) page.paragraph(remark, 0, 2, Ink::care);
  const bool running = after.prompt && after.prompt->topic.kind == TopicKind::reading;
  const bool untested = after.job.stage() > 0 && after.retest == job::Retest::open;
  if (held == plan::Withheld::no && !running && !untested && after.retest != job::Retest::passed &&
      !after.diagnosis.nothing_wrong && !after.job.closing)
    put_moved(page, before.diagnosis.belief, after.diagnosis.belief);
  return page.text();
}

std::string stop_text(const Position& at, const Style& style) {
  Page page(style);
  if (plan::withheld(at.diagnosis.advice.gates) != plan::Withheld::no)
    put_gates(page, *at.catalogue, at.diagnosis.advice);
  return page.text();
}

std::vector<std::string> closing_doubts(const Position& at) {
  std::vector<std::string> doubts;
  if (!at.job.closing) return doubts;
  for (const plan::Gate& gate : at.diagnosis.advice.gates)
    if (!gate.cleared)
      doubts.push_back(fmt::format("An active hazard was not cleared: {}. {}", gate.because, gate.rule->say));
  const bool outside = std::ranges::any_of(at.diagnosis.verdicts, [](const bench::LimitVerdict& each) {
    return each.verdict && each.verdict->call == measure::Call::outside;
  });
  const auto outcome = at.job.closing->outcome;
  if (outside && outcome == job::Outcome::no_fault)
    doubts.emplace_back("It was closed as no fault found, though a run is outside its limits.");
  if (outside && outcome == job::Outcome::cured)
    doubts.emplace_back("It was closed as cured, though the last run is outside its limits.");
  if (outcome == job::Outcome::cured && at.retest != job::Retest::passed)
    doubts.emplace_back("It was closed as cured, but no retest proves it: it counts for less.");
  return doubts;
}

std::string why_text(const Position& position, const Prompt& prompt, const Style& style) {
  Page page(style);
  const belief::Belief& belief = position.diagnosis.belief;
  const plan::Advice& advice = position.diagnosis.advice;
  using Ask = Prompt::Ask;
  const std::string& id = prompt.topic.id;
  const auto question = std::ranges::find_if(position.questions, [&](const plan::Question& each) {
    return (each.finding != nullptr ? each.finding->id : each.context->id) == id;
  });
  if (advice.hand_on && (prompt.ask == Ask::check || prompt.ask == Ask::repair)) {
    page.paragraph(fmt::format(
        "It has the most chance for its minutes of all that is left: {}. To hand the locomotive on is as good by the "
        "numbers; close, and say so.",
        percent(advice.next ? advice.next->chance : 0)));
  } else if (prompt.ask == Ask::check && advice.next && advice.next->check != nullptr) {
    page.paragraph(fmt::format(
        "It takes {:.0f} min and shows something with chance {}. Of all that can be done now it is expected to save "
        "most "
        "for its minutes: from here about {:.0f} min in all, {:.0f} if you repaired without looking.",
        advice.next->minutes, percent(advice.next->chance), advice.expected_minutes, advice.repair_only_minutes));
  } else if (prompt.ask == Ask::repair && advice.next) {
    page.paragraph(fmt::format("{} chance that this fixes a fault, and no check is worth its minutes before it.",
                               percent(advice.next->chance)));
  } else if (question != position.questions.end()) {
    page.paragraph(fmt::format("Yes is expected with chance {}. Either answer is expected to save {:.0f} min of work.",
                               percent(question->yes), std::max(1.0, question->saves)));
  } else if (prompt.topic.kind == TopicKind::hazards) {
    page.paragraph("One yes withholds everything under power until a check has cleared it.");
  } else if (prompt.caution || prompt.topic.kind == TopicKind::reading) {
    page.paragraph(position.job.stage() > 0
                       ? "Only the same test as before shows whether the repair worked, and by how much."
                       : "What the meter shows is worth more than any answer: the limits are held against it.");
  } else if (prompt.topic.kind == TopicKind::causes) {
    page.paragraph("The log remembers what cured what. Say it only if you saw it; unsure costs nothing.");
  } else if (prompt.topic.kind == TopicKind::finding) {
    page.paragraph("A repair came between: how it was before does not tell how it is now.");
  } else {
    page.paragraph("It is kept with the job.");
  }
  page.blank();
  for (std::size_t i = 0; i < std::min(kNamed, belief.ranking.size()); ++i) {
    const std::size_t cause = belief.ranking[i];
    page.ends(belief.network->causes()[cause]->name, percent(belief.posterior[cause]), 2);
    if (const std::string why = speaking(belief, cause, style.all, true); !why.empty())
      page.paragraph(why, 4, 0, Ink::dim);
  }
  return page.text();
}

std::string standing_text(const Position& position, const Style& style) {
  Page page(style);
  const job::Job& job = position.job;
  const std::string name = job.locomotive();
  page.paragraph(fmt::format("Job {}{}{}", short_id(job.id), name.empty() ? "" : ": ", name), 0, 0, Ink::bold);
  if (job.head.contains("title") && job.head["title"].is_string() && job.head["title"] != "Repair job")
    page.paragraph(job.head["title"].get<std::string>(), 2);
  page.paragraph(fmt::format("Opened {}, {} event{}, {} check{}, {} repair{}.", job.opened_at().substr(0, 10),
                             job.events.size(), job.events.size() == 1 ? "" : "s", job.checks.size(),
                             job.checks.size() == 1 ? "" : "s", job.repairs.size(), job.repairs.size() == 1 ? "" : "s"),
                 2);
  for (const std::string& sentence : job.apart) page.paragraph(sentence, 2, 2, Ink::care);
  if (job.closing) page.paragraph(fmt::format("Closed: {}.", job::words(job.closing->outcome)), 2);
  return page.text();
}

}  // namespace wheeltapper::report
