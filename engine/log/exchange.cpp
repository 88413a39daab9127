#include "engine/log/exchange.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "engine/catalogue/problem.hpp"
#include "engine/log/trouble.hpp"

namespace wheeltapper::log {
namespace {

constexpr std::string_view kHead = R"({"log":"wheeltapper","version":1})";
constexpr std::array<std::string_view, 7> kTables{
    "jobs", "open_jobs", "fixes", "fixes_by_cause", "fixes_by_finding", "readings", "closed_finding"};

[[noreturn]] void refuse(const std::string& file, std::size_t line, const std::string& wrong, const std::string& mend) {
  throw catalogue::BadInput({{fmt::format("{}:{}", file, line), "", wrong, mend}});
}

}  // namespace

void export_lines(Log& log, std::ostream& out) {
  out << kHead << "\n";
  log.for_each_event([&](const job::Event& event) { out << job::to_line(event) << "\n"; });
  for (const std::string& line : log.conflicts()) out << line << "\n";
}

Absorbed import_lines(Log& log, std::istream& in, const std::string& file) {
  std::string line;
  std::size_t number = 1;
  if (!std::getline(in, line) || line != kHead)
    refuse(file, 1, "is no export of a log", std::string(kHead) + " as the first line");
  return log.absorb([&]() -> std::optional<job::Event> {
    ++number;
    if (!std::getline(in, line)) return std::nullopt;
    if (in.eof()) refuse(file, number, "ends without a line end: the file was cut short", "the whole export");
    try {
      return job::from_line(line);
    } catch (const std::invalid_argument& wrong) {
      refuse(file, number, wrong.what(), "an event as in log-line.schema.json");
    }
  });
}

Absorbed merge(Log& log, const std::string& other) {
  std::error_code wrong;
  if (std::filesystem::equivalent(log.path(), other, wrong))
    throw LogError(fmt::format("{}: is the log itself; name another one to merge", other));
  Settings settings;
  settings.open = Settings::Open::read_only;
  Log from(other, settings, [](const job::Job&) { return std::nullopt; });
  SQLite::Statement rows(from.database(), "SELECT id FROM job ORDER BY id");
  std::vector<job::Event> waiting;
  std::vector<std::string> second_forms = from.conflicts();
  bool more_jobs = true;
  return log.absorb([&]() -> std::optional<job::Event> {
    while (waiting.empty()) {
      more_jobs = more_jobs && rows.executeStep();
      if (more_jobs) {
        waiting = from.events(rows.getColumn(0).getString());
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
    try {
      return job::from_line(job::to_line(event));  // another file may hold anything
    } catch (const std::exception& unfit) {
      throw LogError(fmt::format("{}: its entry {} {}; nothing was taken in", other, event.id, unfit.what()));
    }
  });
}

std::vector<std::string> csv_tables() { return {kTables.begin(), kTables.end()}; }

std::string csv_cell(const std::string& text) {
  const auto number = [&] { return text.find_first_not_of("0123456789.+-eE") == std::string::npos; };
  std::string cell;
  if (!text.empty() && std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos && !number())
    cell.push_back('\'');
  cell += text;
  if (cell.find_first_of(",\"\r\n") == std::string::npos) return cell;
  std::string quoted(1, '"');
  for (const char c : cell) quoted.append(c == '"' ? 2 : 1, c);
  quoted.push_back('"');
  return quoted;
}

void csv(Log& log, const std::string& table, std::ostream& out) {
  if (std::ranges::find(kTables, table) == kTables.end()) throw std::invalid_argument("no such table");
  try {
    SQLite::Statement statement(log.database(), "SELECT * FROM " + table);
    for (int c = 0; c < statement.getColumnCount(); ++c)
      out << (c == 0 ? "" : ",") << csv_cell(statement.getColumnName(c));
    out << "\r\n";
    while (statement.executeStep()) {
      for (int c = 0; c < statement.getColumnCount(); ++c)
        out << (c == 0 ? "" : ",") << (statement.isColumnNull(c) ? "" : csv_cell(statement.getColumn(c).getString()));
      out << "\r\n";
    }
  } catch (const SQLite::Exception& wrong) {
    throw trouble(log.path(), wrong);
  }
}

}  // namespace wheeltapper::log
