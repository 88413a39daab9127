#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "cli/actions.hpp"
#include "cli/case_command.hpp"
#include "cli/family.hpp"
#include "engine/cases/reading.hpp"
#include "engine/input/input_error.hpp"

namespace wheeltapper::cli {
namespace {

namespace po = boost::program_options;
using catalogue::Catalogue;
using Words = std::vector<std::string>;

/// An option that gives a reading, and where the reading belongs.
struct ReadingOption {
  std::string_view option;
  std::string_view quantity;
  bench::RunKind run;
  bench::Direction direction;
  std::string_view help;
};

using enum bench::RunKind;
constexpr std::array kReadings{
    ReadingOption{"amps", "amps", loaded, bench::Direction::forward, "amps with the cars, forward"},
    ReadingOption{"reverse-amps", "amps", loaded, bench::Direction::reverse, "amps with the cars, in reverse"},
    ReadingOption{"laps", "lap-rate", loaded, bench::Direction::forward, "laps a minute with the cars, forward"},
    ReadingOption{"reverse-laps", "lap-rate", loaded, bench::Direction::reverse,
                  "laps a minute with the cars, in reverse"},
    ReadingOption{"rail-volts", "rail-volts", loaded, bench::Direction::forward, "volts at the rail, running"},
    ReadingOption{"post-volts", "post-volts", loaded, bench::Direction::forward, "volts at the supply posts, running"},
    ReadingOption{"idle-volts", "idle-volts", loaded, bench::Direction::forward,
                  "volts at the supply posts, track empty"},
    ReadingOption{"far-volts", "far-volts", loaded, bench::Direction::forward, "volts opposite the feed, running"},
    ReadingOption{"motor-temperature", "motor-temperature", loaded, bench::Direction::forward,
                  "housing after ten minutes"},
    ReadingOption{"neutral-amps", "amps", neutral, bench::Direction::any, "amps with the motor off"},
    ReadingOption{"stand-amps", "amps", motor_only, bench::Direction::forward, "amps on the stand, wheels free"},
};

struct LimitOption {
  std::string_view option;
  std::string_view quantity;
  bench::RunKind run;
  bool at_most;
  std::string_view help;
};
constexpr std::array kLimits{
    LimitOption{"amps-limit", "amps", loaded, true, "most amps with the cars"},
    LimitOption{"laps-limit", "lap-rate", loaded, false, "fewest laps a minute with the cars"},
    LimitOption{"neutral-limit", "amps", neutral, true, "most amps with the motor off"},
    LimitOption{"stand-limit", "amps", motor_only, true, "most amps on the stand"},
};

/// "2.4" -> "2.4 A": on the command line a bare number is in the quantity's unit.
std::string with_unit(const std::string& text, const catalogue::Quantity& quantity) {
  const bool bare = text.find_first_not_of("0123456789.+-eE") == std::string::npos;
  return bare ? text + " " + quantity.unit : text;
}

/// "a,b" and "a" "b" alike.
Words split(const Words& words) {
  Words all;
  for (const std::string& word : words)
    for (std::size_t at = 0; at <= word.size();) {
      const auto comma = std::min(word.find(',', at), word.size());
      if (comma > at) all.push_back(word.substr(at, comma - at));
      at = comma + 1;
    }
  return all;
}

void add_answers(const Words& words, std::string_view as, const Catalogue& catalogue, cases::Case& the_case) {
  for (const std::string& word : split(words)) {
    const auto equals = word.find('=');
    const std::string id = word.substr(0, equals);
    const auto* finding = catalogue.finding(id);
    demand_id(id, "finding", finding, catalogue.items().findings);
    try {
      const std::string level = equals == std::string::npos ? std::string(as) : word.substr(equals + 1);
      if (cases::is_not_observed(level)) continue;
      const belief::Answer answer{id, cases::level_of(*finding, level)};
      auto& answers = the_case.observations.answers;
      const auto said = std::ranges::find(answers, id, &belief::Answer::finding);
      if (said == answers.end())
        answers.push_back(answer);
      else if (said->level != answer.level)
        throw UsageError(fmt::format("\"{}\" was given two different answers", id));
    } catch (const input::InputError& wrong) {
      throw UsageError(fmt::format("\"{}\": allowed after {}= are {}", word, id, wrong.allowed()));
    }
  }
}

bench::Run& run_for(cases::Case& the_case, bench::RunKind kind, bench::Direction direction) {
  for (bench::Run& run : the_case.session.runs)
    if (run.kind == kind && run.direction == direction) return run;
  bench::Run run;
  run.kind = kind;
  run.direction = direction;
  run.name = bench::name(kind);
  return the_case.session.runs.emplace_back(std::move(run));
}

void add_readings(const po::variables_map& values, const Catalogue& catalogue, cases::Case& the_case) {
  for (const ReadingOption& option : kReadings) {
    const std::string name(option.option);
    if (values.count(name) == 0) continue;
    const auto* quantity = catalogue.quantity(option.quantity);
    try {
      auto reading = cases::make_reading(*quantity, {with_unit(values[name].as<std::string>(), *quantity)}, nullptr);
      run_for(the_case, option.run, option.direction).readings.emplace(quantity->id, std::move(reading));
    } catch (const input::InputError& wrong) {
      throw UsageError(fmt::format("--{} \"{}\" {}", name, values[name].as<std::string>(), wrong.what()));
    }
  }
}

void add_limits(const po::variables_map& values, const Catalogue& catalogue, cases::Case& the_case) {
  for (const LimitOption& option : kLimits) {
    const std::string name(option.option);
    if (values.count(name) == 0) continue;
    const auto* quantity = catalogue.quantity(option.quantity);
    try {
      const auto typed = measure::parse_typed(with_unit(values[name].as<std::string>(), *quantity));
      const measure::Unit unit = *measure::find_unit(quantity->unit);
      const double bound = measure::convert(typed.value, typed.unit, unit);
      bench::Limit limit{quantity->id, option.run, bench::Direction::any, {{}, {}, unit}, {}};
      (option.at_most ? limit.bounds.at_most : limit.bounds.at_least) = bound;
      the_case.session.limits.push_back(std::move(limit));
    } catch (const input::InputError& wrong) {
      throw UsageError(fmt::format("--{} \"{}\" {}", name, values[name].as<std::string>(), wrong.what()));
    }
  }
}

po::options_description quick_options() {
  // One id behind each: an option that took all that follows would swallow the findings behind it.
  const auto words = [] { return po::value<Words>()->composing()->default_value({}, "")->value_name("ID,ID,..."); };
  po::options_description options("What was seen");
  options.add_options()("yes", words(), "findings that are there (or just write them)")(
      "no", words(), "findings that are not there")("known", words(), "what is known beforehand, e.g. adj-just-oiled")(
      "known-not", words(), "what is known not to be so")("tried", words(),
                                                          "repairs done already that changed nothing")(
      "observer", po::value<std::string>()->default_value("novice")->value_name("WHO"),
      "novice or technician: who looked");
  po::options_description readings("What was read (a bare number is in A, V, laps a minute or C)");
  for (const ReadingOption& each : kReadings)
    readings.add_options()(each.option.data(), po::value<std::string>()->value_name("VALUE"), each.help.data());
  for (const LimitOption& each : kLimits)
    readings.add_options()(each.option.data(), po::value<std::string>()->value_name("VALUE"), each.help.data());
  options.add(readings);
  return options;
}

void add_background(const po::variables_map& values, const Catalogue& catalogue, cases::Case& the_case) {
  const auto contexts = [&](const char* option, Words& into) {
    for (const std::string& id : split(values[option].as<Words>())) {
      demand_id(id, "context", catalogue.context(id), catalogue.items().contexts);
      into.push_back(id);
    }
  };
  contexts("known", the_case.background.contexts);
  contexts("known-not", the_case.background.contexts_not);
  for (const std::string& id : the_case.background.contexts)
    if (std::ranges::find(the_case.background.contexts_not, id) != the_case.background.contexts_not.end())
      throw UsageError(fmt::format("\"{}\" is said to be known and known not to be so", id));
  for (const std::string& id : split(values["tried"].as<Words>())) {
    demand_id(id, "repair", catalogue.repair(id), catalogue.items().repairs);
    the_case.background.tried.push_back({id, true});
  }
}

}  // namespace

int run_quick(const Args& args, const Io& io) {
  auto options = quick_options();
  options.add(family_options()).add(common_options());
  options.add(diagnose_options()).add(log_options()).add(learning_options());
  po::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, options, words, "quick FINDING... [options]",
            "Diagnoses from a few words. `wheeltapper show findings` lists the words; a graded one\n"
            "takes a level: slow-or-weak=\"barely moves\".",
            "  wheeltapper quick squeal hot-after-short-run --no lamp-dim\n"
            "  wheeltapper quick --amps 2.4 --amps-limit 2.0 --laps 8.5 --laps-limit 9 squeal\n"
            "  wheeltapper quick does-not-move lamp-bright-no-move --known adj-handled-just-before\n");
  if (parsed.helped) return kOk;
  const cases::DiagnoseSettings settings = diagnose_settings(parsed);
  const KnowledgeInUse use = knowledge_in_use(parsed, io);
  const auto& catalogue = use.catalogue;
  const auto& values = parsed.values;
  const auto usable = catalogue->usable_families();
  const bool only_one = usable.size() == 1 && parsed.values.count("family") == 0;
  auto the_case =
      cases::case_of_family(only_one ? *usable.front() : *catalogue->family(family_of(parsed, io, *catalogue)));
  the_case.title = "Quick diagnosis";
  const auto& who = values["observer"].as<std::string>();
  if (who == "technician")
    the_case.observations.observer = belief::Observer::technician;
  else if (who != "novice")
    throw UsageError(fmt::format("--observer is \"{}\"; allowed: novice, technician", who));
  add_answers(values["words"].as<Words>(), "yes", *catalogue, the_case);
  add_answers(values["yes"].as<Words>(), "yes", *catalogue, the_case);
  add_answers(values["no"].as<Words>(), "no", *catalogue, the_case);
  add_background(values, *catalogue, the_case);
  add_readings(values, *catalogue, the_case);
  add_limits(values, *catalogue, the_case);
  if (the_case.observations.answers.empty() && the_case.session.runs.empty())
    throw UsageError("say at least one finding or reading; see: wheeltapper quick --help");
  print_diagnosis(the_case, cases::diagnose(catalogue, the_case, settings), use, parsed, io);
  return kOk;
}

}  // namespace wheeltapper::cli
