#include "cli/bench_log.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/uuid/random_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <chrono>
#include <filesystem>

#include "engine/input/problem.hpp"
#include "engine/job/hazards.hpp"

namespace wheeltapper::cli {

namespace po = boost::program_options;

po::options_description log_options() {
  po::options_description options("The log");
  options.add_options()("log", po::value<std::string>()->value_name("FILE"),
                        "the log's file (else wheeltapper/log.sqlite where your data is kept)")(
      "bench", po::value<std::string>()->value_name("NAME"), "who writes (else this machine's name)")(
      "sync", po::value<std::string>()->value_name("HOW")->default_value("full"),
      "full: a power cut loses nothing; normal: faster, it may lose the last entries")(
      "wait", po::value<double>()->value_name("SECONDS")->default_value(10, "10"),
      "how long to wait while another bench writes");
  return options;
}

std::string log_path(const Parsed& parsed, const Io& io) {
  if (parsed.values.count("log") > 0) {
    const auto& told = parsed.values["log"].as<std::string>();
    if (told.empty()) throw UsageError("--log names no file");
    return told;
  }
  if (io.data_folder.empty()) throw UsageError("no home folder is known for the log; name its file with --log");
  return io.data_folder + "/wheeltapper/log.sqlite";
}

bool log_exists(const Parsed& parsed, const Io& io) {
  if (parsed.values.count("log") == 0 && io.data_folder.empty()) return false;
  std::error_code wrong;
  return std::filesystem::exists(log_path(parsed, io), wrong);
}

log::Settings log_settings(const Parsed& parsed) {
  log::Settings settings;
  const auto& sync = parsed.values["sync"].as<std::string>();
  if (sync != "full" && sync != "normal")
    throw UsageError(fmt::format("--sync is \"{}\"; allowed: full, normal", sync));
  settings.full_sync = sync == "full";
  const double wait = parsed.values["wait"].as<double>();
  if (!(wait >= 0 && wait <= 3600)) throw UsageError("--wait must lie between 0 and 3600");
  settings.wait_ms = static_cast<int>(1000 * wait);
  return settings;
}

log::Summarise summarise_with(std::shared_ptr<const catalogue::Catalogue> catalogue) {
  return [catalogue = std::move(catalogue)](const job::Job& job) { return job::summarise(job, *catalogue); };
}

std::unique_ptr<log::Log> open_log(const Parsed& parsed, const Io& io,
                                   std::shared_ptr<const catalogue::Catalogue> catalogue, log::Settings::Open how) {
  log::Settings settings = log_settings(parsed);
  settings.open = how;
  return std::make_unique<log::Log>(log_path(parsed, io), settings, summarise_with(std::move(catalogue)));
}

std::unique_ptr<log::Log> open_to_read(const Parsed& parsed, const Io& io,
                                       std::shared_ptr<const catalogue::Catalogue> catalogue) {
  try {
    return open_log(parsed, io, catalogue, log::Settings::Open::read_only);
  } catch (const log::OlderForm&) {
    return open_log(parsed, io, catalogue, log::Settings::Open::existing);
  }
}

Pen::Pen(const Parsed& parsed) {
  if (parsed.values.count("bench") > 0) {
    bench_ = parsed.values["bench"].as<std::string>();
    if (bench_.empty() || bench_.size() > 100 || !input::is_utf8(bench_))
      throw UsageError("--bench wants 1 to 100 letters");
    return;
  }
  std::array<char, 100> name{};
  bench_ = gethostname(name.data(), name.size() - 1) == 0 && name.front() != '\0' ? name.data() : "bench";
}

std::string Pen::new_uuid() {
  static boost::uuids::random_generator generator;
  return boost::uuids::to_string(generator());
}

std::string Pen::now() {
  using namespace std::chrono;
  const auto now = time_point_cast<milliseconds>(system_clock::now());
  return fmt::format("{:%Y-%m-%dT%H:%M:}{:06.3f}Z", fmt::gmtime(system_clock::to_time_t(now)),
                     static_cast<double>(now.time_since_epoch().count() % 60000) / 1000);
}

std::vector<job::Event> Pen::events(const std::string& job, std::vector<job::Draft> drafts,
                                    const job::Seen& seen) const {
  std::vector<job::Event> events;
  const std::string at = now();
  for (auto& [kind, body] : drafts) {
    job::Event event;
    event.id = new_uuid();
    event.job = job;
    event.at = at;
    event.bench = bench_;
    event.kind = kind;
    event.body = std::move(body);
    event.seen = seen;
    if (!events.empty()) {
      event.seen->after = {events.back().id};
      event.seen->with = events.front().id;
    }
    events.push_back(std::move(event));
  }
  return events;
}

std::vector<job::Event> with_drafts(std::vector<job::Event> events, const std::vector<job::Event>& drafts) {
  std::int64_t number = 0;
  for (const job::Event& each : events) number = std::max(number, each.number);
  for (const job::Event& draft : drafts) {
    events.push_back(draft);
    events.back().number = ++number;
  }
  return events;
}

Prepared prepare(const Pen& pen, std::shared_ptr<const catalogue::Catalogue> catalogue,
                 const cases::DiagnoseSettings& settings, const std::string& job, const std::vector<job::Event>& shown,
                 const std::vector<job::Event>& all, std::vector<job::Draft> drafts) {
  const job::Seen seen = job::seen_of(shown);
  Prepared prepared{pen.events(job, drafts, seen), {}};
  prepared.position = guide::position_of(catalogue, with_drafts(all, prepared.events), settings);
  auto read = guide::hazards_read(prepared.position);
  if (read.empty()) return prepared;
  drafts.insert(drafts.end(), read.begin(), read.end());
  prepared.events = pen.events(job, std::move(drafts), seen);
  prepared.position = guide::position_of(catalogue, with_drafts(all, prepared.events), settings);
  return prepared;
}

std::optional<std::string> hazard_of_others(const std::vector<job::Event>& events, const std::vector<std::string>& ids,
                                            const std::string& bench, const catalogue::Catalogue& catalogue) {
  for (const job::Event& event : events) {
    if (event.bench == bench || std::ranges::find(ids, event.id) == ids.end()) continue;
    if (event.kind == job::EventKind::answers)
      for (const auto& [id, word] : event.body.items())
        if (word != "no" && job::is_hazard(catalogue, id))
          return fmt::format(
              "The last entry is a hazard that \"{}\" told: {}. It is not taken back from here; where it is "
              "not so, answer no to it.",
              event.bench, catalogue.finding(id)->name);
    if (event.kind == job::EventKind::checked && event.body.dump().find("\"seen\"") != std::string::npos)
      return fmt::format("The last entry is a check at \"{}\" that found something: it is not taken back from here.",
                         event.bench);
  }
  return std::nullopt;
}

std::string find_job(log::Log& log, const std::string& word) {
  if (word == "last" || word == "open") {
    std::vector<log::JobLine> lines = log.jobs();
    if (word == "open") {
      std::erase_if(lines, [](const log::JobLine& line) { return line.outcome.has_value(); });
      if (lines.size() > 1) throw UsageError("more than one job is open; see: wheeltapper job list");
    }
    if (lines.empty()) throw UsageError(word == "open" ? "no job is open" : "the log has no job yet");
    return lines.front().job;
  }
  if (word.size() < 4) throw UsageError("a job is named by at least the first four letters of its id, or: last, open");
  const auto found = log.jobs_like(word);
  if (found.empty()) throw UsageError(fmt::format("there is no job \"{}\"; see: wheeltapper job list", word));
  if (found.size() > 1)
    throw UsageError(fmt::format("\"{}\" is the start of {} jobs; give more letters", word, found.size()));
  return found.front();
}

}  // namespace wheeltapper::cli
