#include "engine/report/record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "engine/bench/assess.hpp"
#include "engine/job/job_case.hpp"
#include "engine/report/common.hpp"
#include "engine/report/guide_page.hpp"

namespace wheeltapper::report {
namespace {

using guide::Position;

constexpr std::size_t kRanked = 6;

std::string text_of(const nlohmann::json& head, const char* key) {
  return head.contains(key) && head[key].is_string() ? head[key].get<std::string>() : std::string();
}

std::string call_of(const bench::LimitVerdict& judged) {
  if (!judged.run) return "not run";
  if (!judged.verdict) return judged.reading ? "not comparable" : "not measured";
  return std::string(call_text(judged.verdict->call));
}

/// The last stage that was run at all before the end.
std::size_t last_run_stage(const job::Job& job) {
  std::size_t stage = job.stage();
  while (stage > 0 && !job.has_runs(stage)) --stage;
  return stage;
}

void add_verdicts(Record& record, const Position& at) {
  const cases::Case came = job::case_of(at.job, 0, *at.catalogue);
  const std::size_t last = last_run_stage(at.job);
  const cases::Case left = job::case_of(at.job, last, *at.catalogue);
  const auto before = bench::assess(came.session);
  const auto after = last > 0 ? bench::assess(left.session) : std::vector<bench::LimitVerdict>();
  const auto compared = last > 0 ? job::compare(came.session, left.session) : std::vector<job::Compared>();
  for (const bench::LimitVerdict& judged : before) {
    const bench::Limit& limit = came.session.limits[judged.limit];
    Record::Verdict verdict;
    verdict.what = what_was_read(*at.catalogue, limit, judged.direction, came.session.motor.neutral);
    verdict.allowed = allowed_text(limit.bounds);
    verdict.limits = limit.bounds;
    verdict.reading_before = judged.reading;
    verdict.before = judged.reading ? measure::show_with_uncertainty(*judged.reading) : "";
    verdict.call_before = call_of(judged);
    const auto same = std::ranges::find_if(after, [&](const bench::LimitVerdict& other) {
      return other.limit == judged.limit && other.direction == judged.direction;
    });
    if (same != after.end()) {
      verdict.reading_after = same->reading;
      verdict.after = same->reading ? measure::show_with_uncertainty(*same->reading) : "";
      verdict.call_after = call_of(*same);
    }
    const auto change = std::ranges::find_if(compared, [&](const job::Compared& each) {
      return each.quantity == limit.quantity && each.run == limit.run && each.direction == judged.direction;
    });
    if (change != compared.end()) verdict.change = words(change->change);
    record.verdicts.push_back(std::move(verdict));
  }
}

void add_ranking(Record& record, const Position& at) {
  const auto came = cases::diagnose(at.catalogue, job::case_of(at.job, 0, *at.catalogue));
  const belief::Belief& then = came.belief;
  const belief::Belief& now = at.diagnosis.belief;
  const bool cured = at.retest == job::Retest::passed || came.nothing_wrong;
  std::vector<std::size_t> causes;
  for (const belief::Belief* belief : {&then, &now}) {
    const std::size_t most = belief == &then ? kRanked : cured ? 0 : kRanked / 2;
    for (std::size_t i = 0; i < std::min(most, belief->ranking.size()); ++i)
      if (std::ranges::find(causes, belief->ranking[i]) == causes.end()) causes.push_back(belief->ranking[i]);
  }
  if (came.nothing_wrong) return;
  for (const std::size_t cause : causes) {
    const auto& item = *then.network->causes()[cause];
    // After a passed retest nothing is left to be wrong; the chances hold only if it still fails.
    record.ranking.push_back({item.name, item.id, then.posterior[cause], cured ? 0 : now.posterior[cause]});
  }
}

std::string upper(std::string_view text) {
  std::string all(text);
  std::ranges::transform(all, all.begin(), [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return all;
}

void add_cautions(Record::Done& done, const catalogue::Catalogue& catalogue, const std::vector<std::string>& ids) {
  std::vector<const catalogue::Caution*> cautions;
  for (const std::string& id : ids)
    if (const auto* caution = catalogue.caution(id)) cautions.push_back(caution);
  std::ranges::stable_sort(cautions, {}, &catalogue::Caution::signal);
  for (const auto* caution : cautions)
    done.cautions.emplace_back(upper(catalogue::name(caution->signal)), caution->text);
}

std::string minutes_text(const std::optional<double>& minutes) {
  return minutes ? fmt::format("{:.0f} min", *minutes) : std::string();
}

void add_done(Record& record, const Position& at) {
  for (const auto& check : at.job.checks) {
    const auto* item = at.catalogue->check(check.check);
    Record::Done done{
        check.at, item == nullptr ? check.check : item->name, check.check, {}, minutes_text(check.minutes), {}, false};
    for (const auto& [id, seen] : check.seen) {
      if (!seen) continue;
      std::string sign = id;
      if (item != nullptr)
        for (const auto& result : item->results)
          if (result.id == id) sign = result.shows;
      done.result += (done.result.empty() ? "" : "; ") + sign;
    }
    if (done.result.empty()) done.result = "nothing";
    if (item != nullptr) add_cautions(done, *at.catalogue, item->cautions);
    record.done.push_back(std::move(done));
  }
  for (std::size_t r = 0; r < at.job.repairs.size(); ++r) {
    const auto& repair = at.job.repairs[r];
    const auto* item = at.catalogue->repair(repair.repair);
    const job::Retest retest = job::retest_of(at.job, r + 1, *at.catalogue);
    Record::Done done{
        repair.at, item == nullptr ? repair.repair : item->name, repair.repair, {}, minutes_text(repair.minutes), {},
        true};
    done.result = retest == job::Retest::passed   ? "the retest passed"
                  : retest == job::Retest::failed ? "the retest failed"
                                                  : "no retest";
    if (item != nullptr) add_cautions(done, *at.catalogue, item->cautions);
    record.done.push_back(std::move(done));
  }
  std::ranges::stable_sort(record.done, {}, &Record::Done::when);
}

std::string retest_sentence(const Position& at) {
  if (at.job.repairs.empty()) return {};
  switch (at.retest) {
    case job::Retest::passed:
      return at.job.has_runs(at.job.stage()) ? "The retest passed: every limit is kept."
                                             : "The retest passed, judged by eye.";
    case job::Retest::failed:
      return "The retest failed.";
    case job::Retest::open:
      return "There is no retest that proves the repair.";
  }
  return {};
}

void add_closing(Record& record, const job::Job::Closing& closing, const catalogue::Catalogue& catalogue) {
  record.closed = closing.at;
  record.outcome = words(closing.outcome);
  for (const std::string& id : closing.causes) {
    const auto* cause = catalogue.cause(id);
    record.causes.push_back(cause == nullptr ? id : fmt::format("{} ({})", cause->name, id));
  }
  if (closing.unlisted) record.causes.emplace_back("something that is not in the knowledge");
}

/// What was there is the record.
void add_answers(Record& record, const Position& at) {
  const auto there = [](const job::Reported* each) {
    return each != nullptr && each->word != "no" && !cases::is_not_observed(each->word);
  };
  for (const auto& [id, words] : at.job.answers) {
    const auto* finding = at.catalogue->finding(id);
    const job::Reported* came = at.job.answer(id, 0);
    const job::Reported& last = words.back();
    if (!there(came) && !there(&last)) continue;
    std::string word = came == nullptr ? "-" : came->word;
    if (last.stage > 0) word += fmt::format(", later {}", last.word);
    record.answers.emplace_back(finding == nullptr ? id : finding->question, word);
  }
}

}  // namespace

Record record_of(const Position& at) {
  Record record;
  const job::Job& job = at.job;
  record.job = job.id;
  record.title = text_of(job.head, "title");
  record.locomotive = job.locomotive();
  record.owner = job.owner;
  record.complaint = text_of(job.head, "complaint");
  record.opened = job.opened_at();
  if (job.closing) add_closing(record, *job.closing, *at.catalogue);
  add_verdicts(record, at);
  add_answers(record, at);
  add_ranking(record, at);
  add_done(record, at);
  record.retest = retest_sentence(at);
  record.doubts = closing_doubts(at);
  for (const plan::Gate& gate : at.diagnosis.advice.gates)
    if (!gate.cleared && !job.closing)
      record.doubts.push_back(fmt::format("STOP: {} ({})", gate.rule->say, gate.because));
  record.notes = job.notes;
  for (const std::string& sentence : job.apart) record.notes.push_back(sentence);
  return record;
}

namespace {

void put_head(Page& page, const Record& record) {
  page.paragraph(fmt::format("Repair record {}{}{}", short_id(record.job), record.locomotive.empty() ? "" : ": ",
                             record.locomotive),
                 0, 0, Ink::bold);
  const auto line = [&](std::string_view label, const std::string& text) {
    if (!text.empty()) page.labelled(label, text, 2, 11);
  };
  line("Title", record.title);
  line("Owner", record.owner);
  line("Complaint", record.complaint);
  line("Opened", record.opened.substr(0, 16));
  line("Closed", record.closed.empty() ? "open" : fmt::format("{}, {}", record.closed.substr(0, 16), record.outcome));
  for (const std::string& cause : record.causes) line("It was", cause);
  for (const std::string& uncertainty : record.doubts) page.paragraph(uncertainty, 2, 2, Ink::alarm);
}

void put_runs(Page& page, const Record& record) {
  if (record.verdicts.empty()) return;
  page.heading("The load test");
  for (const auto& each : record.verdicts) {
    page.paragraph(fmt::format("{} ({})", each.what, each.allowed), 2, 2);
    page.ends("as it came: " + (each.before.empty() ? std::string("-") : each.before), each.call_before, 4);
    if (!each.call_after.empty())
      page.ends(fmt::format("at the end: {}{}", each.after.empty() ? "-" : each.after,
                            each.change.empty() ? "" : fmt::format(", {}", each.change)),
                each.call_after, 4);
  }
  page.paragraph(record.retest, 2, 0, Ink::bold);
}

}  // namespace

std::string record_text(const Record& record, const Style& given) {
  Style style = given;
  style.all = true;  // nothing of a record is cut
  Page page(style);
  put_head(page, record);
  put_runs(page, record);
  if (!record.answers.empty()) {
    page.heading("Reported symptoms");
    for (const auto& [question, answer] : record.answers) page.ends(question, answer, 2);
  }
  if (!record.ranking.empty()) {
    page.heading("What was probably wrong, before the first repair and at the end");
    for (const auto& each : record.ranking)
      page.ends_with(each.name, fmt::format(" ({})", each.id),
                     fmt::format("{} -> {}", percent(each.then), each.now <= 0 ? "-" : percent(each.now)), 2);
  }
  if (!record.done.empty()) page.heading("What was done");
  for (const auto& each : record.done) {
    page.ends_with(fmt::format("{} {}{}", each.when.substr(0, 16), each.repair ? "Repair: " : "", each.what),
                   fmt::format(" ({})", each.id), each.minutes, 2);
    for (const auto& [signal, text] : each.cautions) page.labelled(signal, text, 6, 9, Ink::care);
    page.paragraph((each.repair ? "Then: " : "Showed: ") + each.result + ".", 6);
  }
  if (!record.notes.empty()) page.heading("Notes");
  for (const std::string& note : record.notes) page.paragraph(note, 2, 2);
  page.heading("Signed");
  page.paragraph("Technician ______________________  Date ____________", 2);
  page.paragraph("Checked by ______________________  Date ____________", 2);
  return page.text();
}

}  // namespace wheeltapper::report
