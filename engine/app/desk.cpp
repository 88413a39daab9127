#include "engine/app/desk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>
#include <cassert>

#include "engine/belief/trellis.hpp"
#include "engine/guide/hearing.hpp"
#include "engine/guide/prompts.hpp"
#include "engine/guide/replies.hpp"
#include "engine/input/problem.hpp"
#include "engine/job/hazards.hpp"

namespace wheeltapper::app {
namespace {

using job::Draft;
using job::Event;
using job::EventKind;
using nlohmann::json;

constexpr std::size_t kRanked = 8;

/// What may be written to a job that is closed.
bool bound_to_open_jobs(const Draft& draft) {
  switch (draft.first) {
    case EventKind::reopened:
    case EventKind::undone:
    case EventKind::note:
    case EventKind::told:
    case EventKind::owner:
    case EventKind::marked:
      return false;
    default:
      return true;
  }
}

/// A job's events with drafts behind them, numbered as the store will number them: to see whether it can be read so.
std::vector<Event> with_drafts(std::vector<Event> events, const std::vector<Event>& drafts) {
  std::int64_t number = 0;
  for (const Event& each : events) number = std::max(number, each.number);
  for (const Event& draft : drafts) {
    events.push_back(draft);
    events.back().number = ++number;
  }
  return events;
}

/// Why these events are not taken back here: among them is a hazard that another bench told. Empty if they may be.
std::string hazard_of_others(const std::vector<Event>& events, const std::vector<std::string>& ids,
                             const std::string& bench, const catalogue::Catalogue& catalogue) {
  for (const Event& event : events) {
    if (event.writer == bench || std::ranges::find(ids, event.id) == ids.end()) continue;
    if (event.kind == EventKind::answers)
      for (const auto& [id, word] : event.body.items())
        if (word != "no" && job::is_hazard(catalogue, id))
          return fmt::format(
              "The last entry is a hazard that \"{}\" told: {}. It is not taken back from here; where it is "
              "not so, answer no to it.",
              event.writer, catalogue.finding(id)->name);
    if (event.kind == EventKind::checked && event.body.dump().find("\"seen\"") != std::string::npos)
      return fmt::format("The last entry is a check at \"{}\" that found something: it is not taken back from here.",
                         event.writer);
  }
  return {};
}

std::vector<Draft> undoing(const std::vector<std::string>& ids) {
  std::vector<Draft> drafts;
  for (const std::string& id : ids) drafts.emplace_back(EventKind::undone, json{{"event", id}});
  return drafts;
}

std::vector<Ranked> ranking_of(const guide::Position& at, const guide::Position* before) {
  std::vector<Ranked> ranking;
  const belief::Belief& belief = at.diagnosis.belief;
  for (std::size_t i = 0; i < std::min(kRanked, belief.ranking.size()); ++i) {
    const auto& cause = *belief.network->causes()[belief.ranking[i]];
    Ranked ranked{cause.id, cause.name, belief.posterior[belief.ranking[i]], {}};
    if (before != nullptr)
      if (const auto was = before->diagnosis.belief.network->index(cause.id))
        ranked.was = before->diagnosis.belief.posterior[*was];
    ranking.push_back(std::move(ranked));
  }
  return ranking;
}

template <typename Work>
void add_work(Screen& screen, const Work* work) {
  if (work == nullptr) return;
  screen.cautions = work->cautions;
  screen.steps = work->steps;
}

/// What a prompt asks to be done, with its cautions.
void add_step(Screen& screen) {
  if (!screen.prompt) return;
  const std::string& id = screen.prompt->topic.id;
  if (screen.prompt->ask == guide::Prompt::Ask::check) add_work(screen, screen.at->catalogue->check(id));
  if (screen.prompt->ask == guide::Prompt::Ask::repair) add_work(screen, screen.at->catalogue->repair(id));
}

}  // namespace

Desk::Desk(std::shared_ptr<const catalogue::Catalogue> catalogue, job::Store& store, World world,
           const cases::DiagnoseSettings& settings)
    : catalogue_(std::move(catalogue)), store_(store), world_(std::move(world)), settings_(settings) {}

guide::Position Desk::position_of(const std::vector<Event>& events) const {
  return guide::position_of(catalogue_, events, settings_);
}

Screen Desk::open(std::vector<Draft> opening) {
  job_ = world_.new_id();
  shown_.clear();
  at_.reset();
  closing_ = false;
  return write(std::move(opening), Heard::taken);
}

Screen Desk::open(const std::string& family) {
  return open({{EventKind::opened, json{{"title", "Repair job"}, {"locomotive", {{"family", family}}}}}});
}

Screen Desk::take_up(const std::string& job) {
  job_ = job;
  closing_ = false;
  return look();
}

Screen Desk::look() {
  shown_ = store_.events(job_);
  at_ = std::make_shared<const guide::Position>(position_of(shown_));
  return screen();
}

Screen Desk::screen(Heard heard) const {
  assert(at_ != nullptr && "a job was opened or taken up");
  Screen screen;
  screen.job = job_;
  screen.heard = heard;
  screen.at = at_;
  if (!at_->job.closing) screen.prompt = closing_ ? guide::closing_prompt(*at_) : at_->prompt;
  for (const plan::Gate* gate : plan::speaking(at_->diagnosis.advice.gates))
    screen.stops.push_back({gate->rule->id, gate->because, gate->rule->say});
  add_step(screen);
  screen.verdicts = at_->diagnosis.verdicts;
  screen.ranking = ranking_of(*at_, nullptr);
  if (const auto& next = at_->diagnosis.advice.next)
    screen.advised = next->check != nullptr ? next->check->id : next->repair->id;
  return screen;
}

Screen Desk::refuse(std::string why) const {
  Screen refused = screen(Heard::refused);
  refused.refused = std::move(why);
  refused.asked_before = true;
  return refused;
}

Screen Desk::refuse(const std::vector<input::Problem>& problems) const {
  const input::Problem& first = problems.front();
  Screen refused = refuse(fmt::format("That can't be taken: it {}.{}", first.wrong,
                                      first.allowed.empty() ? "" : " Allowed: " + first.allowed + "."));
  refused.problems = problems;
  return refused;
}

Screen Desk::say(std::string_view line) {
  const std::string typed = boost::trim_copy(std::string(line));
  const std::string word = boost::to_lower_copy(typed);
  const auto only = [&](Heard heard) {
    Screen same = screen(heard);
    same.asked_before = true;
    return same;
  };
  if (word == "stop" || word == "quit" || word == "exit") return only(Heard::left);
  if (word == "why") return only(Heard::wants_why);
  if (word == "help") return only(Heard::wants_help);
  if (word == "back") return back();
  if (word.starts_with("note ")) return note(typed.substr(5));
  const Screen now = screen();
  if (!now.prompt) return refuse("The job is closed.");
  if (word == "close") {
    if (now.prompt->topic.kind == job::Topic::Kind::heard)
      return refuse("First say whether it is so: a number, or none.");
    closing_ = true;
    return screen();
  }
  guide::Reply reply = guide::interpret(*at_, *now.prompt, line);
  if (!reply.trouble.empty()) return refuse(std::move(reply.trouble));
  return write(std::move(reply.drafts), Heard::taken);
}

Screen Desk::back() {
  if (closing_) {
    closing_ = false;
    return screen();
  }
  const auto ids = job::last_answer(shown_);
  if (ids.empty()) return refuse("There is nothing to take back.");
  if (std::string why = hazard_of_others(shown_, ids, world_.writer, *catalogue_); !why.empty()) return refuse(why);
  return write(undoing(ids), Heard::taken);
}

std::string Desk::take_back(const std::string& job) {
  const auto events = store_.events(job);
  const auto ids = job::last_answer(events);
  if (ids.empty()) return "there is nothing to take back";
  if (std::string why = hazard_of_others(events, ids, world_.writer, *catalogue_); !why.empty()) return why;
  store_.append(events_of(world_, job, undoing(ids), job::seen_of(events)));
  return {};
}

Screen Desk::note(std::string_view text) {
  if (!input::is_utf8(text)) return refuse("That is no readable text (UTF-8).");
  std::vector<Draft> drafts{{EventKind::note, {{"text", std::string(text)}}}};
  if (!at_->job.closing)
    for (Draft& heard : guide::hear(*at_, text)) drafts.push_back(std::move(heard));
  const bool asks = drafts.size() > 1;
  Screen noted = write(std::move(drafts), Heard::noted);
  noted.asked_before = !asks;
  return noted;
}

Screen Desk::hazard(const std::vector<std::string>& findings) {
  if (findings.empty()) return write(guide::hear(*at_, guide::kWholeList), Heard::taken);
  json answers = json::object();
  for (const std::string& id : findings) {
    if (catalogue_->finding(id) == nullptr || !job::is_hazard(*catalogue_, id))
      return refuse(fmt::format("{} is no hazard", id));
    answers[id] = "yes";
  }
  std::vector<Draft> drafts{{EventKind::answers, std::move(answers)}};
  if (at_->job.closing) drafts.insert(drafts.begin(), {EventKind::reopened, json::object()});
  return write(std::move(drafts), Heard::taken);
}

Screen Desk::close(job::Outcome outcome, const std::vector<std::string>& causes) {
  return write({{EventKind::closed, {{"outcome", std::string(name(outcome))}, {"causes", causes}}}}, Heard::taken);
}

Screen Desk::enter(std::vector<Draft> drafts) { return write(std::move(drafts), Heard::taken); }

/// Why a closed job does not take what is to be written; nothing where it may be.
std::optional<Screen> Desk::refused_as_closed(const std::vector<Event>& all, const std::vector<Draft>& drafts) {
  const bool reopens = !drafts.empty() && drafts.front().first == EventKind::reopened;
  if (all.empty() || reopens || !job::fold(all).closing) return std::nullopt;
  if (!at_->job.closing) {
    look();
    return refuse("Another bench has closed this job meanwhile, so that was not taken.");
  }
  if (std::ranges::any_of(drafts, bound_to_open_jobs)) return refuse("The job is closed.");
  return std::nullopt;
}

/// Appends what was drafted, with the hazards that its readings show.
void Desk::append(const std::vector<Event>& all, std::vector<Draft> drafts) {
  const job::Seen seen = job::seen_of(shown_);
  auto events = events_of(world_, job_, drafts, seen);
  auto position = position_of(with_drafts(all, events));
  if (auto read = guide::hazards_read(position); !read.empty()) {
    drafts.insert(drafts.end(), read.begin(), read.end());
    events = events_of(world_, job_, std::move(drafts), seen);
    position = position_of(with_drafts(all, events));
  }
  store_.append(std::move(events));
  stand(std::move(position));
}

Screen Desk::write(std::vector<Draft> drafts, Heard heard) {
  const auto all = store_.events(job_);
  if (auto refused = refused_as_closed(all, drafts)) return *refused;
  const auto before = at_;
  try {
    append(all, std::move(drafts));
  } catch (const input::BadInput& wrong) {
    if (before == nullptr) throw;
    return refuse(wrong.problems());
  } catch (const belief::ImpossibleEvidence&) {
    if (before == nullptr) throw;
    Screen refused =
        refuse("That contradicts an earlier answer: nothing was written. Look again, or take an answer back.");
    refused.heard = Heard::impossible;
    return refused;
  }
  closing_ = false;
  Screen taken = screen(heard);
  taken.before = before;
  taken.ranking = ranking_of(*at_, before.get());
  if (before != nullptr && before->job.locomotive() != at_->job.locomotive()) taken.visits = visits();
  return taken;
}

/// What was worked out stands, unless another bench wrote in between.
void Desk::stand(guide::Position position) {
  const std::size_t expected = position.job.events.size() + position.job.undone.size();
  shown_ = store_.events(job_);
  const auto here = std::ranges::count_if(shown_, [](const Event& each) { return !each.second; });
  if (static_cast<std::size_t>(here) != expected) position = position_of(shown_);
  at_ = std::make_shared<const guide::Position>(std::move(position));
}

std::optional<Visits> Desk::visits() {
  Visits found{at_->job.locomotive(), 0, {}, {}};
  for (const job::JobLine& line : store_.jobs()) {
    if (line.job == job_ || line.locomotive.empty()) continue;
    if (line.locomotive == found.locomotive) {
      ++found.count;
      found.last = std::max(found.last, line.opened);
    } else if (boost::iequals(line.locomotive, found.locomotive)) {
      found.alike = line.locomotive;
    }
  }
  if (found.count == 0 && found.alike.empty()) return std::nullopt;
  return found;
}

}  // namespace wheeltapper::app
