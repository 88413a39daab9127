#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "cli/bench_log.hpp"
#include "cli/case_command.hpp"
#include "engine/input/json_reader.hpp"
#include "engine/input/problem.hpp"
#include "engine/log/past.hpp"
#include "engine/report/cures_page.hpp"
#include "engine/report/history_page.hpp"

namespace wheeltapper::cli {
namespace {

namespace po = boost::program_options;

/// What a word names: a finding, a cause, or else a locomotive in the log.
statistics::CuresOf named(log::Log& log, const catalogue::Catalogue& catalogue, const std::string& word) {
  using By = statistics::CuresOf::By;
  if (catalogue.finding(word) != nullptr) return {By::finding, word};
  if (catalogue.cause(word) != nullptr) return {By::cause, word};
  const auto names = log::locomotives(log);
  if (std::ranges::find(names, word) != names.end()) return {By::locomotive, word};
  std::vector<std::string_view> all(names.begin(), names.end());
  for (const auto& finding : catalogue.items().findings) all.push_back(finding.id);
  for (const auto& cause : catalogue.items().causes) all.push_back(cause.id);
  const auto nearest = input::near_miss(word, all);
  throw UsageError(fmt::format("\"{}\" is no finding, cause or locomotive in the log{}", word,
                               nearest ? "; did you mean \"" + *nearest + "\"?" : ""));
}

}  // namespace

int run_cures(const Args& args, const Io& io) {
  auto options = common_options();
  options.add_options()("csv", po::bool_switch(), "print CSV for a spreadsheet");
  options.add(log_options());
  po::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, options, words, "cures [FINDING | CAUSE | LOCOMOTIVE] [options]",
            "What cured what: of the closed jobs with that finding or cause, or of that locomotive, the\n"
            "repairs that were tried, how often the retest passed, how long they took, what came back.",
            "  wheeltapper cures\n  wheeltapper cures squeal\n  wheeltapper cures bearing-dry --csv\n"
            "  wheeltapper cures \"Fernhill No. 3\"\n");
  if (parsed.helped) return kOk;
  const auto& given = parsed.values["words"].as<std::vector<std::string>>();
  if (given.size() > 1) throw UsageError("give one finding, cause or locomotive; a name with spaces in quotes");
  const auto catalogue = knowledge_of(parsed);
  const auto log = open_to_read(parsed, io, catalogue);
  const statistics::CuresOf of = given.empty() ? statistics::CuresOf{} : named(*log, *catalogue, given.front());
  const auto rows = statistics::cures(log::past_jobs(*log, of), *catalogue, of, now());
  if (parsed.values["json"].as<bool>())
    io.out << input::escaped_controls(report::cures_json(of, rows).dump(2)) << "\n";
  else if (parsed.values["csv"].as<bool>())
    io.out << report::cures_csv(rows);
  else
    io.out << report::cures_text(*catalogue, of, rows, style_of(parsed, io));
  return kOk;
}

int run_history(const Args& args, const Io& io) {
  auto options = common_options();
  options.add(log_options());
  po::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, options, words, "history [LOCOMOTIVE] [options]",
            "The visits of one locomotive over the years, its readings against their limits, and what\n"
            "drifts. Without a name: the names in the log.",
            "  wheeltapper history\n  wheeltapper history \"Fernhill No. 3\"\n");
  if (parsed.helped) return kOk;
  const auto& given = parsed.values["words"].as<std::vector<std::string>>();
  if (given.size() > 1) throw UsageError("give one locomotive; a name with spaces in quotes");
  const auto catalogue = knowledge_of(parsed);
  const auto log = open_to_read(parsed, io, catalogue);
  const auto names = log::locomotives(*log);
  if (given.empty() && parsed.values["json"].as<bool>()) {
    io.out << input::escaped_controls(nlohmann::json(names).dump(2)) << "\n";
    return kOk;
  }
  if (given.empty()) {
    report::Page page(style_of(parsed, io));
    for (const std::string& each : names) page.paragraph(each);
    io.out << page.text();
    return kOk;
  }
  if (std::ranges::find(names, given.front()) == names.end()) {
    const auto nearest = input::near_miss(given.front(), {names.begin(), names.end()});
    throw UsageError(fmt::format("no locomotive in the log is called \"{}\"{}", given.front(),
                                 nearest ? "; did you mean \"" + *nearest + "\"?" : ""));
  }
  const auto past = statistics::history(given.front(), log::jobs_of(*log, given.front()), *catalogue);
  if (parsed.values["json"].as<bool>())
    io.out << input::escaped_controls(report::history_json(past).dump(2)) << "\n";
  else
    io.out << report::history_text(*catalogue, past, style_of(parsed, io));
  return kOk;
}

}  // namespace wheeltapper::cli
