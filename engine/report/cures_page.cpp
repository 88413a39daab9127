#include "engine/report/cures_page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/input/csv.hpp"

namespace wheeltapper::report {
namespace {

using statistics::CureRow;
using statistics::CuresOf;
using By = CuresOf::By;

std::string of_what(const catalogue::Catalogue& catalogue, const CuresOf& of) {
  switch (of.by) {
    case By::finding:
      if (const auto* finding = catalogue.finding(of.id))
        return fmt::format("What cured \"{}\" ({})", finding->name, of.id);
      break;
    case By::cause:
      if (const auto* cause = catalogue.cause(of.id)) return fmt::format("What cured \"{}\" ({})", cause->name, of.id);
      break;
    case By::locomotive:
      return fmt::format("What cured {}", of.id);
    case By::everything:
      return "What cured, of all closed jobs";
  }
  return "What cured " + of.id;
}

std::string range(const measure::Interval& interval) {
  return fmt::format("{:.0f} to {:.0f} %", 100 * interval.low, 100 * interval.high);
}

void put_row(Page& page, const catalogue::Catalogue& catalogue, const CureRow& row) {
  const auto* repair = catalogue.repair(row.repair);
  const std::string rate = row.tried == 0 ? "no retest" : fmt::format("{} of {} cured", row.cured, row.tried);
  page.ends_with(repair == nullptr ? row.repair : repair->name, fmt::format(" ({})", row.repair), rate, 2, Ink::bold);
  std::string more;
  if (row.tried > 0)
    more = fmt::format("{:.0f} %, 95 %: {} (Wilson); with what is known beforehand {:.0f} %, {}.",
                       100.0 * static_cast<double>(row.cured) / static_cast<double>(row.tried), range(row.wilson),
                       100 * row.beta.mean, range(row.beta.interval));
  if (row.done > row.tried) more += fmt::format(" {} more without a retest.", row.done - row.tried);
  if (row.median_minutes) more += fmt::format(" Median {:.0f} min.", *row.median_minutes);
  const auto& lasting = row.lasting;
  if (lasting.followed > 0)
    more +=
        fmt::format(" Came back within {:.0f} days: {} of {}.", statistics::kSoon, lasting.came_back, lasting.followed);
  if (lasting.holds)
    more += fmt::format(" Holds {:.0f} days with chance {} (standard error {:.0f} %).", statistics::kSoon,
                        percent(*lasting.holds), 100 * *lasting.error);
  page.paragraph(more, 6);
}

std::string_view by_text(By by) {
  return by == By::finding ? "finding" : by == By::cause ? "cause" : by == By::locomotive ? "locomotive" : "everything";
}

}  // namespace

std::string cures_text(const catalogue::Catalogue& catalogue, const CuresOf& of, const std::vector<CureRow>& rows,
                       const Style& style) {
  Page page(style);
  page.paragraph(of_what(catalogue, of), 0, 0, Ink::bold);
  if (rows.empty()) page.paragraph("No closed job has a repair for it yet.", 2);
  const std::size_t most = style.all ? rows.size() : std::min<std::size_t>(rows.size(), 12);
  for (std::size_t i = 0; i < most; ++i) put_row(page, catalogue, rows[i]);
  if (most < rows.size()) page.paragraph(fmt::format("{} more: --all.", rows.size() - most), 2);
  if (!rows.empty()) {
    page.blank();
    page.paragraph(
        "Cured: the retest after it passed. What is known beforehand is the knowledge's chance, worth four trials, for "
        "a "
        "cause; else nothing (Jeffreys). Came back: the same trouble on the same locomotive. The chance to hold is "
        "Kaplan and Meier's.",
        0, 0, Ink::dim);
  }
  return page.text();
}

nlohmann::ordered_json cures_json(const CuresOf& of, const std::vector<CureRow>& rows) {
  nlohmann::ordered_json out;
  out["of"] = by_text(of.by);
  if (of.by != By::everything) out["id"] = of.id;
  out["repairs"] = nlohmann::ordered_json::array();
  const auto optional = [](const std::optional<double>& value) {
    return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json();
  };
  for (const CureRow& row : rows)
    out["repairs"].push_back({{"repair", row.repair},
                              {"done", row.done},
                              {"tried", row.tried},
                              {"cured", row.cured},
                              {"wilson", {row.wilson.low, row.wilson.high}},
                              {"beta-mean", row.beta.mean},
                              {"beta", {row.beta.interval.low, row.beta.interval.high}},
                              {"median-minutes", optional(row.median_minutes)},
                              {"followed", row.lasting.followed},
                              {"came-back", row.lasting.came_back},
                              {"holds", optional(row.lasting.holds)},
                              {"holds-error", optional(row.lasting.error)}});
  return out;
}

std::string cures_csv(const std::vector<CureRow>& rows) {
  const auto number = [](const std::optional<double>& value) { return value ? fmt::format("{:.6g}", *value) : ""; };
  std::string text =
      "repair,done,tried,cured,wilson_low,wilson_high,beta_mean,beta_low,beta_high,median_minutes,followed,came_back,"
      "holds,holds_error\r\n";
  for (const CureRow& row : rows)
    text +=
        fmt::format("{},{},{},{},{:.6g},{:.6g},{:.6g},{:.6g},{:.6g},{},{},{},{},{}\r\n", input::csv_cell(row.repair),
                    row.done, row.tried, row.cured, row.wilson.low, row.wilson.high, row.beta.mean,
                    row.beta.interval.low, row.beta.interval.high, number(row.median_minutes), row.lasting.followed,
                    row.lasting.came_back, number(row.lasting.holds), number(row.lasting.error));
  return text;
}

}  // namespace wheeltapper::report
