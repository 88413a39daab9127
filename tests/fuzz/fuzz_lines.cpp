// Any bytes, taken in as the lines of an export, are taken, set aside or refused as BadInput, nothing half; the log is
// sound after it, and what it gives out a new log takes in whole.
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <sstream>

#include "engine/input/problem.hpp"
#include "engine/log/exchange.hpp"
#include "engine/log/log.hpp"
#include "tests/fuzz/targets.hpp"

namespace {

using namespace wheeltapper;

std::unique_ptr<log::Log> new_log(const std::string& path) {
  for (const char* end : {"", "-wal", "-shm"}) std::filesystem::remove(path + end);
  log::Settings settings;
  settings.full_sync = false;
  return std::make_unique<log::Log>(path, settings, [](const job::Job&) { return std::nullopt; });
}

log::AbsorbSettings careful() {
  log::AbsorbSettings settings;
  settings.redactions = true;
  settings.now = "2026-11-28T10:00:00.000Z";
  settings.unfit = [](const std::vector<job::Event>& events) -> std::optional<std::string> {
    try {
      job::fold(events);
      return std::nullopt;
    } catch (const input::BadInput& wrong) {
      return wrong.problems().front().wrong;
    }
  };
  return settings;
}

std::string exported(log::Log& log) {
  std::ostringstream out;
  log::export_lines(log, out);
  return out.str();
}

}  // namespace

int fuzz_lines(const std::uint8_t* data, std::size_t size) {
  static const std::string folder = [] {
    std::string name = (std::filesystem::temp_directory_path() / "wheeltapper-fuzz-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) std::abort();
    return name;
  }();
  const auto log = new_log(folder + "/one.sqlite");
  std::istringstream in("{\"log\":\"wheeltapper\",\"version\":2}\n" +
                        std::string(reinterpret_cast<const char*>(data), size));
  try {
    log::import_lines(*log, in, "fuzz.jsonl", careful());
  } catch (const input::BadInput&) {
    if (!log->jobs().empty()) std::abort();
  }
  if (log->damage()) std::abort();
  const std::string once = exported(*log);
  const auto other = new_log(folder + "/two.sqlite");
  std::istringstream again(once);
  log::import_lines(*other, again, "again.jsonl", careful());
  if (exported(*other) != once) std::abort();
  return 0;
}
