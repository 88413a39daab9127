#include "cli/case_command.hpp"
#include "engine/files/files.hpp"
#include "engine/input/problem.hpp"
#include "engine/report/json.hpp"
#include "engine/report/text.hpp"

namespace wheeltapper::cli {

int run_assess(const Args& args, const Io& io) {
  namespace po = boost::program_options;
  auto options = common_options(true, true);
  options.add_options()("sure", po::value<double>()->value_name("P")->default_value(0.95, "0.95"),
                        "how sure a verdict must be, 0.5 to 0.999");
  po::positional_options_description words;
  words.add("words", -1);
  const Parsed parsed =
      parse(args, io, options, words, "assess CASE.json [options]",
            "Holds every run of a case against every limit that is for it: within limits, outside, or\n"
            "too close to call, with the chance, and what would settle a close one. Then says what volts,\n"
            "amps and laps mean for the drive, where the rig loses volts, how warm the winding is, and at\n"
            "which place of the loop a series of readings leaves its course.",
            "  wheeltapper assess cases/demo/too-close.json\n"
            "  wheeltapper assess cases/demo/slow-spot.json\n");
  if (parsed.helped) return kOk;
  const std::string path = one_word(parsed, "one case file");
  const double sure = parsed.values["sure"].as<double>();
  if (!(sure >= 0.5 && sure <= 0.999)) throw UsageError("--sure must lie between 0.5 and 0.999");
  const report::Style style = style_of(parsed, io);
  const auto catalogue = knowledge_of(parsed);
  const cases::Case the_case = files::load_case(path, *catalogue);
  const auto verdicts = bench::assess(the_case.session, sure);
  const bench::BenchAnalysis analysis = bench::analyse(the_case.session);
  if (parsed.values["json"].as<bool>())
    io.out << input::escaped_controls(report::assessment_json(the_case, verdicts, analysis).dump(2)) << "\n";
  else
    io.out << report::assessment_text(*catalogue, the_case, verdicts, analysis, style);
  return kOk;
}

}  // namespace wheeltapper::cli
