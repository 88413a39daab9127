#include "engine/report/chart.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/input/problem.hpp"

namespace wheeltapper::report {
namespace {

constexpr double kWidth = 640;
constexpr double kLeft = 100;
constexpr double kRight = 620;

struct Axis {
  double low, high;
  double at(double value) const { return kLeft + (value - low) / (high - low) * (kRight - kLeft); }
};

Axis axis_of(const Record::Verdict& verdict) {
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  const auto take = [&](double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  };
  for (const auto* reading : {&verdict.reading_before, &verdict.reading_after})
    if (*reading) {
      take((*reading)->value() - 2.5 * (*reading)->uncertainty());
      take((*reading)->value() + 2.5 * (*reading)->uncertainty());
    }
  if (verdict.limits.at_least) take(*verdict.limits.at_least);
  if (verdict.limits.at_most) take(*verdict.limits.at_most);
  const double margin = 0.12 * std::max(high - low, 1e-6);
  return {low - margin, high + margin};
}

std::string line(double x1, double y1, double x2, double y2, std::string_view style) {
  return fmt::format("<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" {}/>", x1, y1, x2, y2, style);
}

std::string words(double x, double y, std::string_view text, std::string_view anchor = "start",
                  std::string_view more = "") {
  return fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\" {}>{}</text>", x, y, anchor, more,
                     escaped(text));
}

std::string reading_mark(const measure::Measurement& reading, const Axis& axis, double y, bool filled) {
  const double x = axis.at(reading.value());
  const double low = axis.at(reading.value() - 2 * reading.uncertainty());
  const double high = axis.at(reading.value() + 2 * reading.uncertainty());
  std::string svg = line(low, y, high, y, "stroke=\"black\" stroke-width=\"2.5\"");
  for (const double end : {low, high}) svg += line(end, y - 7, end, y + 7, "stroke=\"black\" stroke-width=\"2.5\"");
  return svg +
         fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"7\" stroke=\"black\" stroke-width=\"2.5\" fill=\"{}\"/>",
                     x, y, filled ? "black" : "white");
}

/// What is allowed, shaded.
std::string allowed_side(const measure::Limits& limits, const Axis& axis, double height) {
  const double from = limits.at_least ? axis.at(*limits.at_least) : kLeft;
  const double to = limits.at_most ? axis.at(*limits.at_most) : kRight;
  return fmt::format("<rect x=\"{:.1f}\" y=\"16\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"#e4e4e4\"/>", from,
                     std::max(0.0, to - from), height);
}

std::string limit_lines(const measure::Limits& limits, const Axis& axis, double height) {
  std::string svg;
  for (const auto* bound : {&limits.at_least, &limits.at_most})
    if (*bound) {
      const double x = axis.at(**bound);
      svg += line(x, 12, x, 16 + height, "stroke=\"black\" stroke-width=\"3\" stroke-dasharray=\"9 5\"");
      const std::string_view side = bound == &limits.at_least ? "at least " : "at most ";
      svg += words(std::clamp(x, kLeft + 60, kRight - 60), height + 36,
                   fmt::format("{}{:.3g} {}", side, **bound, limits.unit.shown), "middle");
    }
  return svg;
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : input::harmless(text)) switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  return out;
}

std::string limit_chart(const Record::Verdict& verdict) {
  if (!verdict.reading_before && !verdict.reading_after) return {};
  const bool both = verdict.reading_before && verdict.reading_after;
  const double height = both ? 76 : 44;
  const Axis axis = axis_of(verdict);
  std::string label = verdict.what + ", " + verdict.allowed;
  if (verdict.reading_before) label += "; as it came " + verdict.before;
  if (verdict.reading_after) label += "; at the end " + verdict.after;
  std::string svg = fmt::format("<svg viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" aria-label=\"{}\">", kWidth,
                                height + 44, escaped(label));
  svg += allowed_side(verdict.limits, axis, height);
  svg += limit_lines(verdict.limits, axis, height);
  double y = 38;
  if (verdict.reading_before) {
    svg += words(4, y + 6, "came") + reading_mark(*verdict.reading_before, axis, y, false);
    y += 34;
  }
  if (verdict.reading_after) svg += words(4, y + 6, "end") + reading_mark(*verdict.reading_after, axis, y, true);
  return svg + "</svg>";
}

std::string ranking_bars(const Record::Rank& rank) {
  const bool both = rank.now > 0;
  std::string svg =
      fmt::format("<svg viewBox=\"0 0 {:.0f} {}\" role=\"img\" aria-label=\"{}: came {}{}\">", kWidth, both ? 44 : 22,
                  escaped(rank.name), percent(rank.then), both ? ", end " + percent(rank.now) : "");
  svg += fmt::format(
      "<rect x=\"1.5\" y=\"2\" width=\"{:.1f}\" height=\"16\" fill=\"white\" stroke=\"black\" stroke-width=\"2.5\"/>",
      std::max(3.0, (kWidth - 4) * rank.then));
  if (both)
    svg += fmt::format("<rect x=\"1.5\" y=\"24\" width=\"{:.1f}\" height=\"16\" fill=\"black\"/>",
                       std::max(3.0, (kWidth - 4) * rank.now));
  return svg + "</svg>";
}

}  // namespace wheeltapper::report
