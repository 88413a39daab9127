#include "engine/cases/case.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <numeric>

#include "engine/bench/laps.hpp"
#include "engine/cases/facts.hpp"
#include "engine/cases/reading.hpp"
#include "engine/cases/series_file.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/json_reader.hpp"
#include "engine/input/words.hpp"

namespace wheeltapper::cases {
namespace {

using catalogue::Catalogue;
using input::near_miss;
using input::Problem;
using input::Reader;

constexpr double kInf = std::numeric_limits<double>::infinity();
constexpr int kMostLaps = 10000;
constexpr double kTapeUncertainty = 0.005;  // half a per cent, by string along the centre line (elicited judgement)

template <typename Item>
std::vector<std::string_view> ids_of(const std::vector<Item>& list) {
  std::vector<std::string_view> ids;
  ids.reserve(list.size());
  for (const Item& item : list) ids.push_back(item.id);
  return ids;
}

class CaseReader {
 public:
  /// \param beside  for the series that the case names; empty: none can be read
  CaseReader(const Catalogue& catalogue, const input::Beside& beside) : catalogue_(catalogue), beside_(beside) {}

  Case read(const Reader& in) {
    Case result;
    if (!in.is_object("an object: a case")) return result;
    in.only({"$schema", "title", "locomotive", "complaint", "observer", "limits", "usual", "healthy", "rig", "runs",
             "answers", "known", "tried", "checks"});
    result.title = in.text("title", {160}).value_or("");
    result.complaint = in.text("complaint", {2000}, false).value_or("");
    if (const auto locomotive = in.member("locomotive"); locomotive && locomotive->is_object())
      read_locomotive(*locomotive, result);
    if (in.word("observer", {"novice", "technician"}, false) == "technician")
      result.observations.observer = belief::Observer::technician;
    if (const auto rig = in.member("rig", false); rig && rig->is_object()) read_rig(*rig, result);
    for (const Reader& each : in.elements("limits", 0, 50, false)) read_limit(each, result);
    for (const Reader& each : in.elements("usual", 0, 50, false)) read_usual(each, result);
    for (const Reader& each : in.elements("runs", 0, 100, false)) read_run(each, result.session.runs);
    if (const auto healthy = in.member("healthy", false); healthy && healthy->is_object())
      read_healthy(*healthy, result);
    read_answers(in, result);
    read_known(in, result);
    for (const Reader& each : in.elements("tried", 0, 100, false)) read_tried(each, result);
    read_checks(in, result);
    return result;
  }

 private:
  /// The item with the id that stands at `in`, or nothing and a problem with the nearest id.
  template <typename Item>
  const Item* look_up(const Reader& in, const std::string& id, const std::vector<Item>& list, std::string_view kind,
                      const Item* found) const {
    if (found != nullptr) return found;
    const auto nearest = near_miss(id, ids_of(list));
    in.problem(
        fmt::format("names the unknown {} \"{}\"", kind, id),
        nearest ? fmt::format("did you mean \"{}\"?", *nearest) : fmt::format("see: wheeltapper show {}s", kind));
    return nullptr;
  }

  void read_locomotive(const Reader& in, Case& result) {
    in.only({"name", "family", "wheel-diameter", "drive", "winding"});
    result.locomotive = in.text("name", {100}, false).value_or("");
    const auto family = in.id("family");
    if (!family) return;
    family_ = look_up(*in.member("family"), *family, catalogue_.items().families, "family", catalogue_.family(*family));
    if (family_ != nullptr) take_family(*in.member("family"), result);
    read_locomotive_facts(in, result.session);
  }

  void take_family(const Reader& in, Case& result) const {
    const Case plain = case_of_family(*family_);
    result.family = plain.family;
    result.session.motor = plain.session.motor;
    const auto usable = catalogue_.usable_families();
    if (std::ranges::find(usable, family_) != usable.end()) return;
    std::string allowed;
    for (const auto* each : usable) input::join_to(allowed, each->id);
    in.problem(fmt::format("is \"{}\", for which there is no knowledge yet", family_->id), allowed);
  }

  void demand_run(const Reader& in, bench::RunKind kind) const {
    if (family_ == nullptr || std::ranges::find(family_->runs, kind) != family_->runs.end()) return;
    std::string allowed;
    for (const auto each : family_->runs) input::join_to(allowed, bench::name(each));
    in.problem(fmt::format("is \"{}\", a run that the family {} cannot make", bench::name(kind), family_->id), allowed);
  }

  std::optional<measure::Measurement> loop_length(const Reader& in, std::string_view key) const {
    const auto found = in.member(key, false);
    if (!found) return std::nullopt;
    const auto metres = typed_value(*found, "m");
    if (!metres) return std::nullopt;
    constexpr double kShortest = 0.1;
    constexpr double kLongest = 1e5;
    if (!(*metres >= kShortest && *metres <= kLongest)) {
      found->problem(fmt::format("is {:.3g} m", *metres), "the length once round, 0.1 m to 100 km");
      return std::nullopt;
    }
    return measure::Measurement(*metres, *metres * kTapeUncertainty, measure::unit("m"));
  }

  std::optional<int> whole(const Reader& in, std::string_view key, int least, int most, bool required) const {
    const auto value = in.number(key, {static_cast<double>(least), static_cast<double>(most)}, required);
    if (!value) return std::nullopt;
    if (*value == static_cast<int>(*value)) return static_cast<int>(*value);
    in.member(key)->problem(in.member(key)->what_stands(), "a whole number");
    return std::nullopt;
  }

  void read_rig(const Reader& in, Case& result) {
    in.only({"name", "loop", "sections", "leads", "ammeter-ohms", "meters"});
    in.text("name", {100}, false);
    loop_ = loop_length(in, "loop");
    if (in.has("loop") && in.has("sections"))
      in.member("sections")->problem("stands beside the loop's length, which says the same", "one of the two");
    if (const auto pieces = read_sections(in); pieces && !loop_)
      loop_ = measure::Measurement(pieces->metres, pieces->metres * kTapeUncertainty, measure::unit("m"));
    read_rig_facts(in, result.session.rig);
    for (const auto& [name, meter] : in.members("meters", false)) {
      if (!meter.is_object()) continue;
      meters_.emplace(name, read_meter(name, meter));
    }
  }

  measure::Meter read_meter(const std::string& name, const Reader& in) const {
    in.only({"unit", "percent-of-reading", "percent-of-range", "range", "counts", "step", "division", "read-to"});
    measure::Meter meter{.name = name, .unit = measure::unit("A")};
    if (const auto unit = in.member("unit")) {
      const auto text = unit->text({20});
      const auto found = text ? measure::find_unit(*text) : std::nullopt;
      if (found)
        meter.unit = *found;
      else if (text)
        unit->problem(unit->what_stands(), "a unit such as A, mA, V, s, Cel");
    }
    meter.percent_of_reading = in.number("percent-of-reading", {0, 100}, false).value_or(0);
    meter.percent_of_range = in.number("percent-of-range", {0, 100}, false).value_or(0);
    meter.range = in.number("range", {0, kInf, true}, false).value_or(0);
    meter.counts = in.number("counts", {0, 10000}, false).value_or(0);
    meter.step = in.number("step", {0, kInf, true}, false).value_or(0);
    meter.division = in.number("division", {0, kInf, true}, false).value_or(0);
    meter.read_to = in.number("read-to", {0, 1, true}, false).value_or(0.5);
    if (meter.percent_of_range > 0 && meter.range == 0)
      in.problem("has percent-of-range without a range", "its full scale as range");
    if (meter.counts > 0 && meter.step == 0)
      in.problem("has counts without a step", "what the last digit is worth as step");
    if (!(measure::standard_uncertainty(meter, 1) > 0))
      in.problem("has no uncertainty at all", "its accuracy from the data sheet, a step or a division");
    return meter;
  }

  struct Target {
    const catalogue::Quantity* quantity;
    bench::RunKind run;
    bench::Direction direction;
  };

  std::optional<Target> read_target(const Reader& in) const {
    const auto id = in.id("quantity");
    const auto* quantity =
        id ? look_up(*in.member("quantity"), *id, catalogue_.items().quantities, "quantity", catalogue_.quantity(*id))
           : nullptr;
    const auto run = in.word("run", bench::kRunKindWords, false);
    const auto way = in.word("direction", bench::kDirectionWords, false);
    if (run) demand_run(*in.member("run"), *bench::run_kind(*run));
    if (quantity == nullptr) return std::nullopt;
    return Target{quantity, run ? *bench::run_kind(*run) : bench::RunKind::loaded,
                  way ? *bench::direction(*way) : bench::Direction::any};
  }

  bench::Conditions read_conditions(const Reader& in) const {
    bench::Conditions conditions;
    conditions.cars = whole(in, "cars", 0, 1000, false);
    conditions.loop = loop_length(in, "loop");
    if (const auto volts = in.member("rail-volts", false)) conditions.rail_volts = typed_value(*volts, "V");
    if (const auto laps = in.member("laps-a-minute", false)) conditions.laps_a_minute = typed_value(*laps, "/min");
    return conditions;
  }

  void read_limit(const Reader& in, Case& result) const {
    if (!in.is_object()) return;
    in.only({"quantity", "run", "direction", "at-least", "at-most", "cars", "loop", "rail-volts", "laps-a-minute"});
    const auto target = read_target(in);
    bench::Conditions holds_for = read_conditions(in);
    if (!in.has("at-least") && !in.has("at-most")) in.problem("has no bound", "at-least or at-most");
    if (!target) return;
    const auto bound = [&](std::string_view key) -> std::optional<double> {
      const auto found = in.member(key, false);
      return found ? typed_value(*found, target->quantity->unit) : std::nullopt;
    };
    bench::Limit limit{target->quantity->id,
                       target->run,
                       target->direction,
                       {bound("at-least"), bound("at-most"), measure::unit(target->quantity->unit)},
                       holds_for};
    if (limit.bounds.at_least && limit.bounds.at_most && *limit.bounds.at_least > *limit.bounds.at_most)
      in.problem("has its lower bound above its upper one", "at-least below at-most");
    if (limit.bounds.at_least || limit.bounds.at_most) result.session.limits.push_back(std::move(limit));
  }

  void read_usual(const Reader& in, Case& result) const {
    if (!in.is_object()) return;
    in.only({"quantity", "run", "direction", "value"});
    const auto target = read_target(in);
    const auto value = in.member("value");
    if (!target || !value) return;
    if (const auto number = typed_value(*value, target->quantity->unit))
      result.session.usual.push_back({target->quantity->id, target->run, target->direction, *number});
  }

  /// One text or a list of texts.
  static std::vector<std::string> one_or_more(const Reader& in) {
    std::vector<std::string> all;
    if (!in.value().is_array()) {
      if (in.value().is_number())
        in.problem(in.what_stands() + ", without a unit",
                   fmt::format("text with its unit, such as \"{} A\"", in.value().dump()));
      else if (auto text = in.text({100}))
        all.push_back(std::move(*text));
      return all;
    }
    for (const Reader& each : in.items(1, 100))
      if (auto text = each.text({100})) all.push_back(std::move(*text));
    return all;
  }

  struct GivenReading {
    std::vector<std::string> typed;
    std::string meter;  // empty: the one named as the quantity
  };

  GivenReading given_reading(const Reader& in) const {
    if (!in.value().is_object()) return {one_or_more(in), {}};
    in.only({"value", "meter"});
    GivenReading given;
    if (const auto value = in.member("value")) given.typed = one_or_more(*value);
    given.meter = in.text("meter", {100}, false).value_or("");
    if (!given.meter.empty() && !meters_.contains(given.meter))
      in.member("meter")->problem(fmt::format("names the meter \"{}\", which the rig does not have", given.meter),
                                  "a meter of rig/meters");
    return given;
  }

  const measure::Meter* meter_for(const std::string& named, const std::string& quantity) const {
    const auto found = meters_.find(named.empty() ? quantity : named);
    return found == meters_.end() ? nullptr : &found->second;
  }

  void read_healthy(const Reader& in, Case& result) const {
    in.only({"from", "same-meters", "runs"});
    bench::Healthy healthy;
    healthy.from = in.text("from", {60}, false).value_or("");
    if (const auto same = in.member("same-meters", false)) healthy.same_meters = same->boolean().value_or(false);
    for (const Reader& each : in.elements("runs", 1, 50)) read_run(each, healthy.runs);
    if (!healthy.runs.empty()) result.session.healthy = std::move(healthy);
  }

  void read_run(const Reader& in, std::vector<bench::Run>& runs) const {
    if (!in.is_object()) return;
    in.only({"name", "kind", "direction", "cars", "loop", "completed", "laps", "time", "minute", "readings", "series",
             "notes"});
    bench::Run run;
    if (const auto kind = in.word("kind", bench::kRunKindWords)) {
      run.kind = *bench::run_kind(*kind);
      demand_run(*in.member("kind"), run.kind);
    }
    if (const auto way = in.word("direction", bench::kDirectionWords, false)) run.direction = *bench::direction(*way);
    run.name = in.text("name", {100}, false).value_or(std::string(bench::name(run.kind)));
    in.text("notes", {2000}, false);
    run.conditions = read_conditions(in);
    if (!run.conditions.loop) run.conditions.loop = loop_;
    if (const auto completed = in.member("completed", false)) run.completed = completed->boolean().value_or(true);
    read_laps(in, run);
    run.minute = in.number("minute", {0, 1000}, false);
    for (const auto& [id, value] : in.members("readings", false)) read_reading(id, value, run);
    if (const auto series = in.member("series", false)) read_series_of(*series, run);
    runs.push_back(std::move(run));
  }

  /// The rows themselves, as a job keeps them.
  void read_series_text(const Reader& in, bench::Run& run) const {
    in.only({"name", "text"});
    const auto name = in.text("name", {100});
    const auto text = in.member("text");
    if (!name || !text) return;
    if (!text->value().is_string()) {
      text->problem(text->what_stands(), "the rows of a series as text");
      return;
    }
    try {
      run.series = read_series(text->value().get_ref<const std::string&>(), *name);
      add_series_readings(run);
    } catch (const input::BadInput& wrong) {
      for (const Problem& each : wrong.problems()) in.add(each);
    } catch (const input::DomainError& wrong) {
      in.problem(fmt::format("\"{}\": {}", *name, wrong.what()));
    }
  }

  /// A file beside the case: a plain name, so that a case from elsewhere cannot reach into other folders.
  void read_series_of(const Reader& in, bench::Run& run) const {
    if (in.value().is_object()) {
      read_series_text(in, run);
      return;
    }
    const auto name = in.text({100});
    if (!name) return;
    if (name->find_first_of("/\\") != std::string::npos || name->starts_with('.')) {
      in.problem(fmt::format("is \"{}\"", *name), "the plain name of a file beside the case");
      return;
    }
    if (!beside_) {
      in.problem("names a file, but the case was not read from one");
      return;
    }
    try {
      const input::TextFile file = beside_(*name);
      run.series = read_series(file.text, file.file);
      add_series_readings(run);
    } catch (const input::BadInput& wrong) {
      for (const Problem& each : wrong.problems()) in.add(each);
    } catch (const input::DomainError& wrong) {
      in.problem(fmt::format("\"{}\": {}", *name, wrong.what()));
    }
  }

  /// What the series says of the whole run, where it was not read otherwise.
  void add_series_readings(bench::Run& run) const {
    const bench::SeriesSummary summary = bench::summarise(*run.series);
    if (!run.readings.contains("amps"))
      run.readings.emplace("amps",
                           make_series_reading(*catalogue_.quantity("amps"), summary.amps, meter_for("", "amps")));
    if (!run.series->volts.empty() && !run.readings.contains("rail-volts"))
      run.readings.emplace("rail-volts",
                           make_series_reading(*catalogue_.quantity("rail-volts"),
                                               bench::correlated_mean(run.series->volts), meter_for("", "rail-volts")));
    const auto& marks = run.series->lap_marks;
    if (marks.size() < 2 || run.readings.contains("lap-rate")) return;
    const double step = 1 / summary.rate;  // a mark stands at the reading after the passing: rectangular, both ends
    const std::vector<double> laps = bench::sound_laps(marks);
    const double seconds = std::accumulate(laps.begin(), laps.end(), 0.0);
    const measure::Measurement time(seconds, std::sqrt(2.0) * measure::from_resolution(step), measure::unit("s"));
    const auto rate = bench::lap_rate(static_cast<int>(laps.size()), time);
    run.readings.emplace("lap-rate", bench::Reading{rate, rate.uncertainty(), 0, {}, false});
  }

  void read_laps(const Reader& in, bench::Run& run) const {
    const bool has_laps = in.has("laps");
    const bool has_time = in.has("time");
    if (has_laps != has_time)
      in.problem(has_laps ? "has laps without a time" : "has a time without laps", "both laps and time");
    if (!has_laps || !has_time) return;
    const auto laps = whole(in, "laps", 1, kMostLaps, true);
    const Reader time = *in.member("time");
    const GivenReading given = given_reading(time);
    const auto* quantity = catalogue_.quantity("lap-time");
    if (!laps || given.typed.empty() || quantity == nullptr) return;
    try {
      run.readings.emplace("lap-rate",
                           make_lap_rate(*quantity, *laps, given.typed, meter_for(given.meter, "lap-time")));
    } catch (const input::InputError& wrong) {
      time.problem(wrong.what(), "a time such as 33.5 s");
    }
  }

  void read_reading(const std::string& id, const Reader& in, bench::Run& run) const {
    const auto* quantity = look_up(in, id, catalogue_.items().quantities, "quantity", catalogue_.quantity(id));
    const GivenReading given = given_reading(in);
    if (quantity == nullptr || given.typed.empty()) return;
    if (run.readings.contains(id)) {
      in.problem("stands beside laps and time, which say the same", "one of the two");
      return;
    }
    try {
      run.readings.emplace(id, make_reading(*quantity, given.typed, meter_for(given.meter, id)));
    } catch (const input::InputError& wrong) {
      in.problem(wrong.what(), fmt::format("a value such as 2.4 {}", quantity->unit));
    }
  }

  void read_answers(const Reader& in, Case& result) const {
    for (const auto& [id, value] : in.members("answers", false)) {
      const auto* finding = look_up(value, id, catalogue_.items().findings, "finding", catalogue_.finding(id));
      if (value.value().is_boolean()) {
        value.problem(value.what_stands(),
                      "\"yes\", \"no\", \"unsure\", \"not seen\" or the name of a level, in quotes");
        continue;
      }
      const auto word = value.text({60});
      if (finding == nullptr || !word || is_not_observed(*word)) continue;
      if (catalogue_.family(result.family) != nullptr &&
          std::ranges::find(finding->families, result.family) == finding->families.end()) {
        value.problem(fmt::format("is not asked in the family {}", result.family));
        continue;
      }
      try {
        result.observations.answers.push_back({id, level_of(*finding, *word)});
      } catch (const input::InputError& wrong) {
        value.problem(fmt::format("is \"{}\"", *word), wrong.allowed());
      }
    }
  }

  void read_known(const Reader& in, Case& result) const {
    for (const auto& [id, value] : in.members("known", false)) {
      const auto* context = look_up(value, id, catalogue_.items().contexts, "context", catalogue_.context(id));
      const auto told = value.boolean();
      if (context == nullptr || !told) continue;
      (*told ? result.background.contexts : result.background.contexts_not).push_back(id);
    }
  }

  void read_tried(const Reader& in, Case& result) const {
    if (!in.is_object()) return;
    in.only({"repair", "by"});
    const auto id = in.id("repair");
    const auto by = in.word("by", {"owner", "technician"}, false);
    if (!id) return;
    if (look_up(*in.member("repair"), *id, catalogue_.items().repairs, "repair", catalogue_.repair(*id)) != nullptr)
      result.background.tried.push_back({*id, by != "technician"});
  }

  void read_checks(const Reader& in, Case& result) const {
    for (const auto& [id, value] : in.members("checks", false)) {
      const auto* check = look_up(value, id, catalogue_.items().checks, "check", catalogue_.check(id));
      if (check == nullptr) continue;
      if (value.value().is_string()) {
        if (!value.word({"clean"})) continue;
        for (const auto& each : check->results) result.observations.outcomes.push_back({id, each.id, false});
        continue;
      }
      for (const auto& [name, seen] : value.entries()) read_outcome(*check, name, seen, result);
    }
  }

  static void read_outcome(const catalogue::Check& check, const std::string& name, const Reader& in, Case& result) {
    const auto word = in.word({"seen", "not seen"});
    const bool known = std::ranges::any_of(check.results, [&](const auto& r) { return r.id == name; });
    if (!known) {
      std::string list;
      for (const auto& each : check.results) input::join_to(list, each.id);
      in.problem("is no result of " + check.id, list);
    }
    if (known && word) result.observations.outcomes.push_back({check.id, name, *word == "seen"});
  }

  const Catalogue& catalogue_;
  const input::Beside& beside_;
  const catalogue::Family* family_ = nullptr;  // once it was read; nothing when it is unknown
  std::optional<measure::Measurement> loop_;
  std::map<std::string, measure::Meter> meters_;
};

}  // namespace

bool is_not_observed(std::string_view word) {
  return word == "unsure" || word == "not seen" || word == "skipped" || word == kNotNoticed;
}

std::optional<std::size_t> level_of(const catalogue::Finding& finding, std::string_view word) {
  if (word == "no") return 0;
  if (word == "yes") return finding.top() == 1 ? std::optional<std::size_t>(1) : std::nullopt;
  const auto found = std::ranges::find(finding.levels, word);
  if (found != finding.levels.end()) return static_cast<std::size_t>(found - finding.levels.begin());
  std::string words = "yes, no, unsure, not seen";
  if (finding.top() > 1)
    for (const std::string& level : finding.levels) words += ", \"" + level + "\"";
  throw input::InputError("is no answer to " + finding.id, words, finding.id);
}

namespace {

Case read(const nlohmann::json& value, const std::string& file, const Catalogue& catalogue,
          const input::Beside& beside) {
  std::vector<Problem> problems;
  Case result = CaseReader(catalogue, beside).read(Reader(value, file, problems));
  if (!problems.empty()) throw input::BadInput(std::move(problems));
  return result;
}

}  // namespace

Case case_of_family(const catalogue::Family& family) {
  Case result;
  result.family = family.id;
  result.session.motor.kind = family.motor;
  result.session.motor.brush_volts = {family.brush_volts, family.brush_volts_u, 0};
  result.session.motor.neutral = family.neutral;
  return result;
}

Case read_case(std::string_view text, const std::string& file, const Catalogue& catalogue,
               const input::Beside& beside) {
  return read(input::parse_json(text, file), file, catalogue, beside);
}

Case case_from(const nlohmann::json& value, const std::string& file, const Catalogue& catalogue) {
  return read(value, file, catalogue, {});
}

}  // namespace wheeltapper::cases
