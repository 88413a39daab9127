#include "engine/cases/facts.hpp"

#include <fmt/format.h>

#include "engine/bench/warmth.hpp"
#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"

namespace wheeltapper::cases {
namespace {

using input::Reader;

constexpr double kOhmsUncertainty = 0.03;  // of a winding's ohms from a card (elicited judgement)
constexpr double kBrushUncertainty = 0.3;  // of the brush volts told (elicited judgement)
constexpr double kMeterOhmsUncertainty =
    0.01;  // of ohms read twice on one meter: its scale cancels (elicited judgement)
constexpr double kThermometerUncertainty = 1;  // C (elicited judgement)

void read_drive(const Reader& in, bench::MotorFacts& motor) {
  if (!in.is_object()) return;
  in.only({"resistance", "brush-volts", "reactance", "saturation"});
  if (const auto ohms = typed_member(in, "resistance", "Ohm", 1e-3, 1e4))
    motor.resistance = bench::UncertainValue{*ohms, kOhmsUncertainty * *ohms, 0};
  if (const auto volts = typed_member(in, "brush-volts", "V", 0, 5))
    motor.brush_volts = {*volts, std::max(0.02, kBrushUncertainty * *volts), 0};
  if (const auto ohms = typed_member(in, "reactance", "Ohm", 0, 1e4)) motor.reactance = *ohms;
  if (const auto amps = typed_member(in, "saturation", "A", 1e-3, 1e3)) motor.saturation = *amps;
}

void read_winding(const Reader& in, bench::Session& session) {
  if (!in.is_object()) return;
  in.only({"cold", "cold-temperature", "hot", "room-temperature", "class"});
  for (const char* key : {"cold", "cold-temperature", "hot", "room-temperature"})
    if (!in.has(key)) in.member(key);  // says that it is missing
  const auto cold = typed_member(in, "cold", "Ohm", 1e-3, 1e5);
  const auto hot = typed_member(in, "hot", "Ohm", 1e-3, 1e5);
  const auto before = typed_member(in, "cold-temperature", "Cel", -30, 60);
  const auto room = typed_member(in, "room-temperature", "Cel", -30, 60);
  const std::string letter = in.text("class", {10}, false).value_or("A");
  if (!bench::thermal_class(letter)) {
    in.member("class")->problem(fmt::format("is \"{}\"", letter), "Y, A, E, B, F, H, 200, 220 or 250");
    return;
  }
  if (!cold || !hot || !before || !room) return;
  if (*hot < *cold || *hot > 3 * *cold) {
    in.problem(fmt::format("goes from {} to {} ohm, which no run does", *cold, *hot), "hot ohms above the cold ones");
    return;
  }
  const auto ohms = [](double value) {
    return measure::Measurement(value, kMeterOhmsUncertainty * value, measure::unit("Ohm"));
  };
  const auto degrees = [](double value) {
    return measure::Measurement(value, kThermometerUncertainty, measure::unit("Cel"));
  };
  session.winding = bench::WindingReadings{ohms(*cold), ohms(*hot), degrees(*before), degrees(*room), letter};
}

std::optional<bench::Section> read_section(const Reader& in) {
  if (!in.is_object()) return std::nullopt;
  in.only({"straight", "curve", "curve-radius", "degrees", "count"});
  bench::Section section;
  const bool curved = in.has("curve") || in.has("curve-radius");
  if (curved == in.has("straight") || (in.has("curve") && in.has("curve-radius"))) {
    in.problem("is no piece of track", "one of straight, curve (its length along the middle) or curve-radius");
    return std::nullopt;
  }
  const auto count = in.number("count", {1, 1000}, false).value_or(1);
  section.count = static_cast<int>(count);
  if (section.count != count) in.member("count")->problem(in.member("count")->what_stands(), "a whole number");
  section.length = typed_member(in, in.has("curve") ? "curve" : "straight", "m", 1e-3, 100);
  section.radius = typed_member(in, "curve-radius", "m", 1e-2, 100);
  if (curved) section.degrees = in.number("degrees", {0, 360, true}).value_or(0);
  if (!section.length && !(section.radius && section.degrees > 0)) return std::nullopt;
  return section;
}

}  // namespace

std::optional<double> typed_value(const Reader& in, std::string_view code) {
  const measure::Unit unit = measure::unit(code);
  if (in.value().is_number()) {
    in.problem(in.what_stands() + ", without a unit",
               fmt::format("text with its unit: \"{} {}\"", in.value().dump(), unit.code));
    return std::nullopt;
  }
  const auto text = in.text({100});
  if (!text) return std::nullopt;
  try {
    const measure::Typed value = measure::parse_typed(*text);
    if (value.uncertainty > 0) {
      in.problem(fmt::format("\"{}\" has an uncertainty, which is not taken into account here", *text),
                 "the value alone");
      return std::nullopt;
    }
    if (value.unit.dimension == unit.dimension) return measure::convert(value.value, value.unit, unit);
    in.problem(fmt::format("is \"{}\"", *text), "a value in " + measure::spellings(unit.dimension));
  } catch (const input::InputError& wrong) {
    in.problem(fmt::format("\"{}\" {}", *text, wrong.what()),
               "a value with its unit, in " + measure::spellings(unit.dimension));
  }
  return std::nullopt;
}

std::optional<double> typed_member(const Reader& in, std::string_view key, std::string_view code, double low,
                                   double high) {
  const auto found = in.member(key, false);
  if (!found) return std::nullopt;
  const auto value = typed_value(*found, code);
  if (!value) return std::nullopt;
  if (*value >= low && *value <= high) return value;
  found->problem(found->what_stands(), fmt::format("{:g} to {:g} {}", low, high, code));
  return std::nullopt;
}

void read_locomotive_facts(const Reader& in, bench::Session& session) {
  session.wheel_diameter = typed_member(in, "wheel-diameter", "m", 1e-3, 0.5);
  if (const auto drive = in.member("drive", false)) read_drive(*drive, session.motor);
  if (const auto winding = in.member("winding", false)) read_winding(*winding, session);
}

void read_rig_facts(const Reader& in, bench::Rig& out) {
  out.ammeter_ohms = typed_member(in, "ammeter-ohms", "Ohm", 0, 100);
  const auto leads = in.member("leads", false);
  if (!leads || !leads->is_object()) return;
  leads->only({"wire", "length", "joints", "temperature"});
  bench::Leads all;
  const auto wire = leads->member("wire");
  const auto text = wire ? wire->text({40}) : std::nullopt;
  if (!leads->has("length")) leads->member("length");
  const auto length = typed_member(*leads, "length", "m", 1e-2, 1000);
  all.celsius = typed_member(*leads, "temperature", "Cel", -30, 120).value_or(20);
  const auto joints = leads->number("joints", {0, 1000}, false).value_or(0);
  all.joints = static_cast<int>(joints);
  if (all.joints != joints) leads->member("joints")->problem(leads->member("joints")->what_stands(), "a whole number");
  if (!text || !length) return;
  all.length = *length;
  try {
    all.wire = bench::parse_wire(*text);
    out.leads = all;
  } catch (const input::InputError& wrong) {
    wire->problem(fmt::format("\"{}\" {}", *text, wrong.what()));
  }
}

std::optional<bench::LoopLength> read_sections(const Reader& rig) {
  std::vector<bench::Section> sections;
  const auto pieces = rig.elements("sections", 1, 200, false);
  for (const Reader& each : pieces)
    if (const auto section = read_section(each)) sections.push_back(*section);
  if (sections.empty() || sections.size() != pieces.size()) return std::nullopt;
  return bench::loop_length(sections);
}

}  // namespace wheeltapper::cases
