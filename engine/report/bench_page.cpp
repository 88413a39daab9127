#include "engine/report/bench_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/bench/warmth.hpp"

namespace wheeltapper::report {
namespace {

using bench::DriveAnalysis;
using bench::Estimate;
using bench::Explanation;
using bench::Index;
using bench::Indexes;

constexpr double kClear = 0.9;
constexpr std::size_t kBarWidth = 28;

std::string estimate_text(Index index, const Estimate& estimate) {
  switch (index) {
    case Index::drag:
      return fmt::format("{} drag, {:.2f} times", estimate.value >= 1 ? "more" : "less", estimate.value);
    case Index::ohms:
      return fmt::format("{:.2g} ohm {}", std::abs(estimate.value),
                         estimate.value >= 0 ? "more in the motor's path" : "less");
    case Index::flux:
      return fmt::format("a {} field, {:.2f} of its flux", estimate.value <= 1 ? "weaker" : "stronger", estimate.value);
  }
  return {};
}

std::string explanation_text(const Explanation& each) {
  std::string text;
  for (const Index index : bench::kIndexes)
    if (each.differs[static_cast<std::size_t>(index)])
      text += fmt::format("{}{}", text.empty() ? "" : " and ",
                          estimate_text(index, each.estimate[static_cast<std::size_t>(index)]));
  return text.empty() ? "no change that these readings can show" : text;
}

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

/// What one more reading would separate.
std::string next_reading(const Indexes& indexes) {
  if (indexes.way == Indexes::Way::run_to_base)
    return "The same train at other volts, a quarter lower or higher, would separate them.";
  return "Each run three times, or the two volts further apart, would separate them.";
}

/// Any of its changes is `times` a tenth of the drag, a twentieth of the volts per amp or a twentieth of the flux.
bool large(const Explanation& each, double ohms_scale, double times) {
  const auto& at = each.estimate;
  return std::abs(at[0].value - 1) > 0.1 * times || std::abs(at[1].value) > 0.05 * times * ohms_scale ||
         std::abs(at[2].value - 1) > 0.05 * times;
}

/// The likeliest explanation is something, large enough to look for, and hardly nothing.
bool worth_a_line(const Indexes& indexes) {
  if (indexes.explanations.empty()) return false;
  double nothing = 0;
  for (const Explanation& each : indexes.explanations)
    if (each.count() == 0) nothing = each.chance;
  const Explanation& best = indexes.explanations.front();
  return best.count() > 0 && nothing <= 0.2 && large(best, indexes.ohms_scale, 1);
}

struct Row {
  const char* label;
  Estimate estimate;
  double healthy, low, high;
  bool log;
  const char* unit;
};

void put_row(Page& page, const Row& row) {
  const auto at = [&](double x) { return row.log ? std::log(std::max(x, 1e-9)) : x; };
  const std::string bar = scale_bar(at(row.estimate.value), at(row.estimate.low), at(row.estimate.high),
                                    at(row.healthy), at(row.low), at(row.high), kBarWidth);
  const std::string figures =
      fmt::format("{:.2f}{} ({:.2f} to {:.2f})", row.estimate.value, row.unit, row.estimate.low, row.estimate.high);
  // Too narrow for a bar: the figures alone.
  if (page.style().width >= 74)
    page.ends(fmt::format("{:<12} {}", row.label, figures), bar, 4);
  else
    page.labelled(row.label, figures, 4, 14);
}

void put_indexes(Page& page, const Indexes& indexes, bool to_base) {
  if (indexes.apart) {
    const auto& apart = *indexes.apart;
    put_row(page, {"drag", apart[0], 1, 0.5, 4, true, " x"});
    put_row(page, {"added ohms", apart[1], 0, -0.3 * indexes.ohms_scale, 1.2 * indexes.ohms_scale, false, " ohm"});
    put_row(page, {"flux", apart[2], 1, 0.5, 1.5, true, " x"});
  } else if (!indexes.explanations.empty()) {
    for (const Explanation& each : indexes.explanations) {
      if (each.chance < 0.05) break;
      if (each.count() > 0 && !large(each, indexes.ohms_scale, 0.1)) continue;
      if (page.style().width >= 74)
        page.ends("if " + explanation_text(each), percent(each.chance), 4);
      else
        page.paragraph(fmt::format("if {}: {}", explanation_text(each), percent(each.chance)), 4, 2);
    }
  }
  const auto put = [&](const char* label, const std::optional<Estimate>& estimate, const char* unit) {
    if (estimate)
      page.labelled(label,
                    fmt::format("{:.2f} {} ({:.2f} to {:.2f})", estimate->value, unit, estimate->low, estimate->high),
                    4, 26);
  };
  if (indexes.way != Indexes::Way::run_to_base) {
    put("ohms in the motor's path", indexes.resistance, "ohm");
    put("flux figure", indexes.flux_figure, "");
  }
  if (!to_base) return;
  put("amps bypassing the motor", indexes.parallel, "A");
  put("  more than healthy", indexes.parallel_rise, "A");
  put("drag of the drive alone", indexes.drive_drag, "x");
  put("drag of the train", indexes.train_drag, "x");
  if (indexes.sampled) page.paragraph("(Intervals by sampling: the volts lie close together.)", 4);
}

void put_losses(Page& page, const bench::BenchAnalysis& analysis) {
  if (analysis.losses.empty()) return;
  page.heading("Volts lost on the way");
  double most = 0.5;
  for (const auto& loss : analysis.losses) most = std::max(most, loss.volts);
  for (const auto& loss : analysis.losses) {
    page.ends(fmt::format("{:<34} {:5.2f} V", loss.what, loss.volts),
              fmt::format("{} {:>4}", bar(std::clamp(loss.volts / most, 0.0, 1.0), 16), percent(loss.share)), 2);
    page.paragraph(loss.said, 4, 0, Ink::dim);
  }
}

void put_cautions(Page& page, const bench::BenchAnalysis& analysis) {
  for (const std::string& caution : analysis.cautions) page.labelled("CAUTION", caution, 2, 9, Ink::care);
}

void put_warmth(Page& page, const bench::BenchAnalysis& analysis) {
  if (!analysis.winding) return;
  const auto& w = *analysis.winding;
  page.heading("Warmth");
  page.paragraph(
      fmt::format("Its resistance shows the winding {:.0f} K above room (95 %: {:.0f} to {:.0f}), at {:.0f} C; its "
                  "insulation stands {:.0f} C.",
                  w.rise.value(), w.rise.value() - 1.96 * w.rise.uncertainty(),
                  w.rise.value() + 1.96 * w.rise.uncertainty(), w.winding.value(), w.stands),
      2);
}

/// The amps round the loop, as rows of characters from the lowest to the highest.
void put_course(Page& page, const bench::Fold& fold) {
  constexpr std::size_t kRows = 5;
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const double each : fold.course)
    if (std::isfinite(each)) {
      low = std::min(low, each);
      high = std::max(high, each);
    }
  if (!(high > low)) return;
  for (std::size_t row = kRows; row-- > 0;) {
    std::string line;
    for (const double each : fold.course) {
      const auto at = std::isfinite(each)
                          ? static_cast<std::size_t>(std::min((each - low) / (high - low) * kRows, kRows - 0.01))
                          : kRows;
      line += at == row ? '*' : ' ';
    }
    const std::string label = row + 1 == kRows ? fmt::format("{:.2f} A", high)
                              : row == 0       ? fmt::format("{:.2f} A", low)
                                               : "";
    page.verbatim(fmt::format("{:<8}|{}|", label, line), 2);
  }
  std::string marks(bench::Fold::kBins, ' ');
  for (const auto& spot : fold.spots)
    marks[std::min(bench::Fold::kBins - 1, static_cast<std::size_t>(spot.place * bench::Fold::kBins))] = '^';
  page.verbatim(fmt::format("{:<8}0{}1 lap", "", marks), 2);
}

std::string where_text(const bench::Spot& spot, bool found, std::optional<double> loop_metres) {
  const std::string from = found ? "where the series begins" : "the lap mark";
  std::string text = fmt::format("The amps {} by {:.2f} A ({:.0f} %) or more each lap at {:.0f} % of it after {}",
                                 spot.amps < 0 ? "fall" : "rise", std::abs(spot.amps), 100 * std::abs(spot.share),
                                 100 * spot.place, from);
  if (loop_metres) text += fmt::format(", {:.2f} m on", spot.place * *loop_metres);
  return text + (found ? ": if those are laps, look at the track there."
                       : ": look at the track there, not at the locomotive.");
}

void put_laps(Page& page, const bench::Run& run, const bench::SeriesAnalysis& each) {
  if (!each.laps) {
    page.paragraph("No laps are marked, and nothing returns clearly enough to find them.", 2);
    return;
  }
  page.paragraph(
      fmt::format("{} laps of {:.2f} s{}.", each.laps->at.size() - 1, each.laps->lap_seconds,
                  each.laps->found ? ", found from what returns in the amps (if the loop is the same in both "
                                     "halves, it may be half a lap)"
                                   : ""),
      2);
  if (!each.fold) {
    page.paragraph("Too few readings a lap to fold them: at least three laps of twelve readings.", 2);
    return;
  }
  put_course(page, *each.fold);
  std::optional<double> metres;
  if (run.conditions.loop) metres = run.conditions.loop->in(measure::unit("m")).value();
  for (const auto& spot : each.fold->spots) page.paragraph(where_text(spot, each.laps->found, metres), 2, 2);
  if (each.fold->spots.empty())
    page.paragraph(fmt::format("No place of the loop stands out (of 10 000 clean series {:.0f} would show one).",
                               10000 * each.fold->false_alarm),
                   2);
}

void put_swing(Page& page, const bench::SeriesAnalysis& each) {
  if (!each.swing) return;
  constexpr double kPerTurn = 5;
  if (each.swing->too_slow)
    page.paragraph(
        fmt::format("A wheel turn takes {:.2f} s: at {:.2g} readings a second a swing with the wheels can't be "
                    "seen; {:.0f} a second would show it.",
                    each.swing->turn_seconds, each.summary.rate, std::ceil(kPerTurn / each.swing->turn_seconds + 0.5)),
        2);
  else if (each.swing->provable())
    page.paragraph(fmt::format("The amps swing with the wheels: {:.3f} A once a turn, {:.3f} A twice a turn. Look at "
                               "rods, quartering and gears.",
                               each.swing->once, each.swing->twice),
                   2);
  else
    page.paragraph("No swing with the wheels.", 2);
}

void put_mean(Page& page, const bench::SeriesSummary& s) {
  const bool numbers = page.style().all;
  page.paragraph(fmt::format("{} readings in {:.0f} s, {:.2g} a second. Mean {:.3f} A{}.", s.sound.size(), s.seconds,
                             s.rate, s.amps.mean,
                             numbers ? fmt::format(", standard uncertainty {:.4f} A, like {:.0f} independent readings",
                                                   s.amps.uncertainty, s.amps.independent)
                                     : ""),
                 2);
  const std::string figures = fmt::format("{:+.3f} A a minute", s.drift.per_minute);
  const std::string more = numbers ? fmt::format(", standard uncertainty {:.3f}", s.drift.uncertainty) : "";
  page.paragraph(s.drift.provable() ? fmt::format("Amps drift by {}{}.", figures, more)
                 : numbers          ? fmt::format("No provable drift ({}{}).", figures, more)
                                    : "No provable drift.",
                 2);
}

void put_series(Page& page, const bench::Session& session, const bench::BenchAnalysis& analysis) {
  for (const bench::SeriesAnalysis& each : analysis.series) {
    const bench::Run& run = session.runs[each.run];
    const auto& s = each.summary;
    page.heading(fmt::format("Series of readings: {}", run.name));
    put_mean(page, s);
    for (const std::size_t at : s.outliers)
      page.paragraph(fmt::format("Left out of the mean: {:.2f} A at {:.1f} s, far off its neighbours.",
                                 run.series->amps[at], run.series->time[at]),
                     2);
    for (const auto& event : s.events)
      page.paragraph(
          fmt::format("{} from {:.1f} to {:.1f} s: {:.2f} A.",
                      event.kind == bench::SeriesEvent::Kind::lost ? "Contact as good as lost" : "It bound or stood",
                      event.from, event.to, event.amps),
          2);
    put_laps(page, run, each);
    put_swing(page, each);
  }
}

}  // namespace

std::string scale_bar(double value, double from, double to, double healthy, double low, double high,
                      std::size_t width) {
  const auto cell = [&](double x) {
    const double part = (x - low) / (high - low);
    return static_cast<std::size_t>(std::clamp(part, 0.0, 1.0) * static_cast<double>(width - 1) + 0.5);
  };
  std::string line(width, '.');
  for (std::size_t i = cell(from); i <= cell(to); ++i) line[i] = '-';
  line[cell(healthy)] = '|';
  line[cell(value)] = value < low ? '<' : value > high ? '>' : '#';
  return "[" + line + "]";
}

std::string drive_sentence(const DriveAnalysis& drive) {
  if (!drive.result.indexes) return capital(drive.result.refused) + ".";
  const Indexes& indexes = *drive.result.indexes;
  if (indexes.contradiction)
    return "These readings and the healthy ones do not belong together: no fault makes such a change. Look at what "
           "else "
           "changed: cars, loop, supply, meter, or the locomotive itself.";
  if (indexes.explanations.empty())
    return "Without healthy figures these stand alone: compare them with another one of the kind.";
  const Explanation& best = indexes.explanations.front();
  const auto likely = indexes.likely();
  if (best.count() == 0)
    return fmt::format("Most likely nothing changed that these readings can prove ({}).", percent(best.chance));
  if (likely.size() == 1) {
    const double chance = best.chance;
    std::string text =
        fmt::format("{}{} ({}).", chance >= kClear ? "" : "Probably ", explanation_text(best), percent(chance));
    if (chance < kClear && indexes.explanations.size() > 1)
      text += fmt::format(" Or {} ({}). {}", explanation_text(indexes.explanations[1]),
                          percent(indexes.explanations[1].chance), next_reading(indexes));
    return capital(text);
  }
  std::string text = "Open between ";
  for (std::size_t i = 0; i < likely.size(); ++i)
    text += fmt::format("{}{} ({})",
                        i == 0                   ? ""
                        : i + 1 == likely.size() ? " or "
                                                 : ", ",
                        explanation_text(*likely[i]), percent(likely[i]->chance));
  return text + ". " + next_reading(indexes);
}

void put_analysis(Page& page, const bench::Session& session, const bench::BenchAnalysis& analysis) {
  put_cautions(page, analysis);
  if (!analysis.drives.empty()) page.heading("What volts, amps and laps say of the drive");
  for (const DriveAnalysis& drive : analysis.drives) {
    page.paragraph(drive.runs + ", " + drive.words, 2, 0, Ink::bold);
    const bool to_itself =
        drive.against == bench::Against::other_direction || drive.against == bench::Against::first_minutes;
    if (drive.result.indexes) put_indexes(page, *drive.result.indexes, !to_itself);
    page.paragraph(drive_sentence(drive), 4);
  }
  put_losses(page, analysis);
  put_warmth(page, analysis);
  put_series(page, session, analysis);
  if (!analysis.notes.empty()) page.blank();
  for (const std::string& note : analysis.notes) page.paragraph(note, 0, 2, Ink::dim);
}

bool put_analysis_in_short(Page& page, const bench::BenchAnalysis& analysis) {
  const std::size_t before = page.text().size();
  put_cautions(page, analysis);
  for (const DriveAnalysis& drive : analysis.drives) {
    if (drive.against == bench::Against::limits) continue;  // too rough to stand beside a verdict
    if (!drive.result.indexes || !worth_a_line(*drive.result.indexes)) continue;
    const Explanation& best = drive.result.indexes->explanations.front();
    const bool called = drive.result.indexes->likely().size() == 1;
    const bool plain = drive.against == bench::Against::healthy || drive.against == bench::Against::usual;
    page.ends(fmt::format("{}{}: {}{}", drive.runs, plain ? "" : " " + drive.words, called ? "" : "perhaps ",
                          explanation_text(best)),
              percent(best.chance), 2);
  }
  for (const bench::SeriesAnalysis& each : analysis.series)
    if (each.fold && !each.fold->spots.empty())
      page.paragraph(where_text(each.fold->spots.front(), each.laps->found, std::nullopt), 2, 2);
  return page.text().size() > before;
}

}  // namespace wheeltapper::report
