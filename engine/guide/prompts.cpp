#include "engine/guide/prompts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "engine/bench/assess.hpp"
#include "engine/guide/hearing.hpp"
#include "engine/input/problem.hpp"
#include "engine/job/hazards.hpp"

namespace wheeltapper::guide {

using job::Topic;
using Kind = job::Topic::Kind;
namespace {

using catalogue::Catalogue;
using Ask = Prompt::Ask;

constexpr std::size_t kQuestionsFirst = 6;  // in a row before the first step is shown
constexpr std::size_t kQuestionsAfter = 2;  // after a check or a failed repair
constexpr double kWorthAsking = 1;          // minutes saved, beside the answer's own ...
constexpr double kShareWorthAsking = 0.02;  // ... and this share of what is expected from here

bool has_mark(const job::Job& job, const Topic& topic) { return job.marks.contains(topic); }

/// A mark of this stage, and not from before the bench run was asked for anew.
bool has_mark_now(const job::Job& job, const Topic& topic) {
  const auto mark = job.marks.find(topic);
  if (mark == job.marks.end() || mark->second.stage != job.stage()) return false;
  const auto again = job.marks.find(Kind::run_again);
  return again == job.marks.end() || again->second.stage != job.stage() || again->second.order < mark->second.order;
}

std::optional<Prompt> ask_intake(const job::Job& job) {
  if (job.locomotive().empty() && !has_mark(job, Kind::locomotive))
    return Prompt{Kind::locomotive,
                  Ask::text,
                  "Which locomotive is it?",
                  "Its name or number; it finds its history again.",
                  {},
                  {},
                  {}};
  if (!job.head.contains("complaint") && !has_mark(job, Kind::complaint))
    return Prompt{
        Kind::complaint, Ask::text, "What is the complaint, in the owner's words?", "Kept for the record.", {}, {}, {}};
  return std::nullopt;
}

void add_choice(Prompt& prompt, const catalogue::Finding& finding) {
  prompt.choices.push_back(finding.name);
  prompt.ids.push_back(finding.id);
}

std::string in_short(std::string text) {
  constexpr std::size_t kLongest = 80;
  if (text.size() <= kLongest) return text;
  text.resize(kLongest);
  while (!input::is_utf8(text)) text.pop_back();
  return text + " ...";
}

/// Somebody wrote what may mean a hazard, or asked for the list: one key confirms it, before anything else. Words that
/// were taken out with a person's name could have meant any.
std::optional<Prompt> ask_heard(const Position& at) {
  const auto words = unsettled(at.job);
  if (words.empty()) return std::nullopt;
  Prompt prompt{Kind::heard, Ask::some, {}, {}, {}, {}, {}, false};
  std::string said;
  std::set<const catalogue::Finding*> meant;
  bool all = false;
  for (const std::string& text : words) {
    const auto heard = job::hazards_heard(*at.catalogue, at.the_case.family, text);
    meant.insert(heard.begin(), heard.end());
    all = all || heard.empty();
    if (text != kWholeList) said += (said.empty() ? "\"" : ", \"") + in_short(text) + "\"";
  }
  const auto active = job::hazards_of(at.job, at.job.stage(), *at.catalogue).active;
  for (const auto* finding : job::hazards_in(*at.catalogue, at.the_case.family))
    if ((all || meant.contains(finding)) && !active.contains(finding->id)) add_choice(prompt, *finding);
  if (prompt.ids.empty()) return std::nullopt;
  prompt.question = said.empty() ? "Which of these is so?" : fmt::format("You wrote {}. Is one of these so?", said);
  prompt.hint = "The number stops the work that is not safe. None: it was not meant so. In doubt, the number.";
  return prompt;
}

/// All hazards in one question: power comes later.
std::optional<Prompt> ask_hazards(const job::Job& job, const Catalogue& catalogue, const std::string& family) {
  const auto asked_before = job.marks.find(Kind::hazards);
  const auto salvaged = job.marks.find(Kind::salvaged);
  const bool lost = salvaged != job.marks.end() &&
                    (asked_before == job.marks.end() || asked_before->second.order < salvaged->second.order);
  if (asked_before != job.marks.end() && !lost) return std::nullopt;
  Prompt prompt{Kind::hazards,
                Ask::some,
                "Before any power: does any of these apply, now or earlier?",
                "Numbers, such as 2 5, or none.",
                {},
                {},
                {},
                false};
  const auto active = job::hazards_of(job, job.stage(), catalogue).active;
  for (const auto* finding : job::hazards_in(catalogue, family)) {
    const job::Reported* reported = job.answer(finding->id, job.stage());
    const bool open = reported == nullptr || cases::is_not_observed(reported->word) || (lost && reported->word == "no");
    if (open && !active.contains(finding->id)) add_choice(prompt, *finding);
  }
  if (prompt.ids.empty()) return std::nullopt;
  return prompt;
}

std::optional<Prompt> ask_limits(const job::Job& job) {
  const bool told = job.head.contains("limits") && !job.head["limits"].empty();
  if (job.stage() > 0 || (told && !has_mark(job, Kind::limit_asked))) return std::nullopt;
  if (!has_mark(job, Kind::cars))
    return Prompt{Kind::cars, Ask::count, "How many cars does it pull in the test?", "A whole number.", {}, {}, {}};
  if (!has_mark(job, Kind::limit_amps))
    return Prompt{
        Kind::limit_amps, Ask::quantity, "Most amps that it may draw with the cars?", "Such as 2.0 A.", {}, {}, "A"};
  if (!has_mark(job, Kind::limit_laps))
    return Prompt{Kind::limit_laps, Ask::quantity, "Fewest laps a minute with the cars?", "Such as 9.", {}, {}, "/min"};
  return std::nullopt;
}

Topic topic_of(const Missing& missing) { return {Kind::reading, missing.quantity, missing.direction}; }

/// What was typed last lies far from its limit: said, and asked for once more.
void hint_at_far(const Position& at, Prompt& prompt) {
  const auto far = at.job.marks.find(Kind::far);
  if (far == at.job.marks.end() || !far->second.word.starts_with(text_of(prompt.topic) + " ")) return;
  if (far->second.stage != at.job.stage()) return;
  const std::string typed = far->second.word.substr(text_of(prompt.topic).size() + 1);
  prompt.hint = fmt::format(
      "\"{}\" is very far from its limit: has a unit or a point slipped? Put it right, or type it again.", typed);
}

Prompt ask_whether_it_runs(bool retest) {
  Prompt prompt{
      Kind::runs,
      Ask::yes_no,
      retest ? "Retest: does it run round the loop with the cars now?" : "Does it run round the loop with the cars?",
      "Put it on clean track with the test train. No if it stands or will not go round.",
      {},
      {},
      {}};
  prompt.caution = true;
  return prompt;
}

/// \param what  "Run" or "Retest"
Prompt ask_reading(const Position& at, const Missing& missing, const char* what) {
  const auto* quantity = at.catalogue->quantity(missing.quantity);
  const bool any = missing.direction == bench::Direction::any;
  const std::string when =
      fmt::format("{}{}, with the cars: ", what, any ? "" : fmt::format(", {}", bench::name(missing.direction)));
  Prompt prompt{
      topic_of(missing), Ask::quantity, when + quantity->ask, fmt::format("Such as 2.4 {}.", quantity->unit), {}, {},
      quantity->unit};
  if (missing.quantity == "lap-rate") {
    prompt.ask = Ask::laps;
    prompt.question = when + "how many laps in what time?";
    prompt.hint = "Such as 5 laps 35.3 s, or laps a minute.";
  }
  return prompt;
}

std::optional<Prompt> ask_run(const Position& at) {
  const job::Job& job = at.job;
  const bool retest = job.stage() > 0;
  std::vector<Missing> missing = missing_readings(at);
  std::erase_if(missing, [&](const Missing& each) { return has_mark_now(job, topic_of(each)); });
  // Without limits there is nothing to read, but whether it runs at all tells much.
  const bool first_question = !retest && at.the_case.session.limits.empty() && at.the_case.session.runs.empty();
  if (missing.empty() && !first_question) return std::nullopt;
  const auto runs = job.marks.find(Kind::runs);
  const bool said = runs != job.marks.end() && runs->second.stage == job.stage() && has_mark_now(job, Kind::runs);
  if (said && (runs->second.word != "yes" || missing.empty())) return std::nullopt;
  if (!said && !job.has_runs(job.stage())) return ask_whether_it_runs(retest);
  Prompt prompt = ask_reading(at, missing.front(), retest ? "Retest" : "Run");
  prompt.caution = !said && !job.has_runs(job.stage());
  hint_at_far(at, prompt);
  return prompt;
}
/// Verdicts that are too close to call, where none is decided against it already.
std::vector<const bench::LimitVerdict*> too_close(const Position& at) {
  std::vector<const bench::LimitVerdict*> close;
  for (const bench::LimitVerdict& each : at.diagnosis.verdicts) {
    if (each.verdict && each.verdict->call == measure::Call::outside) return {};
    if (each.verdict && each.verdict->call == measure::Call::too_close) close.push_back(&each);
  }
  return close;
}

/// Which run of its kind and direction it is, from 0.
std::size_t turn_of(const bench::Session& session, std::size_t run) {
  std::size_t turn = 0;
  for (std::size_t r = 0; r < run; ++r)
    if (session.runs[r].kind == session.runs[run].kind && session.runs[r].direction == session.runs[run].direction)
      ++turn;
  return turn;
}

std::optional<Prompt> repeat_of(const Position& at, const bench::LimitVerdict& close) {
  if (!close.settling || !close.settling->runs || !close.run) return std::nullopt;
  const bench::Session& session = at.the_case.session;
  const bench::Limit& limit = session.limits[close.limit];
  const bench::Run& run = session.runs[*close.run];
  const Topic topic(Kind::repeat, limit.quantity, run.direction, turn_of(session, *close.run));
  if (limit.run != bench::RunKind::loaded || has_mark_now(at.job, topic)) return std::nullopt;
  const auto made = std::max<std::size_t>(1, run.readings.at(limit.quantity).repeats.size());
  const auto* quantity = at.catalogue->quantity(limit.quantity);
  Prompt prompt{topic, Ask::quantity, {}, {}, {}, {}, quantity->unit};
  prompt.question =
      fmt::format("Too close to call. From a fresh start, {} again, with the cars: {}", bench::name(run.direction),
                  limit.quantity == "lap-rate" ? "how many laps in what time?" : quantity->ask);
  prompt.hint = fmt::format("Run {} of {} that would settle it if their mean stays. Skip: leave it open.", made + 1,
                            *close.settling->runs);
  if (limit.quantity == "lap-rate") prompt.ask = Ask::laps;
  hint_at_far(at, prompt);
  return prompt;
}

/// What is too close to call is run again where that helps.
std::optional<Prompt> ask_repeat(const Position& at) {
  for (const bench::LimitVerdict* close : too_close(at))
    if (auto prompt = repeat_of(at, *close)) return prompt;
  return std::nullopt;
}

/// A finding as a question.
Prompt question_of(const catalogue::Finding& finding) {
  Prompt prompt{Topic(Kind::finding, finding.id), Ask::yes_no, finding.question, finding.observe, {}, {}, {}};
  if (finding.top() > 1) {
    prompt.ask = Ask::level;
    prompt.choices = finding.levels;
  }
  return prompt;
}

/// It does not go round: then whether it moves at all decides what makes sense to ask.
std::optional<Prompt> ask_moves(const Position& at) {
  const auto runs = at.job.marks.find(Kind::runs);
  const auto* moves = at.catalogue->finding("does-not-move");
  if (runs == at.job.marks.end() || runs->second.word != "no" || runs->second.stage != at.job.stage())
    return std::nullopt;
  if (moves == nullptr || std::ranges::find(moves->families, at.the_case.family) == moves->families.end())
    return std::nullopt;
  const job::Reported* reported = at.job.answer(moves->id, at.job.stage());
  if (reported != nullptr && reported->stage == at.job.stage()) return std::nullopt;
  Prompt prompt = question_of(*moves);
  prompt.caution = true;
  return prompt;
}

/// A question as to whether a sign is there still.
Prompt still_of(const catalogue::Finding& finding) {
  Prompt prompt = question_of(finding);
  prompt.question = fmt::format("Is this still the case: \"{}\"?", finding.name);  // some questions ask for how it was
  return prompt;
}

/// A hazard from before a repair stands until it is answered anew.
std::optional<Prompt> ask_still(const Position& at) {
  for (const std::string& id : job::ask_again(at.job, *at.catalogue)) {
    const auto* finding = at.catalogue->finding(id);
    if (finding == nullptr || !job::is_hazard(*at.catalogue, id)) continue;
    Prompt prompt = still_of(*finding);
    prompt.may_skip = false;
    // How it is found out may want power or hands, which what stands forbids.
    prompt.hint = "Answer from what you have seen; do not try it to find out.";
    return prompt;
  }
  return std::nullopt;
}

Prompt causes_prompt(const Position& at) {
  Prompt prompt{Kind::causes, Ask::some, "What was it?", "Numbers, unsure, or none for something else.", {}, {}, {}};
  for (const std::string& id : suspects(at)) {
    prompt.ids.push_back(id);
    prompt.choices.push_back(at.catalogue->cause(id)->name);
  }
  return prompt;
}

std::optional<Prompt> ask_closing(const Position& at) {
  const job::Job& job = at.job;
  if (plan::withheld(at.diagnosis.advice.gates) != plan::Withheld::no)
    return std::nullopt;  // nothing is sound beside a hazard
  if (const auto close = job.marks.find(Kind::close); close != job.marks.end() && close->second.word == "cured" &&
                                                      close->second.stage == job.stage() && !job.repairs.empty())
    return causes_prompt(at);
  if (job.stage() > 0 && at.retest == job::Retest::passed && !has_mark_now(job, Kind::not_over))
    return causes_prompt(at);
  const bool told = std::ranges::any_of(at.diagnosis.belief.evidence.items, [](const belief::Item& item) {
    return item.present && item.said == "yes";  // by a person; readings have their verdicts
  });
  if (job.stage() == 0 && !told && !too_close(at).empty() && missing_readings(at).empty() &&
      !has_mark(job, Kind::no_fault))
    return Prompt{Kind::no_fault,
                  Ask::yes_no,
                  "Close the job as no fault found?",
                  "No run is outside its limits, one is too close to call: the house rule decides. No: look further.",
                  {},
                  {},
                  {},
                  false};
  if (job.stage() == 0 && at.diagnosis.nothing_wrong && !has_mark(job, Kind::no_fault))
    return Prompt{Kind::no_fault,
                  Ask::yes_no,
                  "Close the job as no fault found?",
                  "Every run is within its limits, and no other symptom was reported. No: look further.",
                  {},
                  {},
                  {},
                  false};
  return std::nullopt;
}

std::optional<Prompt> ask_retest_by_eye(const Position& at) {
  if (at.job.stage() == 0 || at.retest != job::Retest::open) return std::nullopt;
  const bool read = at.job.has_runs(at.job.stage());
  if (read || at.the_case.session.limits.empty()) {
    Prompt prompt{Kind::retest_eye,
                  Ask::yes_no,
                  "Does it run as it should now, both ways, with the cars?",
                  read ? "The readings leave it open: run it once more and judge by eye."
                       : "Run the whole test before you answer.",
                  {},
                  {},
                  {},
                  false};
    prompt.caution = true;
    return prompt;
  }
  return Prompt{Kind::retest_missing,
                Ask::outcome,
                "The retest is missing: only a run shows whether it is cured.",
                "1 to run it now. Or stop, and come back later; or close, which closes it without proof.",
                {"Run it now"},
                {"run"},
                {},
                false};
}

/// Questions since the last thing that was done.
std::size_t asked_in_a_row(const job::Job& job) {
  std::size_t count = 0;
  for (auto event = job.events.rbegin(); event != job.events.rend(); ++event) {
    const bool single = event->body.size() == 1 || event->kind == job::EventKind::marked;
    if (event->kind == job::EventKind::checked || event->kind == job::EventKind::repaired) break;
    if ((event->kind == job::EventKind::answers && single) || event->kind == job::EventKind::known) ++count;
    if (event->kind == job::EventKind::marked &&
        job::topic_of(event->body["key"].get<std::string>()).kind == Kind::context)
      ++count;
  }
  return count;
}

std::optional<Prompt> ask_question(const Position& at) {
  if (plan::withheld(at.diagnosis.advice.gates) != plan::Withheld::no) return std::nullopt;
  const bool nothing_done = at.job.checks.empty() && at.job.repairs.empty();
  if (asked_in_a_row(at.job) >= (nothing_done ? kQuestionsFirst : kQuestionsAfter)) return std::nullopt;
  const double least = std::max(kWorthAsking, kShareWorthAsking * at.diagnosis.advice.expected_minutes);
  if (at.questions.empty() || at.questions.front().saves < least) return std::nullopt;
  const plan::Question& first = at.questions.front();
  if (first.context != nullptr)
    return Prompt{Topic(Kind::context, first.context->id), Ask::yes_no, first.context->question, "", {}, {}, {}};
  const bool seen_before = at.job.answer(first.finding->id, at.job.stage()) != nullptr;
  return seen_before ? still_of(*first.finding) : question_of(*first.finding);
}

std::optional<Prompt> ask_step(const Position& at) {
  const auto& next = at.diagnosis.advice.next;
  if (!next) return std::nullopt;
  if (next->check != nullptr) {
    Prompt prompt{Topic(Kind::check, next->check->id),
                  Ask::check,
                  "What did it show?",
                  "Numbers, such as 1 3; none; or skip.",
                  {},
                  {},
                  {}};
    for (const auto& result : next->check->results) {
      prompt.choices.push_back(result.shows);
      prompt.ids.push_back(result.id);
    }
    return prompt;
  }
  return Prompt{Topic(Kind::repair, next->repair->id),
                Ask::repair,
                "Done?",
                "yes, or the minutes it took such as 20 min; or skip.",
                {},
                {},
                {}};
}

}  // namespace

std::vector<std::string> asked_ids(const job::Job& job) {
  std::vector<std::string> asked;
  for (const auto& [id, words] : job.answers)
    if (words.back().stage == job.stage() || words.back().word == "no") asked.push_back(id);
  for (const auto& [topic, told] : job.marks)
    if (topic.kind == Kind::context) asked.push_back(topic.id);
  return asked;
}

std::vector<std::string> declined_steps(const job::Job& job) {
  std::vector<std::string> ids;
  const auto again = job.marks.find(Kind::skipped_steps);
  const bool taken_up = again != job.marks.end() && again->second.word == "yes" && again->second.stage == job.stage();
  for (const auto& [topic, told] : job.marks) {
    const bool step = topic.kind == Kind::check || topic.kind == Kind::repair;
    if (!step || told.word != "skip" || told.stage != job.stage()) continue;
    if (!taken_up || told.order > again->second.order) ids.push_back(topic.id);
  }
  return ids;
}

std::optional<Prompt> next_prompt(const Position& at) {
  if (at.job.closing) return std::nullopt;
  if (auto prompt = ask_heard(at)) return prompt;
  if (auto prompt = ask_intake(at.job)) return prompt;
  if (auto prompt = ask_hazards(at.job, *at.catalogue, at.the_case.family)) return prompt;
  if (auto prompt = ask_still(at)) return prompt;
  const bool powered = plan::withheld(at.diagnosis.advice.gates) == plan::Withheld::no;
  if (powered)  // where a hazard stands, what clears it comes before all else
    if (auto prompt = ask_limits(at.job)) return prompt;
  if (powered)
    for (const auto ask : {ask_run, ask_moves, ask_repeat})
      if (auto prompt = ask(at)) return prompt;
  if (auto prompt = ask_closing(at)) return prompt;
  if (powered)
    if (auto prompt = ask_retest_by_eye(at)) return prompt;
  if (auto prompt = ask_question(at)) return prompt;
  if (auto prompt = ask_step(at)) return prompt;
  if (!declined_steps(at.job).empty() && !has_mark_now(at.job, Kind::skipped_steps))
    return Prompt{Kind::skipped_steps,
                  Ask::yes_no,
                  "Some steps were skipped, and nothing else is left. Take them up after all?",
                  "No: the job can be closed, or wait.",
                  {},
                  {},
                  {},
                  false};
  return closing_prompt(at);
}

Prompt closing_prompt(const Position& position) {
  Prompt prompt{Kind::outcome, Ask::outcome, "How does the job end?", "", {}, {}, {}};
  const auto& gates = position.diagnosis.advice.gates;
  const bool hand_on =
      std::ranges::any_of(gates, [](const plan::Gate& gate) { return !gate.cleared && gate.rule->refer; });
  std::vector<job::Outcome> outcomes(job::kOutcomes.begin(), job::kOutcomes.end());
  if (hand_on)
    std::stable_partition(outcomes.begin(), outcomes.end(),
                          [](job::Outcome each) { return each == job::Outcome::referred; });
  for (const job::Outcome each : outcomes) {
    if (each == job::Outcome::cured && position.job.repairs.empty()) continue;
    const bool sound = each == job::Outcome::no_fault || each == job::Outcome::cured;
    if (sound && plan::withheld(gates) != plan::Withheld::no) continue;  // nothing is sound beside a hazard
    prompt.choices.emplace_back(words(each));
    prompt.ids.emplace_back(name(each));
  }
  prompt.hint = "A number; or stop, and the job stays open.";
  if (!position.diagnosis.advice.next && !position.job.closing && !hand_on)
    prompt.hint = "No check or repair is left that promises anything. " + prompt.hint;
  if (hand_on) prompt.hint = "This is for a qualified person, and local codes come first: hand it on. " + prompt.hint;
  prompt.may_skip = false;
  return prompt;
}

}  // namespace wheeltapper::guide
