#include "engine/bench/rig.hpp"

#include <fmt/format.h>

#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <numbers>

#include "cli/case_command.hpp"
#include "engine/bench/session.hpp"
#include "engine/bench/warmth.hpp"
#include "engine/bench/wire.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::cli {
namespace {

namespace po = boost::program_options;
using json = nlohmann::ordered_json;

/// The options of one sum, typed with or without a unit.
class Given {
 public:
  explicit Given(const po::variables_map& values) : values_(values) {}

  bool has(const char* name) const { return values_.count(name) > 0; }
  const std::string& text(const char* name) const {
    if (!has(name)) throw UsageError(fmt::format("this sum needs --{}", name));
    return values_[name].as<std::string>();
  }
  /// In the unit of `code`; a bare number is in it already. \throws UsageError  unless it lies within [low, high]
  double value(const char* name, std::string_view code, double low, double high) const {
    const std::string& typed = text(name);
    const bool bare = typed.find_first_not_of("0123456789.+-eE") == std::string::npos;
    try {
      const measure::Typed value = measure::parse_typed(bare ? fmt::format("{} {}", typed, code) : typed);
      const double number = measure::convert(value.value, value.unit, measure::unit(code));
      if (number >= low && number <= high) return number;
    } catch (const input::InputError&) {
      throw UsageError(fmt::format("--{} is \"{}\"; allowed: a value in {}", name, typed,
                                   measure::spellings(measure::unit(code).dimension)));
    }
    throw UsageError(
        fmt::format("--{} is \"{}\"; allowed: {:g} to {:g} {}", name, typed, low, high, measure::unit(code).shown));
  }
  double value_or(const char* name, std::string_view code, double low, double high, double other) const {
    return has(name) ? value(name, code, low, high) : other;
  }

 private:
  const po::variables_map& values_;
};

struct Sum {
  std::string says;
  json figures;
};

constexpr double kMostAmps = 100;
constexpr double kTrackVolts = 50;  // extra-low voltage: never measure on the mains side
constexpr double kMostMetres = 1000;

bench::Wire wire_of(const Given& given) {
  try {
    return bench::parse_wire(given.text("wire"));
  } catch (const input::InputError& wrong) {
    throw UsageError(fmt::format("--wire \"{}\" {}", given.text("wire"), wrong.what()));
  }
}

Sum leads(const Given& given) {
  const double amps = given.value("amps", "A", 1e-3, kMostAmps);
  const bench::Leads leads{.wire = wire_of(given),
                           .length = given.value("length", "m", 1e-2, kMostMetres),
                           .celsius = given.value_or("temperature", "Cel", -30, 120, 20),
                           .joints = static_cast<int>(given.value_or("joints", "1", 0, 1000, 0))};
  if (leads.joints != given.value_or("joints", "1", 0, 1000, 0)) throw UsageError("--joints must be a whole number");
  const double ohms = bench::lead_ohms(leads);
  const double volts = bench::lead_drop(leads, amps);
  return {fmt::format("{:.3g} m of {} pair with {} joints has {:.3g} ohm at {:.0f} C: it loses {:.2f} V at {:.3g} A.",
                      leads.length, leads.wire.shown, leads.joints, ohms, leads.celsius, volts, amps),
          {{"ohms", ohms}, {"volts", volts}, {"watts", volts * amps}}};
}

Sum gauge(const Given& given) {
  const double amps = given.value("amps", "A", 1e-3, kMostAmps);
  const double length = given.value("length", "m", 1e-2, kMostMetres);
  const double most = given.value_or("most-volts", "V", 1e-3, 100, 0.25);
  const double celsius = given.value_or("temperature", "Cel", -30, 120, 20);
  const auto found = bench::gauge_for(amps, length, most, celsius);
  if (!found)
    return {
        fmt::format("Even 10 AWG loses more than {:.2g} V at {:.3g} A over {:.3g} m: feed the loop at a second place, "
                    "or move the supply nearer.",
                    most, amps, length),
        {{"awg", nullptr}}};
  const bench::Leads leads{.wire = {bench::awg_area(*found), {}}, .length = length, .celsius = celsius};
  return {fmt::format("{} AWG ({:.2g} mm2) or thicker: a pair {:.3g} m long loses {:.2f} V at {:.3g} A, {:.2g} V are "
                      "allowed. Joints come on top.",
                      *found, bench::awg_area(*found) * 1e6, length, bench::lead_drop(leads, amps), amps, most),
          {{"awg", *found}, {"mm2", bench::awg_area(*found) * 1e6}, {"volts", bench::lead_drop(leads, amps)}}};
}

Sum supply(const Given& given) {
  const double open = given.value("open-volts", "V", 1e-3, kTrackVolts);
  const double loaded = given.value("loaded-volts", "V", 0, kTrackVolts);
  const double amps = given.value("amps", "A", 1e-3, kMostAmps);
  if (loaded > open) throw UsageError("--loaded-volts is above --open-volts: the supply would rise under load");
  const double ohms = (open - loaded) / amps;
  const double further = loaded - ohms;
  return {fmt::format("The supply sags by {:.2f} V ({:.0f} %) at {:.3g} A: {:.2g} ohm inside.{}", open - loaded,
                      100 * (open - loaded) / open, amps, ohms,
                      further > 0 ? fmt::format(" At 1 A more it would give {:.2f} V.", further) : std::string()),
          {{"ohms", ohms}, {"sag", open - loaded}, {"share", (open - loaded) / open}}};
}

Sum meter(const Given& given) {
  const double amps = given.value("amps", "A", 1e-6, kMostAmps);
  if (given.has("millivolts") && given.has("ohms")) throw UsageError("give --ohms or --millivolts, not both");
  const double ohms = given.has("millivolts") ? given.value("millivolts", "mV", 1e-3, 1e5) / 1000 / amps
                                              : given.value("ohms", "Ohm", 1e-6, 1000);
  return {fmt::format("The ammeter has {:.3g} ohm and takes {:.3f} V at {:.3g} A. Read the rail volts behind it.", ohms,
                      ohms * amps, amps),
          {{"ohms", ohms}, {"volts", ohms * amps}}};
}

Sum wave(const Given& given) {
  const double part = given.value("part", "%", 1, 100) / 100;
  // The part of each half wave that is let through; the rest, at its start, is cut.
  const double share = bench::average_meter_share((1 - part) * std::numbers::pi);
  return {
      fmt::format("With {:.0f} % of each half wave let through, a meter that averages shows {:.0f} % of the effective "
                  "value: multiply what it shows by {:.2f}.",
                  100 * part, 100 * share, 1 / share),
      {{"shows", share}, {"multiply-by", 1 / share}}};
}

Sum loop(const Given& given) {
  std::vector<bench::Section> sections;
  if (given.has("radius"))
    sections.push_back({.radius = given.value("radius", "m", 1e-2, 15),
                        .degrees = given.value_or("degrees", "1", 1, 36000, 360),
                        .length = {},
                        .count = 1});
  if (given.has("straights"))
    sections.push_back({.radius = {}, .degrees = 0, .length = given.value("straights", "m", 1e-3, 100), .count = 1});
  if (sections.empty()) throw UsageError("this sum needs --radius, --straights or both");
  const bench::LoopLength whole = bench::loop_length(sections);
  json figures{{"metres", whole.metres}, {"curve-share", whole.curve_share}};
  std::string says = fmt::format("The loop is {:.3f} m ({:.1f} in) once round, {:.0f} % of it curve.", whole.metres,
                                 whole.metres / 0.0254, 100 * whole.curve_share);
  if (given.has("laps")) {
    const double speed = given.value("laps", "/min", 1e-3, 1000) * whole.metres / 60;
    says += fmt::format(" That many laps are {:.3f} m/s ({:.1f} in/s).", speed, speed / 0.0254);
    figures["metres-a-second"] = speed;
    if (given.has("scale")) {
      const double ratio = given.value("scale", "1", 1, 1000);
      figures["scale-mph"] = bench::scale_miles_an_hour(speed, ratio);
      says += fmt::format(" To scale {:.0f} mph ({:.0f} km/h).", bench::scale_miles_an_hour(speed, ratio),
                          bench::scale_km_an_hour(speed, ratio));
    }
  }
  return {says, figures};
}

Sum joint(const Given& given) {
  const double amps = given.value("amps", "A", 1e-3, kMostAmps);
  const double ohms = given.value("millivolts", "mV", 1e-3, 1e5) / 1000 / amps;
  const bool sound = ohms <= 2 * bench::Leads::kGoodJoint;
  return {
      fmt::format("The joint has {:.3g} ohm. A clean, tight one has about {:.3f}: {}.", ohms, bench::Leads::kGoodJoint,
                  sound ? "it is sound" : "clean and tighten it, or bridge it with a jumper"),
      {{"ohms", ohms}, {"sound", sound}}};
}

Sum pull(const Given& given) {
  const double newton = given.value("pull", "N", 1e-4, 1000);
  const double weight = given.value("weight", "kg", 1e-4, 100) * 9.80665;
  if (newton >= weight) throw UsageError("--pull is more than the cars weigh");
  return {fmt::format("A pull of {:.3f} N ({:.1f} gf) is {:.1f} % of the weight of the cars.", newton,
                      newton / 9.80665e-3, 100 * newton / weight),
          {{"newton", newton}, {"drag-share", newton / weight}}};
}

/// From a tilt, or from a pull.
Sum cars(const Given& given) {
  if (given.has("pull")) return pull(given);
  const double rise = given.value("rise", "m", 1e-5, 10);
  const double run = given.value("run", "m", 1e-4, 100);
  if (rise >= run) throw UsageError("--rise must be smaller than --run");
  const double share = bench::drag_share_from_tilt(rise, run);
  json figures{{"drag-share", share}};
  std::string says = fmt::format("A car that just keeps rolling there drags {:.1f} % of its weight.", 100 * share);
  if (given.has("weight")) {
    const double newton = bench::drag_from_tilt(given.value("weight", "kg", 1e-4, 100), rise, run);
    figures["newton"] = newton;
    says += fmt::format(" That is a pull of {:.3f} N ({:.1f} gf).", newton, newton / 9.80665e-3);
  }
  return {says, figures};
}

Sum winding(const Given& given) {
  const double cold = given.value("cold-ohms", "Ohm", 1e-3, 1e5);
  const double hot = given.value("hot-ohms", "Ohm", 1e-3, 1e5);
  const double before = given.value_or("cold-temperature", "Cel", -30, 60, 20);
  const double room = given.value_or("room-temperature", "Cel", -30, 60, before);
  if (hot < cold || hot > 3 * cold) throw UsageError("--hot-ohms must lie between --cold-ohms and three times them");
  const double rise = bench::winding_rise(cold, hot, before, room);
  const auto needs = bench::class_for(room + rise);
  return {
      fmt::format("The copper is {:.0f} K above the room, at {:.0f} C.{}", rise, room + rise,
                  needs ? fmt::format(" Insulation of class {} ({:.0f} C) stands that.", needs->letter, needs->celsius)
                        : std::string(" No insulation stands that for long.")),
      {{"rise", rise}, {"celsius", room + rise}}};
}

using Work = Sum (*)(const Given&);
struct Kind {
  Work work;
  const char* needs;
};
const std::map<std::string, Kind, std::less<>> kKinds{
    {"leads", {leads, "--wire --length --amps [--joints --temperature]"}},
    {"gauge", {gauge, "--amps --length [--most-volts --temperature]"}},
    {"supply", {supply, "--open-volts --loaded-volts --amps"}},
    {"ammeter", {meter, "--amps and --ohms or --millivolts"}},
    {"wave", {wave, "--part"}},
    {"loop", {loop, "--radius and --straights [--laps --scale]"}},
    {"cars", {cars, "--rise --run [--weight], or --pull --weight"}},
    {"joint", {joint, "--millivolts --amps"}},
    {"winding", {winding, "--cold-ohms --hot-ohms [--cold-temperature --room-temperature]"}},
};

po::options_description rig_options() {
  auto options = common_options(true, false);
  const auto add = [&](const char* name, const char* what) {
    options.add_options()(name, po::value<std::string>()->value_name("X"), what);
  };
  add("amps", "current, A");
  add("length", "of the leads, one way, m");
  add("wire", "18 AWG, 0.75 mm2 or 0.8 mm across");
  add("joints", "clips, screws and plugs in both leads together");
  add("temperature", "of the copper, C (20)");
  add("most-volts", "that may be lost, V (0.25)");
  add("open-volts", "at the posts with nothing running");
  add("loaded-volts", "at the posts under the load");
  add("ohms", "of the ammeter");
  add("millivolts", "across the ammeter or the joint at those amps");
  add("part", "of each half wave that is let through, %");
  add("radius", "of the curves, to the middle of the track, m");
  add("degrees", "that the curves turn in all (360)");
  add("straights", "length of all straights together, m");
  add("laps", "laps a minute");
  add("scale", "87 for 1:87");
  add("rise", "of the slope on which a car just keeps rolling");
  add("run", "of that slope, along the level");
  add("weight", "of the car or cars, g or oz with its unit, else kg");
  add("pull", "that a scale shows for the cars, gf or ozf with its unit, else N");
  add("cold-ohms", "of the winding before the run");
  add("hot-ohms", "of the winding just after the run");
  add("cold-temperature", "of the winding before the run, C (20)");
  add("room-temperature", "at the end of the run, C");
  return options;
}

}  // namespace

int run_rig(const Args& args, const Io& io) {
  po::positional_options_description words;
  words.add("words", -1);
  std::string kinds;
  for (const auto& [name, kind] : kKinds) kinds += fmt::format("  {:<8} {}\n", name, kind.needs);
  const Parsed parsed = parse(
      args, io, rig_options(), words, "rig SUM [options]",
      "A sum about the rig, without a case. A number without a unit is in the unit named; others may be typed, as\n"
      "in --length \"13 ft\". The sums and what each needs:\n" +
          kinds,
      "  wheeltapper rig gauge --amps 3 --length 4\n"
      "  wheeltapper rig leads --wire \"24 AWG\" --length 2 --amps 2 --joints 4\n"
      "  wheeltapper rig loop --radius \"19 in\" --straights \"40 in\" --laps 9 --scale 64\n");
  if (parsed.helped) return kOk;
  const std::string name =
      one_word(parsed, "one sum: ammeter, cars, gauge, joint, leads, loop, supply, wave or winding");
  const auto found = kKinds.find(name);
  if (found == kKinds.end())
    throw UsageError(fmt::format(
        "there is no sum \"{}\"; there are ammeter, cars, gauge, joint, leads, loop, supply, wave, winding", name));
  const Sum sum = found->second.work(Given(parsed.values));
  if (parsed.values["json"].as<bool>()) {
    json out{{"wheeltapper", "rig"}, {"version", 1}, {"sum", name}, {"says", sum.says}};
    out.update(json{{"figures", sum.figures}});
    io.out << input::escaped_controls(out.dump(2)) << "\n";
    return kOk;
  }
  report::Page page(style_of(parsed, io));
  page.paragraph(sum.says);
  io.out << page.text();
  return kOk;
}

}  // namespace wheeltapper::cli
