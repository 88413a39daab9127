#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <array>
#include <csignal>

#include "cli/bench_log.hpp"
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
  Guide(app::Desk& desk, const Io& io, const report::Style& style) : desk_(desk), io_(io), style_(style) {}

  int run(app::Screen screen) {
    const Interruptible input(io_.asks);
    io_.out << report::standing_text(*screen.at, style_);
    if (!screen.closed()) say("Answer yes, no, unsure, skip, why, back or stop; hazard at any moment; help says more.");
    while (!screen.closed()) {
      if (!screen.asked_before) io_.out << report::prompt_text(*screen.at, *screen.prompt, style_);
      io_.out << "> " << std::flush;
      std::string line;
      if (!input.line(*io_.in, line)) return end(screen);
      if (!io_.asks) io_.out << input::harmless(line) << "\n";  // so that both sides can be read
      screen = desk_.say(line);
      print(screen);
      if (screen.heard == app::Heard::left) return kOk;
    }
    for (const std::string& doubt : report::closing_doubts(*screen.at)) say(doubt);
    io_.out << "\n";
    say(fmt::format("The job is closed: {}. Its record: wheeltapper job record {}",
                    job::words(screen.at->job.closing->outcome), report::short_id(screen.job)));
    return kOk;
  }

 private:
  int end(const app::Screen& screen) {
    io_.out << "\n";
    say_stopped(screen);
    return interrupted != 0 ? kStopped : kOk;
  }

  void say_stopped(const app::Screen& screen) {
    say(fmt::format("Stopped; all is kept. Go on with: wheeltapper job go {}", report::short_id(screen.job)));
  }

  /// What became of a line.
  void print(const app::Screen& screen) {
    using app::Heard;
    if (screen.before) io_.out << report::moved_text(*screen.before, *screen.at, style_);
    if (screen.visits) say_visits(*screen.visits);
    switch (screen.heard) {
      case Heard::wants_why:
        io_.out << report::why_text(*screen.at, *screen.prompt, style_);
        break;
      case Heard::wants_help:
        for (const std::string_view line : kWords) say(line);
        break;
      case Heard::noted:
        io_.out << "Noted.\n";
        break;
      case Heard::refused:
      case Heard::impossible:
        say(screen.refused);
        if (screen.closed())
          say(fmt::format("Is something dangerous? wheeltapper job hazard {}", report::short_id(screen.job)));
        break;
      case Heard::left:
        say_stopped(screen);
        break;
      case Heard::nothing:
      case Heard::taken:
        break;
    }
  }

  /// A locomotive that was here before, or one that is written almost alike.
  void say_visits(const app::Visits& visits) {
    if (visits.count > 0)
      say(fmt::format("It was here before: {} visit{}, the last {}. See: wheeltapper history \"{}\"", visits.count,
                      visits.count == 1 ? "" : "s", visits.last.substr(0, 10), visits.locomotive));
    else
      say(fmt::format("The log has a \"{}\". If it is the same: type back and enter that name.", visits.alike));
  }

  void say(std::string_view text) {
    report::Page page(style_);
    page.paragraph(text);
    io_.out << page.text();
  }

  app::Desk& desk_;
  const Io& io_;
  report::Style style_;
};

}  // namespace

int guide(app::Desk& desk, const app::Screen& first, const Io& io, const report::Style& style) {
  return Guide(desk, io, style).run(first);
}

}  // namespace wheeltapper::cli
