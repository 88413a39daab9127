#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/algorithm/string.hpp>
#include <csignal>

#include "cli/bench_log.hpp"
#include "engine/belief/trellis.hpp"
#include "engine/guide/hearing.hpp"
#include "engine/guide/prompts.hpp"
#include "engine/guide/replies.hpp"
#include "engine/input/problem.hpp"
#include "engine/report/guide_page.hpp"

namespace wheeltapper::cli {
namespace {

volatile std::sig_atomic_t interrupted = 0;

/// While it lives, Ctrl-C ends the waiting for an answer instead of the program. At a terminal the signal is let
/// through only while waiting: one that comes just before would otherwise be lost until the next key.
class Interruptible {
 public:
  explicit Interruptible(bool terminal) : terminal_(terminal) {
    interrupted = 0;
    struct sigaction action {};
    action.sa_handler = [](int) { interrupted = 1; };
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, &before_);
    sigset_t held;
    sigemptyset(&held);
    if (terminal_) sigaddset(&held, SIGINT);
    sigprocmask(SIG_BLOCK, &held, &open_);
  }
  ~Interruptible() {
    sigprocmask(SIG_SETMASK, &open_, nullptr);
    sigaction(SIGINT, &before_, nullptr);
  }
  Interruptible(const Interruptible&) = delete;
  Interruptible& operator=(const Interruptible&) = delete;
  Interruptible(Interruptible&&) = delete;
  Interruptible& operator=(Interruptible&&) = delete;

  /// A line; false at the end of the input or at Ctrl-C.
  bool line(std::istream& in, std::string& text) const {
    return terminal_ ? typed_line(text) : interrupted == 0 && static_cast<bool>(std::getline(in, text));
  }

 private:
  /// A terminal hands out whole lines, and what is typed of one when Ctrl-D ends it: that is an end, not an answer.
  bool typed_line(std::string& text) const {
    text.clear();
    std::array<char, 4096> keys{};
    for (;;) {
      pollfd wait{STDIN_FILENO, POLLIN, 0};
      const int ready = ppoll(&wait, 1, nullptr, &open_);
      if (interrupted != 0) return false;
      if (ready < 0) continue;
      const ssize_t got = read(STDIN_FILENO, keys.data(), keys.size());
      if (got <= 0) return false;
      text.append(keys.data(), static_cast<std::size_t>(got));
      if (text.back() == '\n') {
        text.pop_back();
        return true;
      }
      if (static_cast<std::size_t>(got) < keys.size()) return false;
    }
  }

  bool terminal_;
  sigset_t open_{};
  struct sigaction before_ {};
};

constexpr std::string_view kWords[] = {
    "Answer yes, no, unsure, a number with its unit, or numbers of what is listed.",
    "skip: pass over this one. why: what it is good for. back: take the last answer back.",
    "hazard: something burns, smokes, shocks or is locked: say it at once, whatever is asked.",
    "note WORDS: write something down. close: end the job. stop: leave it; it waits for you."};

class Guide {
 public:
  Guide(log::Log& log, std::string job, std::shared_ptr<const catalogue::Catalogue> catalogue,
        const cases::DiagnoseSettings& settings, const Pen& pen, const Io& io, const report::Style& style)
      : log_(log),
        job_(std::move(job)),
        catalogue_(std::move(catalogue)),
        settings_(settings),
        pen_(pen),
        io_(io),
        style_(style),
        shown_events_(log_.events(job_)),
        at_(guide::position_of(catalogue_, shown_events_, settings_)) {}

  int run() {
    const Interruptible input(io_.asks);
    io_.out << report::standing_text(at_, style_);
    if (!at_.job.closing) say("Answer yes, no, unsure, skip, why, back or stop; hazard at any moment; help says more.");
    while (!at_.job.closing) {
      const guide::Prompt prompt = closing_ ? guide::closing_prompt(at_) : *at_.prompt;
      if (!shown_) io_.out << report::prompt_text(at_, prompt, style_);
      shown_ = true;
      io_.out << "> " << std::flush;
      std::string line;
      if (!input.line(*io_.in, line)) return end();
      if (!io_.asks) io_.out << input::harmless(line) << "\n";  // so that both sides can be read
      if (!answer(prompt, line)) return kOk;
    }
    for (const std::string& doubt : report::closing_doubts(at_)) say(doubt);
    io_.out << "\n";
    say(fmt::format("The job is closed: {}. Its record: wheeltapper job record {}",
                    job::words(at_.job.closing->outcome), report::short_id(job_)));
    return kOk;
  }

 private:
  int end() {
    io_.out << "\n";
    say_stopped();
    return interrupted != 0 ? kStopped : kOk;
  }

  void say_stopped() {
    say(fmt::format("Stopped; all is kept. Go on with: wheeltapper job go {}", report::short_id(job_)));
  }

  /// A locomotive that was here before, or one that is written almost alike.
  void say_history() {
    const std::string name = at_.job.locomotive();
    std::size_t visits = 0;
    std::string last;
    std::string alike;
    for (const log::JobLine& line : log_.jobs()) {
      if (line.job == job_ || line.locomotive.empty()) continue;
      if (line.locomotive == name) {
        ++visits;
        last = std::max(last, line.opened);
      } else if (boost::iequals(line.locomotive, name)) {
        alike = line.locomotive;
      }
    }
    if (visits > 0)
      say(fmt::format("It was here before: {} visit{}, the last {}. See: wheeltapper history \"{}\"", visits,
                      visits == 1 ? "" : "s", last.substr(0, 10), name));
    else if (!alike.empty())
      say(fmt::format("The log has a \"{}\". If it is the same: back, and write it so.", alike));
  }

  void say(std::string_view text) {
    report::Page page(style_);
    page.paragraph(text);
    io_.out << page.text();
  }

  /// False: the person stops.
  bool answer(const guide::Prompt& prompt, const std::string& typed) {
    const std::string word = boost::to_lower_copy(boost::trim_copy(typed));
    if (word == "stop" || word == "quit" || word == "exit") {
      say_stopped();
      return false;
    }
    if (word == "why" || word == "help") {
      if (word == "why") io_.out << report::why_text(at_, prompt, style_);
      if (word == "help")
        for (const std::string_view line : kWords) say(line);
    } else if (word == "back") {
      back();
    } else if (word == "close" && prompt.key == "heard") {
      say("First say whether it is so: a number, or none.");
    } else if (word == "close") {
      closing_ = true;
      shown_ = false;
    } else if (word.starts_with("note ")) {
      if (input::is_utf8(typed)) {
        const std::string text = boost::trim_copy(typed).substr(5);
        std::vector<job::Draft> drafts{{job::EventKind::note, {{"text", text}}}};
        for (job::Draft& heard : guide::hear(at_, text)) drafts.push_back(std::move(heard));
        const bool asks = drafts.size() > 1;
        take(std::move(drafts));
        io_.out << "Noted.\n";
        shown_ = !asks;
      } else {
        say("That is no readable text (UTF-8).");
        shown_ = true;
      }
    } else {
      guide::Reply reply = guide::interpret(at_, prompt, typed);
      if (reply.trouble.empty())
        take(reply.drafts);
      else
        say(reply.trouble);
    }
    return true;
  }

  void back() {
    if (closing_) {
      closing_ = shown_ = false;
      return;
    }
    const auto ids = job::last_answer(shown_events_);
    if (ids.empty()) {
      say("There is nothing to take back.");
      return;
    }
    if (const auto hazard = hazard_of_others(shown_events_, ids, pen_.bench(), *catalogue_)) {
      say(*hazard);
      return;
    }
    std::vector<job::Draft> drafts;
    for (const std::string& id : ids) drafts.emplace_back(job::EventKind::undone, nlohmann::json{{"event", id}});
    take(std::move(drafts));
  }

  void take(std::vector<job::Draft> drafts) {
    try {
      if (closed_meanwhile()) return;
      Prepared prepared =
          prepare(pen_, catalogue_, settings_, job_, shown_events_, log_.events(job_), std::move(drafts));
      guide::Position next = std::move(prepared.position);
      log_.append(std::move(prepared.events));
      const std::size_t expected = next.job.events.size() + next.job.undone.size();
      shown_events_ = log_.events(job_);
      const auto here = std::ranges::count_if(shown_events_, [](const job::Event& each) { return !each.second; });
      if (static_cast<std::size_t>(here) != expected)  // another bench was in between
        next = guide::position_of(catalogue_, shown_events_, settings_);
      io_.out << report::moved_text(at_, next, style_);
      const bool named = at_.job.locomotive() != next.job.locomotive();
      at_ = std::move(next);
      if (named) say_history();
      closing_ = shown_ = false;
    } catch (const input::BadInput& wrong) {
      const auto& first = wrong.problems().front();
      say(fmt::format("That can't be taken: it {}.{}", first.wrong,
                      first.allowed.empty() ? "" : " Allowed: " + first.allowed + "."));
    } catch (const belief::ImpossibleEvidence&) {
      io_.out
          << "That can't be beside what was said before: nothing was written. Look again, or take an answer back.\n";
    }
  }

  /// Another bench has closed the job: what was typed is not taken, and that is said.
  bool closed_meanwhile() {
    const auto now = log_.events(job_);
    if (at_.job.closing || !job::fold(now).closing) return false;
    say(fmt::format(
        "Another bench has closed this job meanwhile, so that was not taken. Is something dangerous? wheeltapper "
        "job hazard {}",
        report::short_id(job_)));
    shown_events_ = now;
    at_ = guide::position_of(catalogue_, now, settings_);
    return true;
  }

  log::Log& log_;
  std::string job_;
  std::shared_ptr<const catalogue::Catalogue> catalogue_;
  cases::DiagnoseSettings settings_;
  const Pen& pen_;
  const Io& io_;
  report::Style style_;
  std::vector<job::Event> shown_events_;  // what the person has had before them
  guide::Position at_;
  bool shown_ = false;
  bool closing_ = false;
};

}  // namespace

int guide(log::Log& log, const std::string& job, std::shared_ptr<const catalogue::Catalogue> catalogue,
          const cases::DiagnoseSettings& settings, const Pen& pen, const Io& io, const report::Style& style) {
  return Guide(log, job, std::move(catalogue), settings, pen, io, style).run();
}

}  // namespace wheeltapper::cli
