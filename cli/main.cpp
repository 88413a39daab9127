#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <iostream>
#include <optional>
#include <string_view>

#include "cli/command.hpp"
#include "engine/belief/trellis.hpp"
#include "engine/input/json_reader.hpp"
#include "engine/input/problem.hpp"
#include "engine/log/log.hpp"

namespace {

using namespace wheeltapper;
using cli::Command;

constexpr std::array kCommands{
    Command{"assess", "hold the runs of a case against their limits, and say what the readings mean", cli::run_assess},
    Command{"diagnose", "say what is probably wrong in a case, and what to do next", cli::run_diagnose},
    Command{"quick", "diagnose from a few words, without a case file", cli::run_quick},
    Command{"job", "lead a repair from intake to proven cure, and keep it in the log", cli::run_job},
    Command{"log", "look after the log: check, back up, merge, export, take a person out", cli::run_log},
    Command{"cures", "what cured what, how surely, and what came back", cli::run_cures},
    Command{"history", "the visits of one locomotive, and what drifts", cli::run_history},
    Command{"learn", "learn from closed jobs, and say whether it helps", cli::run_learn},
    Command{"rig", "a sum about the rig: leads, supply, loop, cars, a winding's warmth", cli::run_rig},
    Command{"explain", "explain one cause, finding, check, repair or caution in plain words", cli::run_explain},
    Command{"show", "list what the knowledge holds", cli::run_show},
    Command{"lint", "look for gaps and slips in the knowledge", cli::run_lint},
};

constexpr std::string_view kFoot =
    "\nExit codes: 0 done, 1 lint or a check found something, 2 wrong call, 3 unusable file,\n"
    "4 findings that contradict each other, 5 output failed or a fault of the program,\n"
    "6 the log can't be used, 130 stopped by Ctrl-C.\n"
    "`wheeltapper COMMAND --help` says more, with examples.\n";

void print_help(std::ostream& out) {
  out << "Usage: wheeltapper COMMAND [options]\n\n"
         "Says why a model locomotive failed its load test, how surely, and what to do next.\n\nCommands:\n";
  for (const Command& command : kCommands) {
    out << "  " << command.name << std::string(11 - command.name.size(), ' ') << command.summary << "\n";
  }
  out << kFoot;
}

std::size_t terminal_columns() {
  winsize size{};
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) return size.ws_col;
  return 80;
}

/// COLUMNS, where it is a width that can be used.
std::optional<std::size_t> told_columns() {
  const char* text = std::getenv("COLUMNS");
  if (text == nullptr) return std::nullopt;
  const long columns = std::strtol(text, nullptr, 10);
  if (columns < static_cast<long>(report::kLeastWidth) || columns > 400) return std::nullopt;
  return static_cast<std::size_t>(columns);
}

/// By the XDG base directory specification: an absolute XDG_DATA_HOME, else ~/.local/share.
std::string data_folder() {
  const char* told = std::getenv("XDG_DATA_HOME");
  if (told != nullptr && *told == '/') return told;
  const char* home = std::getenv("HOME");
  return home == nullptr || *home == '\0' ? std::string() : std::string(home) + "/.local/share";
}

cli::Io terminal_io() {
  cli::Io io{std::cout, std::cerr};
  io.terminal = isatty(STDOUT_FILENO) == 1;
  const char* no_colour = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  io.colour_wanted =
      (no_colour == nullptr || *no_colour == '\0') && term != nullptr && std::string_view(term) != "dumb";
  if (io.terminal) io.columns = std::clamp<std::size_t>(terminal_columns(), report::kLeastWidth, 120);
  if (const auto told = told_columns()) io.columns = *told;
  io.in = &std::cin;
  io.asks = isatty(STDIN_FILENO) == 1;
  io.data_folder = data_folder();
  return io;
}

int run(const cli::Args& words, const cli::Io& io) {
  if (words.empty()) {
    print_help(io.err);
    return cli::kUsage;
  }
  const std::string& name = words.front();
  if (name == "help" && words.size() == 2 &&
      std::ranges::find(kCommands, std::string_view(words[1]), &Command::name) != kCommands.end())
    return run({words[1], "--help"}, io);
  if (name == "--help" || name == "-h" || name == "help") {
    print_help(io.out);
    return cli::kOk;
  }
  if (name == "--version") {
    io.out << "wheeltapper " << WHEELTAPPER_VERSION << "\n";
    return cli::kOk;
  }
  const auto* const found = std::ranges::find(kCommands, std::string_view(name), &Command::name);
  if (found != kCommands.end()) return found->run({words.begin() + 1, words.end()}, io);
  std::vector<std::string_view> names;
  names.reserve(kCommands.size());
  for (const Command& command : kCommands) names.push_back(command.name);
  const auto nearest = input::near_miss(name, names);
  throw cli::UsageError("there is no command \"" + input::harmless(name) + "\"" +
                        (nearest ? "; did you mean \"" + *nearest + "\"?" : ""));
}

}  // namespace

int main(int argc, char** argv) {
  umask(S_IRWXG | S_IRWXO);  // names of owners are nobody else's business
  const cli::Io io = terminal_io();
  int code = cli::kFailed;
  try {
    code = run({argv + 1, argv + argc}, io);
  } catch (const cli::UsageError& wrong) {
    const bool known =
        argc > 1 && std::ranges::find(kCommands, std::string_view(argv[1]), &Command::name) != kCommands.end();
    io.err << "wheeltapper: " << input::harmless(wrong.what()) << "\nTry `wheeltapper " << (known ? argv[1] : "")
           << (known ? " " : "") << "--help`.\n";
    code = cli::kUsage;
  } catch (const cli::OutputFailed& wrong) {
    io.err << "wheeltapper: " << input::harmless(wrong.what()) << "\n";
    code = cli::kFailed;
  } catch (const input::BadInput& bad) {
    io.err << bad.what() << "\n";
    code = cli::kBadInput;
  } catch (const log::LogError& wrong) {
    io.err << "wheeltapper: " << input::harmless(wrong.what()) << "\n";
    code = cli::kLog;
  } catch (const belief::ImpossibleEvidence& wrong) {
    io.err << "wheeltapper: " << wrong.what() << "; look over the answers\n";
    code = cli::kImpossible;
  } catch (const std::exception& wrong) {
    io.err << "wheeltapper: a fault of the program: " << input::harmless(wrong.what()) << "\n";
    code = cli::kFailed;
  }
  if (!io.out.flush()) {
    io.err << "wheeltapper: the output could not be written\n";
    return cli::kFailed;
  }
  return code;
}
