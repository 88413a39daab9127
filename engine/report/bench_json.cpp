#include <cmath>

#include "engine/report/bench_page.hpp"

namespace wheeltapper::report {
namespace {

using json = nlohmann::ordered_json;

json estimate_json(const bench::Estimate& e) {
  return {{"value", e.value}, {"uncertainty", e.uncertainty}, {"low", e.low}, {"high", e.high}};
}

std::string_view way_word(bench::Indexes::Way way) {
  switch (way) {
    case bench::Indexes::Way::line:
      return "line";
    case bench::Indexes::Way::line_to_base:
      return "line-to-base";
    case bench::Indexes::Way::run_to_base:
      return "run-to-base";
  }
  return "";
}

std::string_view against_word(bench::Against against) {
  constexpr std::string_view kWords[] = {"nothing", "healthy", "usual", "limits", "other-direction", "first-minutes"};
  return kWords[static_cast<std::size_t>(against)];
}

constexpr std::string_view kIndexWords[] = {"drag", "ohms", "flux"};

json explanation_json(const bench::Explanation& each) {
  json out{{"chance", each.chance}, {"misfit", each.misfit}, {"differs", json::object()}};
  for (std::size_t i = 0; i < 3; ++i)
    if (each.differs[i]) out["differs"][std::string(kIndexWords[i])] = estimate_json(each.estimate[i]);
  return out;
}

json indexes_json(const bench::Indexes& indexes) {
  json out{{"way", way_word(indexes.way)}, {"sampled", indexes.sampled}, {"contradiction", indexes.contradiction}};
  if (indexes.resistance) {
    out["resistance"] = estimate_json(*indexes.resistance);
    out["flux-figure"] = estimate_json(*indexes.flux_figure);
    out["resistance-flux-correlation"] = indexes.resistance_flux_correlation;
  }
  if (indexes.apart) {
    json apart;
    for (std::size_t i = 0; i < 3; ++i) apart[std::string(kIndexWords[i])] = estimate_json((*indexes.apart)[i]);
    apart["correlation"] = indexes.correlation;
    out["apart"] = std::move(apart);
  }
  const auto put = [&](const char* key, const std::optional<bench::Estimate>& estimate) {
    if (estimate) out[key] = estimate_json(*estimate);
  };
  put("parallel-amps", indexes.parallel);
  put("parallel-amps-rise", indexes.parallel_rise);
  put("drive-drag", indexes.drive_drag);
  put("train-drag", indexes.train_drag);
  json explanations = json::array();
  for (const auto& each : indexes.explanations) explanations.push_back(explanation_json(each));
  out["explanations"] = std::move(explanations);
  return out;
}

json drive_json(const bench::DriveAnalysis& drive) {
  json out{{"runs", drive.runs},
           {"title", drive.runs + ", " + drive.words},
           {"direction", bench::name(drive.direction)},
           {"against", against_word(drive.against)},
           {"says", drive_sentence(drive)}};
  if (drive.result.indexes)
    out["indexes"] = indexes_json(*drive.result.indexes);
  else
    out["refused"] = drive.result.refused;
  return out;
}

json events_json(const bench::SeriesSummary& summary) {
  json events = json::array();
  for (const auto& event : summary.events)
    events.push_back({{"kind", event.kind == bench::SeriesEvent::Kind::lost ? "lost" : "surge"},
                      {"from", event.from},
                      {"to", event.to},
                      {"amps", event.amps}});
  return events;
}

json fold_json(const bench::Fold& fold) {
  json spots = json::array();
  for (const auto& spot : fold.spots)
    spots.push_back({{"place", spot.place}, {"amps", spot.amps}, {"share", spot.share}, {"chance", spot.chance}});
  json course = json::array();
  for (const double amps : fold.course) course.push_back(std::isfinite(amps) ? json(amps) : json());
  return {{"course", std::move(course)}, {"spots", std::move(spots)}, {"false-alarm", fold.false_alarm}};
}

json series_json(const bench::SeriesAnalysis& each) {
  const auto& s = each.summary;
  json out{{"run", each.run},
           {"readings", s.sound.size()},
           {"seconds", s.seconds},
           {"rate", s.rate},
           {"mean", s.amps.mean},
           {"uncertainty", s.amps.uncertainty},
           {"independent", s.amps.independent},
           {"drift-a-minute", s.drift.per_minute},
           {"drift-uncertainty", s.drift.uncertainty},
           {"outliers", s.outliers},
           {"events", events_json(s)}};
  if (each.laps)
    out["laps"] = {{"marks", each.laps->at}, {"found", each.laps->found}, {"seconds", each.laps->lap_seconds}};
  if (each.fold) out["round-the-loop"] = fold_json(*each.fold);
  if (each.swing)
    out["wheel-turn"] = {{"seconds", each.swing->turn_seconds},
                         {"too-slow", each.swing->too_slow},
                         {"once", each.swing->once},
                         {"twice", each.swing->twice},
                         {"chance-once", each.swing->chance_once},
                         {"chance-twice", each.swing->chance_twice}};
  return out;
}

json figures_json(const std::vector<bench::Figure>& all) {
  json figures = json::array();
  for (const auto& figure : all) {
    json parts = json::array();
    for (const auto& part : figure.parts)
      parts.push_back({{"weight", part.weight}, {"value", part.value}, {"uncertainty", part.uncertainty}});
    figures.push_back({{"id", figure.id}, {"says", figure.said}, {"parts", std::move(parts)}});
  }
  return figures;
}

}  // namespace

json analysis_json(const bench::BenchAnalysis& analysis) {
  json drives = json::array();
  for (const auto& each : analysis.drives) drives.push_back(drive_json(each));
  json losses = json::array();
  for (const auto& each : analysis.losses)
    losses.push_back({{"what", each.what},
                      {"volts", each.volts},
                      {"uncertainty", each.uncertainty},
                      {"share", each.share},
                      {"by-sums", each.by_sums},
                      {"says", each.said}});
  json series = json::array();
  for (const auto& each : analysis.series) series.push_back(series_json(each));
  json out{{"drives", std::move(drives)}, {"losses", std::move(losses)}, {"series", std::move(series)}};
  if (analysis.winding)
    out["winding"] = {{"rise", analysis.winding->rise.value()},
                      {"uncertainty", analysis.winding->rise.uncertainty()},
                      {"celsius", analysis.winding->winding.value()},
                      {"stands", analysis.winding->stands}};
  out["figures"] = figures_json(analysis.figures);
  out["cautions"] = analysis.cautions;
  out["notes"] = analysis.notes;
  return out;
}

}  // namespace wheeltapper::report
