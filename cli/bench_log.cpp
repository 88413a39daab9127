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
  } catch (const log::OlderVersion&) {
    return open_log(parsed, io, catalogue, log::Settings::Open::existing);
  }
}

namespace {

std::string bench_of(const Parsed& parsed) {
  if (parsed.values.count("bench") > 0) {
    const auto& named = parsed.values["bench"].as<std::string>();
    if (named.empty() || named.size() > 100 || !input::is_utf8(named))
      throw UsageError("--bench wants 1 to 100 letters");
    return named;
  }
  std::array<char, 100> name{};
  return gethostname(name.data(), name.size() - 1) == 0 && name.front() != '\0' ? name.data() : "bench";
}

}  // namespace

std::string new_uuid() {
  static boost::uuids::random_generator generator;
  return boost::uuids::to_string(generator());
}

std::string now() {
  using namespace std::chrono;
  const auto now = time_point_cast<milliseconds>(system_clock::now());
  return fmt::format("{:%Y-%m-%dT%H:%M:}{:06.3f}Z", fmt::gmtime(system_clock::to_time_t(now)),
                     static_cast<double>(now.time_since_epoch().count() % 60000) / 1000);
}

app::World world_of(const Parsed& parsed) { return {now, new_uuid, bench_of(parsed)}; }

std::string find_job(log::Log& log, const std::string& word) {
  if (word == "last" || word == "open") {
    std::vector<job::JobLine> lines = log.jobs();
    if (word == "open") {
      std::erase_if(lines, [](const job::JobLine& line) { return line.outcome.has_value(); });
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
