#include "engine/log/exchange.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "engine/input/csv.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"
#include "engine/log/trouble.hpp"

namespace wheeltapper::log {
namespace {

constexpr std::string_view kHead = R"({"log":"wheeltapper","version":2})";
constexpr std::size_t kLongestLine = 9U << 20U;
constexpr std::array<std::string_view, 7> kTables{
    "jobs", "open_jobs", "fixes", "fixes_by_cause", "fixes_by_finding", "readings", "closed_finding"};

[[noreturn]] void refuse(const std::string& file, std::size_t line, const std::string& wrong, const std::string& mend) {
  throw input::BadInput({{fmt::format("{}:{}", file, line), "", wrong, mend}});
}

}  // namespace

void export_lines(Log& log, std::ostream& out) {
  out << kHead << "\n";
  log.for_each_event([&](const job::Event& event) { out << input::escaped_controls(job::to_line(event)) << "\n"; });
  for (const std::string& line : log.conflicts()) out << input::escaped_controls(line) << "\n";
}

namespace {

/// A line of at most kLongestLine; false at the end of the input.
bool next_line(std::istream& in, std::string& line, const std::string& file, std::size_t number) {
  line.clear();
  for (int c = in.get(); c != std::istream::traits_type::eof(); c = in.get()) {
    if (c == '\n') return true;
    line.push_back(static_cast<char>(c));
    if (line.size() > kLongestLine) refuse(file, number, "is too long", fmt::format("at most {} bytes", kLongestLine));
  }
  if (!line.empty()) refuse(file, number, "ends without a line end: the file was cut short", "the whole export");
  return false;
}

/// Of version 1, whose entries do not say what their writers had seen, or of this one.
void demand_head(const std::string& line, const std::string& file) {
  const auto head = nlohmann::json::parse(line, nullptr, false);
  const bool ours =
      head.is_object() && head.value("log", nlohmann::json()) == "wheeltapper" && head.contains("version");
  if (!ours) refuse(file, 1, "is no export of a log", std::string(kHead) + " as the first line");
  if (head["version"] != 1 && head["version"] != 2)
    refuse(file, 1, "is of a version that this program does not know", "1 or 2, or a newer program");
}

}  // namespace

MergeResult import_lines(Log& log, std::istream& in, const std::string& file, const AbsorbSettings& settings) {
  std::string line;
  std::size_t number = 1;
  if (!next_line(in, line, file, number)) line.clear();
  demand_head(line, file);
  std::vector<SetAside> unfit;
  MergeResult absorbed = log.absorb(
      [&]() -> std::optional<job::Event> {
        while (next_line(in, line, file, ++number)) try {
            return job::from_line(line);
          } catch (const job::UnfitBody& wrong) {
            unfit.push_back({line, wrong.what()});
          } catch (const input::InputError& wrong) {
            refuse(file, number, wrong.what(), "an event as in log-line.schema.json");
          }
        return std::nullopt;
      },
      settings);
  absorbed.set_aside.insert(absorbed.set_aside.end(), unfit.begin(), unfit.end());
  return absorbed;
}

MergeResult merge(Log& log, const std::string& other, const AbsorbSettings& given) {
  std::error_code wrong;
  if (std::filesystem::equivalent(log.path(), other, wrong))
    throw LogError(fmt::format("{}: is the log itself; name another one to merge", other));
  Settings settings;
  settings.open = Settings::Open::read_only;
  Log from(other, settings, [](const job::Job&) { return std::nullopt; });
  if (const auto wrong_in_it = from.damage()) throw damaged(other, *wrong_in_it, "nothing was taken in");
  SQLite::Statement rows(from.database(), "SELECT id FROM job ORDER BY id");
  std::vector<job::Event> waiting;
  std::vector<std::string> second_forms = from.conflicts();
  bool more_jobs = true;
  return log.absorb(
      [&]() -> std::optional<job::Event> {
        while (waiting.empty()) {
          more_jobs = more_jobs && rows.executeStep();
          if (more_jobs) {
            waiting = from.events(rows.getColumn(0).getString());
            std::erase_if(waiting, &job::Event::second);
            std::ranges::reverse(waiting);
          } else if (!second_forms.empty()) {
            waiting.push_back(job::from_line(second_forms.back()));
            second_forms.pop_back();
          } else {
            return std::nullopt;
          }
        }
        job::Event event = std::move(waiting.back());
        waiting.pop_back();
        const auto refused = [&](const char* why) {
          return LogError(fmt::format("{}: its entry {} {}; nothing was taken in", other, event.id, why));
        };
        try {
          return job::from_line(job::to_line(event));  // another file may hold anything
        } catch (const input::InputError& unfit) {
          throw refused(unfit.what());
        } catch (const nlohmann::json::exception&) {
          throw refused("is not UTF-8");
        }
      },
      given);
}

std::vector<std::string> csv_tables() { return {kTables.begin(), kTables.end()}; }

void csv(Log& log, const std::string& table, std::ostream& out) {
  if (std::ranges::find(kTables, table) == kTables.end()) throw std::invalid_argument("no such table");
  try {
    SQLite::Statement statement(log.database(), "SELECT * FROM " + table);
    for (int c = 0; c < statement.getColumnCount(); ++c)
      out << (c == 0 ? "" : ",") << input::csv_cell(statement.getColumnName(c));
    out << "\r\n";
    while (statement.executeStep()) {
      for (int c = 0; c < statement.getColumnCount(); ++c)
        out << (c == 0 ? "" : ",")
            << (statement.isColumnNull(c) ? "" : input::csv_cell(statement.getColumn(c).getString()));
      out << "\r\n";
    }
  } catch (const SQLite::Exception& wrong) {
    throw trouble(log.path(), wrong);
  }
}

}  // namespace wheeltapper::log
