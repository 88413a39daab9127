#include "cli/case_command.hpp"

#include <fmt/format.h>

#include "engine/input/problem.hpp"
#include "engine/report/json.hpp"
#include "engine/report/text.hpp"

namespace wheeltapper::cli {

namespace po = boost::program_options;

po::options_description diagnose_options() {
  po::options_description options("How to weigh");
  options.add_options()("sure", po::value<double>()->value_name("P")->default_value(0.95, "0.95"),
                        "how sure a verdict must be, 0.5 to 0.999")(
      "skill", po::value<std::string>()->value_name("WHO")->default_value("intermediate"),
      "novice, intermediate or expert: what the hands can do")(
      "dollar", po::value<double>()->value_name("MIN")->default_value(1.0, "1"),
      "minutes that a dollar of parts is worth");
  return options;
}

cases::DiagnoseSettings diagnose_settings(const Parsed& parsed) {
  cases::DiagnoseSettings settings;
  settings.demand = parsed.values["sure"].as<double>();
  if (!(settings.demand >= 0.5 && settings.demand <= 0.999)) throw UsageError("--sure must lie between 0.5 and 0.999");
  const auto& skill = parsed.values["skill"].as<std::string>();
  auto& costs = settings.advice.costs;
  if (skill == "novice")
    costs.skill = catalogue::Skill::novice;
  else if (skill == "expert")
    costs.skill = catalogue::Skill::expert;
  else if (skill != "intermediate")
    throw UsageError(fmt::format("--skill is \"{}\"; allowed: novice, intermediate, expert", skill));
  costs.minutes_per_dollar = parsed.values["dollar"].as<double>();
  if (!(costs.minutes_per_dollar >= 0 && costs.minutes_per_dollar <= 1000))
    throw UsageError("--dollar must lie between 0 and 1000");
  return settings;
}

void print_diagnosis(const cases::Case& the_case, const cases::Diagnosis& diagnosis, const KnowledgeInUse& use,
                     const Parsed& parsed, const Io& io) {
  const report::Style style = style_of(parsed, io);
  if (parsed.values["json"].as<bool>()) {
    auto out = report::diagnosis_json(the_case, diagnosis);
    if (use.learned_jobs > 0) out["learned-from-jobs"] = use.learned_jobs;
    io.out << input::escaped_controls(out.dump(2)) << "\n";
    return;
  }
  io.out << report::diagnosis_text(the_case, diagnosis, style);
  if (use.said.empty()) return;
  report::Page page(style);
  page.paragraph(use.said);
  io.out << "\n" << page.text();
}

std::string one_word(const Parsed& parsed, std::string_view what) {
  const auto& words = parsed.values["words"].as<std::vector<std::string>>();
  if (words.size() == 1) return words.front();
  throw UsageError(fmt::format("give {}", what));
}

}  // namespace wheeltapper::cli
