#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>

#include "cli/bench_log.hpp"
#include "cli/output.hpp"
#include "cli/parts.hpp"
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

struct Desk {
  const Parsed& parsed;
  const Io& io;
  std::shared_ptr<const catalogue::Catalogue> catalogue;
  Words words;  // behind the part's name

  std::unique_ptr<log::Log> read() const { return open_to_read(parsed, io, catalogue); }
  std::unique_ptr<log::Log> open(log::Settings::Open how) const { return open_log(parsed, io, catalogue, how); }
  const std::string& one(std::string_view what) const {
    if (words.size() != 1) throw UsageError(fmt::format("give {}", what));
    return words.front();
  }
};
using enum log::Settings::Open;

int part_path(const Desk& desk) {
  desk.io.out << input::harmless(log_path(desk.parsed, desk.io))
              << (log_exists(desk.parsed, desk.io) ? "\n" : " (not there yet)\n");
  return kOk;
}

int part_check(const Desk& desk) {
  const auto log = desk.read();
  const auto found = log->problems();
  for (const std::string& each : found) desk.io.out << input::harmless(each) << "\n";
  const auto conflicts = log->conflicts();
  for (const std::string& line : conflicts) desk.io.out << "second form, kept: " << input::harmless(line) << "\n";
  if (found.empty())
    desk.io.out << fmt::format("The log is sound: {} job{}{}.\n", log->jobs().size(),
                               log->jobs().size() == 1 ? "" : "s",
                               conflicts.empty() ? "" : fmt::format(", {} entries in two forms", conflicts.size()));
  return found.empty() ? kOk : kFound;
}

int part_backup(const Desk& desk) {
  const std::string& to = desk.one("the file to back up to");
  demand_no_log(to, log_path(desk.parsed, desk.io));
  desk.read()->backup(to);
  desk.io.out << "Backed up to " << input::harmless(to) << "\n";
  return kOk;
}

void say_rewritten(const Desk& desk, bool rewritten) {
  if (!rewritten)
    desk.io.err
        << "wheeltapper: another program holds the log open, so free pages of the file may still hold the name; "
           "close it there and redact once more\n";
}

void say_absorbed(const Desk& desk, const log::MergeResult& absorbed) {
  desk.io.out << fmt::format("{} entries new, {} known", absorbed.added, absorbed.known);
  if (absorbed.scrubbed > 0) desk.io.out << fmt::format(", {} with a person kept out", absorbed.scrubbed);
  if (absorbed.conflicts > 0)
    desk.io.out << fmt::format(", {} in conflict: both forms are kept, see: wheeltapper log check", absorbed.conflicts);
  desk.io.out << ".\n";
  say_rewritten(desk, absorbed.rewritten);
}

/// Own where there is one yet, else a new one.
std::unique_ptr<log::Log> open_to_take_in(const Desk& desk) {
  return desk.open(log_exists(desk.parsed, desk.io) ? existing : create);
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
void take_in(const Desk& desk, const std::function<log::MergeResult(const log::AbsorbSettings&)>& absorb) {
  log::AbsorbSettings settings;
  settings.redactions = desk.parsed.values["redactions"].as<bool>();
  settings.now = now();
  settings.unfit = [&](const auto& events) { return unfit(events, *desk.catalogue); };
  log::MergeResult absorbed;
  try {
    absorbed = absorb(settings);
  } catch (const log::RedactionsWanted& wanted) {
    constexpr std::size_t kShown = 20;
    desk.io.err << "Persons were taken out there. Taking that over takes words out of these entries here:\n";
    for (std::size_t i = 0; i < std::min(kShown, wanted.touched().size()); ++i)
      desk.io.err << "  " << input::harmless(wanted.touched()[i]) << "\n";
    if (wanted.touched().size() > kShown)
      desk.io.err << fmt::format("  and {} more\n", wanted.touched().size() - kShown);
    if (!desk.io.asks) throw;
    desk.io.out << "Take them out, for good? yes or no\n> " << std::flush;
    std::string answer;
    if (!std::getline(*desk.io.in, answer) || (answer != "yes" && answer != "y")) throw;
    settings.redactions = true;
    absorbed = absorb(settings);
  }
  say_absorbed(desk, absorbed);
  for (const log::SetAside& each : absorbed.set_aside)
    desk.io.out << input::harmless(fmt::format("Set aside, as it {}:\n  {}", each.why, each.line)) << "\n";
}

int part_merge(const Desk& desk) {
  if (desk.words.empty()) throw UsageError("give one log or more to merge into yours");
  const auto log = open_to_take_in(desk);
  for (const std::string& other : desk.words)
    take_in(desk, [&](const log::AbsorbSettings& settings) { return log::merge(*log, other, settings); });
  return kOk;
}

void put_out(const Desk& desk, std::size_t at, const std::function<void(std::ostream&)>& write) {
  write_file(desk.parsed, desk.io, desk.words.size() <= at ? "-" : desk.words[at], log_path(desk.parsed, desk.io),
             write);
}

int part_export(const Desk& desk) {
  if (desk.words.size() > 1) throw UsageError("give one file, or none for the screen");
  const auto log = desk.read();
  put_out(desk, 0, [&](std::ostream& out) { log::export_lines(*log, out); });
  return kOk;
}

int part_import(const Desk& desk) {
  const std::string& from = desk.one("the file to import");
  std::error_code wrong;
  if (std::filesystem::exists(from, wrong) && !std::filesystem::is_regular_file(from, wrong))
    throw input::BadInput({{from, "", "is no plain file", "an export made by `wheeltapper log export`"}});
  const auto log = open_to_take_in(desk);
  take_in(desk, [&](const log::AbsorbSettings& settings) {
    std::ifstream in(from, std::ios::binary);
    if (!in) throw input::BadInput({{from, "", "can't be read", "an export made by `wheeltapper log export`"}});
    return log::import_lines(*log, in, from, settings);
  });
  return kOk;
}

int part_salvage(const Desk& desk) {
  const std::string& to = desk.one("the file for the new log");
  const std::string damaged = log_path(desk.parsed, desk.io);
  demand_no_log(to, damaged);
  const app::World world = world_of(desk.parsed);
  const auto stamp = [&](const std::string& job) {
    job::Event event = app::events_of(world, job, {{job::EventKind::marked, nlohmann::json::object()}}, {}).front();
    event.seen.reset();  // after all that was saved
    return event;
  };
  const nlohmann::json head{{"title", "Its opening entry was lost"},
                            {"locomotive", {{"family", desk.catalogue->usable_families().front()->id}}}};
  const auto salvaged =
      log::salvage(damaged, to, log_settings(desk.parsed), summarise_with(desk.catalogue), stamp, head);
  for (const log::SetAside& each : salvaged.doubtful)
    desk.io.out << input::harmless(fmt::format("Doubtful, left out, as it {}:\n  {}", each.why, each.line)) << "\n";
  for (const job::Event& each : salvaged.added)
    desk.io.out << input::harmless(fmt::format("Job {} is not whole; added to it: {}", report::short_id(each.job),
                                               job::to_line(each)))
                << "\n";
  for (const std::string& each : salvaged.lost) desk.io.out << input::harmless(each) << "\n";
  desk.io.out << fmt::format(
      "{} entries taken into {}; {} doubtful, {} known to be lost. What was learned is learned "
      "anew with: wheeltapper learn\n",
      salvaged.entries, input::harmless(to), salvaged.doubtful.size(), salvaged.lost.size());
  return kOk;
}

int part_csv(const Desk& desk) {
  const auto tables = log::csv_tables();
  if (desk.words.empty() || desk.words.size() > 2 || std::ranges::find(tables, desk.words[0]) == tables.end()) {
    std::string list;
    for (const std::string& each : tables) list += (list.empty() ? "" : ", ") + each;
    throw UsageError(fmt::format("give a table and perhaps a file; tables: {}", list));
  }
  const auto log = desk.read();
  put_out(desk, 1, [&](std::ostream& out) { log::csv(*log, desk.words[0], out); });
  return kOk;
}

int part_redact(const Desk& desk) {
  const std::string& owner = desk.one("the owner's name, in quotes, as it was written");
  if (owner.size() < 2) throw UsageError("a name of at least two letters");
  const auto log = desk.open(existing);
  const app::World world = world_of(desk.parsed);
  const std::string at = now();
  try {
    const job::Person person(owner, new_uuid());
    const auto redacted = log->redact(person, [&](const std::string& job) {
      job::Event event = app::events_of(world, job, {{job::EventKind::redacted, nlohmann::json::object()}}, {}).front();
      event.at = at;
      return event;
    });
    desk.io.out << (redacted.events == 0
                        ? std::string(
                              "The name stands nowhere in the log. It is remembered, so that no merge brings it in.\n")
                        : fmt::format("Taken out of {} entries. Backups and exports made before still hold it.\n",
                                      redacted.events));
    say_rewritten(desk, redacted.rewritten);
  } catch (const input::InputError& wrong) {
    throw UsageError(wrong.what());
  }
  return kOk;
}

int part_digest(const Desk& desk) {
  desk.io.out << desk.read()->fingerprint() << "\n";
  return kOk;
}

int part_rebuild(const Desk& desk) {
  desk.open(existing)->rebuild();
  return kOk;
}

struct Part {
  std::string_view name, words, does;
  int (*run)(const Desk& desk);
};

constexpr std::array kParts{
    Part{"path", "", "where the log is", part_path},
    Part{"check", "", "look for damage and for what does not fit together", part_check},
    Part{"backup", "FILE", "copy it while others go on writing", part_backup},
    Part{"merge", "LOG...", "take in the logs of other benches; as often as you like", part_merge},
    Part{"salvage", "NEW", "take what can be read out of a damaged log into a new one", part_salvage},
    Part{"export", "[FILE]", "everything as JSON Lines", part_export},
    Part{"import", "FILE", "such an export", part_import},
    Part{"csv", "TABLE [FILE]", "a table for a spreadsheet", part_csv},
    Part{"redact", "OWNER", "take a person out, for good", part_redact},
    Part{"digest", "", "a fingerprint: the same for the same entries", part_digest},
    Part{"rebuild", "", "make the tables of closed jobs anew", part_rebuild},
};

std::string parts_text() {
  std::string text = "Looks after the file that keeps all jobs.\n\n";
  for (const Part& part : kParts) text += fmt::format("  {:<8} {:<13}{}\n", part.name, part.words, part.does);
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
      parse(args, io, options, words, "log PART [words] [options]", parts_text(),
            "  wheeltapper log check\n  wheeltapper log backup ~/log-of-today.sqlite\n"
            "  wheeltapper log merge /media/stick/log.sqlite\n  wheeltapper log csv fixes fixes.csv\n");
  if (parsed.helped) return kOk;
  auto given = parsed.values["words"].as<Words>();
  if (given.empty()) throw UsageError("say which part; see: wheeltapper log --help");
  const std::string name = given.front();
  const Part& part = find_part(kParts, "log", name);
  given.erase(given.begin());
  return part.run(Desk{parsed, io, knowledge_of(parsed), std::move(given)});
}

}  // namespace wheeltapper::cli
