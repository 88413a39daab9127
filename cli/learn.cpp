#include <fmt/format.h>

#include <cmath>

#include "cli/bench_log.hpp"
#include "cli/case_command.hpp"
#include "engine/input/problem.hpp"
#include "engine/learn/fingerprint.hpp"
#include "engine/learn/score.hpp"
#include "engine/log/learned.hpp"
#include "engine/report/learned_page.hpp"

namespace wheeltapper::cli {
namespace {

void print(const Parsed& parsed, const Io& io, const catalogue::Catalogue& catalogue,
           const learn::LearnedNumbers& numbers) {
  if (parsed.values["json"].as<bool>())
    io.out << input::escaped_controls(report::learned_json(numbers).dump(2)) << "\n";
  else
    io.out << report::learned_text(catalogue, numbers, style_of(parsed, io));
}

/// There are no learned numbers, and why.
int without_numbers(const Parsed& parsed, const Io& io, const char* why) {
  if (parsed.values["json"].as<bool>())
    io.out << nlohmann::ordered_json{{"learned", false}, {"says", why}}.dump(2) << "\n";
  else
    io.out << why << "\n";
  return kOk;
}

int learn_now(const Parsed& parsed, const Io& io, log::Log& log,
              const std::shared_ptr<const catalogue::Catalogue>& catalogue) {
  const auto jobs = log::summaries(log);
  const learn::Learned learned = learn::learn(catalogue, jobs);
  if (learned.jobs <= 0)
    return without_numbers(parsed, io, "No closed job says what it was yet: there is nothing to learn from.");
  const learn::Score score = learn::prequential(catalogue, jobs);
  const learn::LearnedNumbers numbers{learned.parameters, now(), learn::fingerprint(catalogue->items()),
                                      static_cast<std::size_t>(std::lround(learned.jobs)),
                                      report::score_json(score, learned.factor)};
  log::keep(log, numbers);
  print(parsed, io, *catalogue, numbers);
  return kOk;
}

}  // namespace

int run_learn(const Args& args, const Io& io) {
  auto options = common_options();
  options.add(log_options());
  boost::program_options::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, options, words, "learn [report | forget] [options]",
            "Learns from the closed jobs of the log how often each cause, finding, check result and cure\n"
            "comes true here, starting from the shipped knowledge, and says whether that helps.\n"
            "report prints the last numbers again, forget goes back to the knowledge as shipped.",
            "  wheeltapper learn\n  wheeltapper learn report --all\n  wheeltapper learn forget\n");
  if (parsed.helped) return kOk;
  const auto& given = parsed.values["words"].as<std::vector<std::string>>();
  const std::string part = given.empty() ? "" : given.front();
  if (given.size() > 1 || (!part.empty() && part != "report" && part != "forget"))
    throw UsageError("learn alone, learn report or learn forget");
  const auto catalogue = knowledge_of(parsed);
  const auto log = open_log(parsed, io, catalogue, log::Settings::Open::existing);
  if (part == "forget")
    return without_numbers(parsed, io,
                           log::forget(*log) ? "Forgotten: the knowledge is as shipped." : "Nothing was learned.");
  if (part.empty()) return learn_now(parsed, io, *log, catalogue);
  const auto numbers = log::learned_numbers(*log);
  if (!numbers) return without_numbers(parsed, io, "Nothing was learned yet; see: wheeltapper learn");
  print(parsed, io, *catalogue, *numbers);
  if (const auto since = log::closed_since_learning(*log); since > 0 && !parsed.values["json"].as<bool>())
    io.out << fmt::format("{} jobs were closed since; `wheeltapper learn` takes them in.\n", since);
  return kOk;
}

}  // namespace wheeltapper::cli
