#include "engine/report/history_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "engine/report/common.hpp"

namespace wheeltapper::report {
namespace {

using statistics::Drift;
using statistics::History;
using statistics::PastReading;
using Key = std::tuple<std::string, bench::RunKind, bench::Direction>;

/// From the least to the most that is shown of a quantity, limits included.
struct Scale {
  double low, high;
  std::size_t cells;
  std::size_t cell(double value) const {
    const double at = (value - low) / (high - low) * static_cast<double>(cells - 1);
    return static_cast<std::size_t>(std::clamp(std::lround(at), 0L, static_cast<long>(cells) - 1));
  }
};

Scale scale_of(const std::vector<const PastReading*>& readings, std::size_t cells) {
  double low = readings.front()->value.value();
  double high = low;
  const auto take = [&](double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  };
  for (const PastReading* each : readings) {
    take(each->value.value() - 2 * each->value.uncertainty());
    take(each->value.value() + 2 * each->value.uncertainty());
    if (!each->limits) continue;
    if (each->limits->at_least) take(*each->limits->at_least);
    if (each->limits->at_most) take(*each->limits->at_most);
  }
  const double margin = std::max(1e-9, 0.05 * (high - low));
  return {low - margin, high + margin, cells};
}

std::string strip(const PastReading& reading, const Scale& scale) {
  std::string cells(scale.cells, '.');
  const double y = reading.value.value();
  const double u = reading.value.uncertainty();
  for (std::size_t c = scale.cell(y - 2 * u); c <= scale.cell(y + 2 * u); ++c) cells[c] = '-';
  if (reading.limits) {
    if (reading.limits->at_least) cells[scale.cell(*reading.limits->at_least)] = '|';
    if (reading.limits->at_most) cells[scale.cell(*reading.limits->at_most)] = '|';
  }
  cells[scale.cell(y)] = '#';
  return cells;
}

std::string title_of(const catalogue::Catalogue& catalogue, const Key& key, const measure::Unit& unit) {
  const bench::Limit limit{std::get<0>(key), std::get<1>(key), std::get<2>(key), {{}, {}, unit}, {}};
  return what_was_read(catalogue, limit, limit.direction, {});
}

void put_visits(Page& page, const History& history) {
  for (const statistics::Visit& visit : history.visits) {
    std::string end = visit.outcome ? std::string(words(*visit.outcome)) : "open";
    if (visit.outcome == job::Outcome::cured && !visit.proven) end += ", no retest";
    page.ends(fmt::format("{}  job {}  {}", visit.opened.substr(0, 10), visit.job.substr(0, 8), visit.title), end, 2);
    std::string did;
    for (const std::string& each : visit.repairs) did += (did.empty() ? "did " : ", ") + each;
    for (const std::string& each : visit.causes) did += (did.empty() ? "" : "; ") + ("it was " + each);
    if (!did.empty()) page.paragraph(did, 14);
  }
}

void put_drift(Page& page, const Drift& drift, const measure::Unit& unit) {
  const double sure = std::max(drift.rose, 1 - drift.rose);
  const std::string shown = unit.shown == "/min" ? "" : fmt::format(" {}", unit.shown);
  const std::string figures = fmt::format("{:+.3g}{} a year, 95 %: {:+.3g} to {:+.3g}, over {} visits", drift.a_year,
                                          shown, drift.a_year - drift.coverage * drift.uncertainty,
                                          drift.a_year + drift.coverage * drift.uncertainty, drift.visits);
  if (sure >= 0.95)
    page.paragraph(fmt::format("DRIFT: it {} from visit to visit, as it leaves the bench: {} ({}).",
                               drift.a_year > 0 ? "rises" : "falls", figures, percent(sure)),
                   4, 0, Ink::care);
  else
    page.paragraph(fmt::format("No provable drift as it leaves the bench: {}.", figures), 4);
}

}  // namespace

std::string history_text(const catalogue::Catalogue& catalogue, const History& history, const Style& style) {
  Page page(style);
  page.paragraph(
      fmt::format("{}: {} visit{}", history.locomotive, history.visits.size(), history.visits.size() == 1 ? "" : "s"),
      0, 0, Ink::bold);
  put_visits(page, history);
  std::map<Key, std::vector<const PastReading*>> groups;
  for (const PastReading& each : history.readings) groups[{each.quantity, each.run, each.direction}].push_back(&each);
  for (auto& [key, readings] : groups) {
    const bool limited =
        std::ranges::any_of(readings, [](const PastReading* each) { return each->limits.has_value(); });
    if (!limited && !style.all) continue;
    page.heading(title_of(catalogue, key, readings.front()->value.unit()));
    const std::size_t cells = style.width > 70 ? 30 : 14;
    const Scale scale = scale_of(readings, cells);
    for (const PastReading* each : readings) {
      const std::string value = measure::show_with_uncertainty(each->value);
      page.verbatim(fmt::format("{} {:<5} {}  {}", each->at.substr(0, 10), each->left ? "left" : "came",
                                strip(*each, scale), value),
                    2);
    }
    for (const Drift& drift : history.drifts)
      if (Key{drift.quantity, drift.run, drift.direction} == key)
        put_drift(page, drift, readings.front()->value.unit());
  }
  if (!groups.empty()) {
    page.blank();
    page.paragraph("# the reading, - its 95 %, | the limit; came and left: before and after the repairs of a visit.", 0,
                   0, Ink::dim);
  }
  return page.text();
}

namespace {

using nlohmann::ordered_json;

ordered_json one_json(const statistics::Visit& visit) {
  return {{"job", visit.job},
          {"opened", visit.opened},
          {"closed", visit.closed},
          {"title", visit.title},
          {"outcome", visit.outcome ? nlohmann::json(name(*visit.outcome)) : nlohmann::json()},
          {"proven", visit.proven},
          {"causes", visit.causes},
          {"repairs", visit.repairs}};
}

ordered_json one_json(const PastReading& each) {
  ordered_json reading{{"job", each.job},
                       {"at", each.at},
                       {"left", each.left},
                       {"quantity", each.quantity},
                       {"run", bench::name(each.run)},
                       {"direction", bench::name(each.direction)},
                       {"value", each.value.value()},
                       {"uncertainty", each.value.uncertainty()},
                       {"unit", each.value.unit().code}};
  if (each.limits && each.limits->at_least) reading["at-least"] = *each.limits->at_least;
  if (each.limits && each.limits->at_most) reading["at-most"] = *each.limits->at_most;
  return reading;
}

ordered_json one_json(const Drift& each) {
  return {{"quantity", each.quantity}, {"run", bench::name(each.run)},    {"direction", bench::name(each.direction)},
          {"a-year", each.a_year},     {"uncertainty", each.uncertainty}, {"rose", each.rose},
          {"visits", each.visits}};
}

ordered_json list_json(const auto& all) {
  ordered_json list = ordered_json::array();
  for (const auto& each : all) list.push_back(one_json(each));
  return list;
}

}  // namespace

ordered_json history_json(const History& history) {
  ordered_json out;
  out["locomotive"] = history.locomotive;
  out["visits"] = list_json(history.visits);
  out["readings"] = list_json(history.readings);
  out["drifts"] = list_json(history.drifts);
  return out;
}

}  // namespace wheeltapper::report
