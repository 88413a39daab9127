#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>

#include "cli/actions.hpp"
#include "cli/bench_log.hpp"
#include "cli/output.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"
#include "engine/job/job_case.hpp"
#include "engine/log/exchange.hpp"
#include "engine/log/salvage.hpp"
#include "engine/report/guide_page.hpp"

namespace wheeltapper::cli {
namespace {

namespace po = boost::program_options;
using Words = std::vector<std::string>;

struct Request {
  const Parsed& parsed;
  const Io& io;
  std::shared_ptr<const catalogue::Catalogue> catalogue;
  Words words;  // behind the action's name

  std::unique_ptr<log::Log> read() const { return open_to_read(parsed, io, catalogue); }
  std::unique_ptr<log::Log> open(log::Settings::Open how) const { return open_log(parsed, io, catalogue, how); }
  const std::string& one(std::string_view what) const {
    if (words.size() != 1) throw UsageError(fmt::format("give {}", what));
    return words.front();
  }
};
using enum log::Settings::Open;

int action_path(const Request& request) {
  request.io.out << input::harmless(log_path(request.parsed, request.io))
                 << (log_exists(request.parsed, request.io) ? "\n" : " (not there yet)\n");
  return kOk;
}

int action_check(const Request& request) {
  const auto log = request.read();
  const auto found = log->problems();
  for (const std::string& each : found) request.io.out << input::harmless(each) << "\n";
  const auto conflicts = log->conflicts();
  for (const std::string& line : conflicts) request.io.out << "second form, kept: " << input::harmless(line) << "\n";
  if (found.empty())
    request.io.out << fmt::format("The log is sound: {} job{}{}.\n", log->jobs().size(),
                                  log->jobs().size() == 1 ? "" : "s",
                                  conflicts.empty() ? "" : fmt::format(", {} entries in two forms", conflicts.size()));
  return found.empty() ? kOk : kFound;
}

int action_backup(const Request& request) {
  const std::string& to = request.one("the file to back up to");
  demand_no_log(to, log_path(request.parsed, request.io));
  request.read()->backup(to);
  request.io.out << "Backed up to " << input::harmless(to) << "\n";
  return kOk;
}

void say_rewritten(const Request& request, bool rewritten) {
  if (!rewritten)
    request.io.err
        << "wheeltapper: another program holds the log open, so free pages of the file may still hold the name; "
           "close it there and redact once more\n";
}

void say_absorbed(const Request& request, const log::MergeResult& absorbed) {
  request.io.out << fmt::format("{} entries new, {} known", absorbed.added, absorbed.known);
  if (absorbed.scrubbed > 0) request.io.out << fmt::format(", {} with a person kept out", absorbed.scrubbed);
  if (absorbed.conflicts > 0)
    request.io.out << fmt::format(", {} in conflict: both forms are kept, see: wheeltapper log check",
                                  absorbed.conflicts);
  request.io.out << ".\n";
  say_rewritten(request, absorbed.rewritten);
}

/// Own where there is one yet, else a new one.
std::unique_ptr<log::Log> open_to_take_in(const Request& request) {
  return request.open(log_exists(request.parsed, request.io) ? existing : create);
}

/// A job that takes events from elsewhere must still be one that can be opened and gone on with.
std::optional<std::string> unfit(const std::vector<job::Event>& events, const catalogue::Catalogue& catalogue) {
  try {
    const job::Job job = job::fold(events);
    if (!job.head.contains("locomotive")) return "is of a job whose opening entry is missing";
    job::case_of(job, catalogue);
    return std::nullopt;
  } catch (const input::BadInput& wrong) {
    const auto& first = wrong.problems().front();
    return fmt::format("makes its job unreadable: {} {}", first.pointer, first.wrong);
  }
}

/// Takes entries in; where that would take persons out of what is here, a person at a terminal is asked.
void take_in(const Request& request, const std::function<log::MergeResult(const log::AbsorbSettings&)>& absorb) {
  log::AbsorbSettings settings;
  settings.redactions = request.parsed.values["redactions"].as<bool>();
  settings.now = now();
  settings.unfit = [&](const auto& events) { return unfit(events, *request.catalogue); };
  log::MergeResult absorbed;
  try {
    absorbed = absorb(settings);
  } catch (const log::RedactionsWanted& wanted) {
    constexpr std::size_t kShown = 20;
    request.io.err << "Persons were taken out there. Taking that over takes words out of these entries here:\n";
    for (std::size_t i = 0; i < std::min(kShown, wanted.touched().size()); ++i)
      request.io.err << "  " << input::harmless(wanted.touched()[i]) << "\n";
    if (wanted.touched().size() > kShown)
      request.io.err << fmt::format("  and {} more\n", wanted.touched().size() - kShown);
    if (!request.io.asks) throw;
    request.io.out << "Take them out, for good? yes or no\n> " << std::flush;
    std::string answer;
    if (!std::getline(*request.io.in, answer) || (answer != "yes" && answer != "y")) throw;
    settings.redactions = true;
    absorbed = absorb(settings);
  }
  say_absorbed(request, absorbed);
  for (const log::SetAside& each : absorbed.set_aside)
    request.io.out << input::harmless(fmt::format("Set aside, as it {}:\n  {}", each.why, each.line)) << "\n";
}

int action_merge(const Request& request) {
  if (request.words.empty()) throw UsageError("give one log or more to merge into yours");
  const auto log = open_to_take_in(request);
  for (const std::string& other : request.words)
    take_in(request, [&](const log::AbsorbSettings& settings) { return log::merge(*log, other, settings); });
  return kOk;
}

void put_out(const Request& request, std::size_t at, const std::function<void(std::ostream&)>& write) {
  write_file(request.parsed, request.io, request.words.size() <= at ? "-" : request.words[at],
             log_path(request.parsed, request.io), write);
}

int action_export(const Request& request) {
  if (request.words.size() > 1) throw UsageError("give one file, or none for the screen");
  const auto log = request.read();
  put_out(request, 0, [&](std::ostream& out) { log::export_lines(*log, out); });
  return kOk;
}

int action_import(const Request& request) {
  const std::string& from = request.one("the file to import");
  std::error_code wrong;
  if (std::filesystem::exists(from, wrong) && !std::filesystem::is_regular_file(from, wrong))
    throw input::BadInput({{from, "", "is no plain file", "an export made by `wheeltapper log export`"}});
  const auto log = open_to_take_in(request);
  take_in(request, [&](const log::AbsorbSettings& settings) {
    std::ifstream in(from, std::ios::binary);
    if (!in) throw input::BadInput({{from, "", "can't be read", "an export made by `wheeltapper log export`"}});
    return log::import_lines(*log, in, from, settings);
  });
  return kOk;
}

int action_salvage(const Request& request) {
  const std::string& to = request.one("the file for the new log");
  const std::string damaged = log_path(request.parsed, request.io);
  demand_no_log(to, damaged);
  const app::World world = world_of(request.parsed);
  const auto stamp = [&](const std::string& job) {
    job::Event event = app::events_of(world, job, {{job::EventKind::marked, nlohmann::json::object()}}, {}).front();
    event.seen.reset();  // after all that was saved
    return event;
  };
  const nlohmann::json head{{"title", "Its opening entry was lost"},
                            {"locomotive", {{"family", request.catalogue->usable_families().front()->id}}}};
  const auto salvaged =
      log::salvage(damaged, to, log_settings(request.parsed), summarise_with(request.catalogue), stamp, head);
  for (const log::SetAside& each : salvaged.doubtful)
    request.io.out << input::harmless(fmt::format("Doubtful, left out, as it {}:\n  {}", each.why, each.line)) << "\n";
  for (const job::Event& each : salvaged.added)
    request.io.out << input::harmless(fmt::format("Job {} is not whole; added to it: {}", report::short_id(each.job),
                                                  job::to_line(each)))
                   << "\n";
  for (const std::string& each : salvaged.lost) request.io.out << input::harmless(each) << "\n";
  request.io.out << fmt::format(
      "{} entries taken into {}; {} doubtful, {} known to be lost. What was learned is learned "
      "anew with: wheeltapper learn\n",
      salvaged.entries, input::harmless(to), salvaged.doubtful.size(), salvaged.lost.size());
  return kOk;
}

int action_csv(const Request& request) {
  const auto tables = log::csv_tables();
  if (request.words.empty() || request.words.size() > 2 ||
      std::ranges::find(tables, request.words[0]) == tables.end()) {
    std::string list;
    for (const std::string& each : tables) list += (list.empty() ? "" : ", ") + each;
    throw UsageError(fmt::format("give a table and perhaps a file; tables: {}", list));
  }
  const auto log = request.read();
  put_out(request, 1, [&](std::ostream& out) { log::csv(*log, request.words[0], out); });
  return kOk;
}

int action_redact(const Request& request) {
  const std::string& owner = request.one("the owner's name, in quotes, as it was written");
  if (owner.size() < 2) throw UsageError("a name of at least two letters");
  const auto log = request.open(existing);
  const app::World world = world_of(request.parsed);
  const std::string at = now();
  try {
    const job::Person person(owner, new_uuid());
    const auto redacted = log->redact(person, [&](const std::string& job) {
      job::Event event = app::events_of(world, job, {{job::EventKind::redacted, nlohmann::json::object()}}, {}).front();
      event.at = at;
      return event;
    });
    request.io.out
        << (redacted.events == 0
                ? std::string("The name stands nowhere in the log. It is remembered, so that no merge brings it in.\n")
                : fmt::format("Taken out of {} entries. Backups and exports made before still hold it.\n",
                              redacted.events));
    say_rewritten(request, redacted.rewritten);
  } catch (const input::InputError& wrong) {
    throw UsageError(wrong.what());
  }
  return kOk;
}

int action_digest(const Request& request) {
  request.io.out << request.read()->fingerprint() << "\n";
  return kOk;
}

int action_rebuild(const Request& request) {
  request.open(existing)->rebuild();
  return kOk;
}

struct LogAction {
  std::string_view name, words, does;
  int (*run)(const Request& request);
};

constexpr std::array kLogActions{
    LogAction{"path", "", "where the log is", action_path},
    LogAction{"check", "", "look for damage and for what does not fit together", action_check},
    LogAction{"backup", "FILE", "copy it while others go on writing", action_backup},
    LogAction{"merge", "LOG...", "take in the logs of other benches; as often as you like", action_merge},
    LogAction{"salvage", "NEW", "take what can be read out of a damaged log into a new one", action_salvage},
    LogAction{"export", "[FILE]", "everything as JSON Lines", action_export},
    LogAction{"import", "FILE", "such an export", action_import},
    LogAction{"csv", "TABLE [FILE]", "a table for a spreadsheet", action_csv},
    LogAction{"redact", "OWNER", "take a person out, for good", action_redact},
    LogAction{"digest", "", "a fingerprint: the same for the same entries", action_digest},
    LogAction{"rebuild", "", "make the tables of closed jobs anew", action_rebuild},
};

std::string log_actions_text() {
  std::string text = "Looks after the file that keeps all jobs.\n\n";
  for (const LogAction& action : kLogActions)
    text += fmt::format("  {:<8} {:<13}{}\n", action.name, action.words, action.does);
  return text +
         "\nIt is one SQLite file; the views jobs, open_jobs, fixes, fixes_by_finding, fixes_by_cause and\n"
         "readings are made for SQL of your own.";
}

}  // namespace

int run_log(const Args& args, const Io& io) {
  po::options_description options("Options");
  options.add_options()("knowledge", po::value<std::string>()->value_name("DIR"),
                        "lay a folder with knowledge of your own over the shipped one");
  options.add_options()("redactions", po::bool_switch(),
                        "merge, import: take out here, too, who was taken out there, without asking");
  options.add(output_options()).add(log_options());
  po::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, options, words, "log ACTION [words] [options]", log_actions_text(),
            "  wheeltapper log check\n  wheeltapper log backup ~/log-of-today.sqlite\n"
            "  wheeltapper log merge /media/stick/log.sqlite\n  wheeltapper log csv fixes fixes.csv\n");
  if (parsed.helped) return kOk;
  auto given = parsed.values["words"].as<Words>();
  if (given.empty()) throw UsageError("say which action; see: wheeltapper log --help");
  const std::string name = given.front();
  const LogAction& action = find_action(kLogActions, "log", name);
  given.erase(given.begin());
  return action.run(Request{parsed, io, knowledge_of(parsed), std::move(given)});
}

}  // namespace wheeltapper::cli
