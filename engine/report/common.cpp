#include "engine/report/common.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "engine/input/words.hpp"

namespace wheeltapper::report {
namespace {

using bench::Direction;
using bench::LimitVerdict;
using bench::RunKind;
using catalogue::Power;

std::string_view run_words(RunKind kind, std::string_view neutral) {
  switch (kind) {
    case RunKind::neutral:
      return neutral.empty() ? "in neutral" : neutral;  // a case may give such a run whatever its family
    case RunKind::motor_only:
      return "on the stand";
    case RunKind::light:
      return "alone";
    case RunKind::loaded:
      return "with the cars";
    case RunKind::standing:
      return "standing";
  }
  return "";
}

std::string upper(std::string_view text) {
  std::string all(text);
  std::ranges::transform(all, all.begin(), [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return all;
}

std::string bound_text(std::string_view words, double value, const measure::Unit& unit) {
  return fmt::format("{} {:.3g}{}{}", words, value, unit.shown.empty() || unit.shown == "/min" ? "" : " ", unit.shown);
}

std::string settling_text(const LimitVerdict& judged) {
  if (!judged.settling) return {};
  const auto& settling = *judged.settling;
  const auto unit = judged.reading->unit().shown;
  if (settling.runs)
    return fmt::format(
        "Too close to call. {} runs in all, each from a fresh start, would settle it if their mean "
        "stays here.",
        *settling.runs);
  if (settling.meter_uncertainty <= 0) return "Too close to call: the reading is on the limit itself.";
  return fmt::format(
      "Too close to call. Repeating does not help: the meter's own uncertainty is too large. A meter that is right "
      "within \u00b1 {:.2g}{}{} would settle it.",
      2 * settling.meter_uncertainty, unit == "/min" ? "" : " ", unit);
}

std::string call_with_chance(const LimitVerdict& judged) {
  const auto& verdict = *judged.verdict;
  const double sure = verdict.call == measure::Call::outside ? 1 - verdict.conforms : verdict.conforms;
  if (verdict.call == measure::Call::too_close) return fmt::format("too close, {}", percent(verdict.conforms));
  return fmt::format("{}, {}", call_text(verdict.call), percent(sure));
}

}  // namespace

std::string_view first_sentence(std::string_view text) {
  const auto end = text.find(". ");
  return end == std::string_view::npos ? text : text.substr(0, end + 1);
}

std::string what_was_read(const catalogue::Catalogue& catalogue, const bench::Limit& limit, Direction direction,
                          std::string_view neutral) {
  const auto* quantity = catalogue.quantity(limit.quantity);
  std::string text = quantity == nullptr ? limit.quantity : quantity->name;
  text += fmt::format(", {}", run_words(limit.run, neutral));
  if (direction != Direction::any) text += fmt::format(", {}", bench::name(direction));
  return text;
}

std::string allowed_text(const measure::Limits& limits) {
  std::string text;
  if (limits.at_least) text = bound_text("at least", *limits.at_least, limits.unit);
  if (limits.at_most) input::join_to(text, bound_text("at most", *limits.at_most, limits.unit));
  return text;
}

std::string_view call_text(measure::Call call) {
  switch (call) {
    case measure::Call::within:
      return "within";
    case measure::Call::outside:
      return "OUTSIDE";
    case measure::Call::too_close:
      return "too close to call";
  }
  return "";
}

std::string work_text(double minutes, Power power, catalogue::Skill skill) {
  const std::string_view plug = power == Power::unplugged ? "plug out"
                                : power == Power::live    ? "under power"
                                                          : "plug out, then in";
  std::string text = fmt::format("{:.0f} min, {}", minutes, plug);
  if (skill != catalogue::Skill::novice) text += skill == catalogue::Skill::expert ? ", for an expert" : ", some skill";
  return text;
}

void put_cautions(Page& page, const catalogue::Catalogue& catalogue, const std::vector<std::string>& ids,
                  std::size_t indent, bool whole) {
  std::vector<const catalogue::Caution*> cautions;
  for (const std::string& id : ids)
    if (const auto* caution = catalogue.caution(id)) cautions.push_back(caution);
  std::ranges::stable_sort(cautions, {}, &catalogue::Caution::signal);
  for (const auto* caution : cautions) {
    const bool severe = caution->signal == catalogue::Signal::danger || caution->signal == catalogue::Signal::warning;
    const std::string_view text = whole ? std::string_view(caution->text) : first_sentence(caution->text);
    page.labelled(upper(catalogue::name(caution->signal)), text, indent, 9, severe ? Ink::alarm : Ink::care);
  }
}

void put_steps(Page& page, const std::vector<std::string>& steps, std::size_t indent) {
  for (std::size_t i = 0; i < steps.size(); ++i)
    page.labelled(fmt::format("{}.", i + 1), steps[i], indent, i < 9 ? 3 : 4);
}

void put_verdicts(Page& page, const catalogue::Catalogue& catalogue, const cases::Case& the_case,
                  const std::vector<LimitVerdict>& verdicts, bool all) {
  std::vector<std::string> said;  // a note that holds for several runs stands once, below the last of them
  for (const LimitVerdict& judged : verdicts) {
    const bench::Limit& limit = the_case.session.limits[judged.limit];
    const std::string what = what_was_read(catalogue, limit, judged.direction, the_case.session.motor.neutral);
    const std::string allowed = allowed_text(limit.bounds);
    if (judged.verdict) {
      const bool bad = judged.verdict->call != measure::Call::within;
      page.ends_with(fmt::format("{} {}", what, measure::show_with_uncertainty(*judged.reading)),
                     fmt::format(" ({})", allowed), call_with_chance(judged), 2, bad ? Ink::bold : Ink::plain);
    } else if (judged.run) {
      page.ends(fmt::format("{}, {}", what, allowed), judged.reading ? "not comparable" : "not measured", 2);
    } else {
      page.ends(fmt::format("{}, {}", what, allowed), "NOT RUN", 2, Ink::bold);
    }
    if (judged.settling) page.paragraph(settling_text(judged), 4);
    for (const std::string& note : judged.notes) {
      const bool obvious = !judged.run || note.starts_with("Not measured") || note.starts_with("No meter");
      if (!all && obvious) continue;
      if (all)
        page.paragraph(note, 4);
      else if (std::ranges::find(said, note) == said.end())
        said.push_back(note);
    }
  }
  for (const std::string& note : said) page.paragraph(note, 4);
}

}  // namespace wheeltapper::report
