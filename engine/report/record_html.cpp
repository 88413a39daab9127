#include <fmt/format.h>

#include <algorithm>

#include "engine/report/chart.hpp"
#include "engine/report/guide_page.hpp"
#include "engine/report/record.hpp"

namespace wheeltapper::report {
namespace {

// Black on white, large: read at arm's length from a bench, and printed on any printer.
constexpr std::string_view kStyle = R"css(
@page { margin: 16mm 14mm; }
* { box-sizing: border-box; }
body { font: 17px/1.45 "DejaVu Sans", Verdana, sans-serif; color: #000; background: #fff; max-width: 46rem;
  margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 0 0 .6rem; border-bottom: 4px solid #000; padding-bottom: .4rem; }
h2 { font-size: 1.2rem; margin: 1.6rem 0 .5rem; border-bottom: 2px solid #000; break-after: avoid; }
h3 { font-size: 1rem; margin: .9rem 0 .2rem; break-after: avoid; }
p { margin: .3rem 0; }
dl { display: grid; grid-template-columns: 8rem 1fr; gap: .2rem .8rem; margin: 0; }
dt { font-weight: bold; }
dd { margin: 0; overflow-wrap: anywhere; }
.end { display: inline-block; border: 3px solid #000; padding: .2rem .7rem; font-weight: bold; font-size: 1.2rem; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .25rem .5rem; border-bottom: 1px solid #000; }
section.run { break-inside: avoid; }
section.step { border-left: 5px solid #000; padding-left: .8rem; margin: .9rem 0; break-inside: avoid; }
section.step.look { border-left-style: double; }
.caution { border: 2px solid #000; padding: .3rem .6rem; margin: .35rem 0; }
.caution b { letter-spacing: .06em; }
svg { width: 100%; height: auto; display: block; font: 16px "DejaVu Sans", Verdana, sans-serif; }
figure { margin: .4rem 0 .8rem; break-inside: avoid; }
.sign { display: grid; grid-template-columns: 1fr 1fr; gap: 2.4rem 1.5rem; margin-top: 2.6rem; break-inside: avoid; }
.sign div { border-top: 2px solid #000; padding-top: .2rem; }
.small { font-size: .85rem; }
@media (max-width: 34rem) { body { padding: .6rem; } dl { grid-template-columns: 1fr; gap: 0; } dd { margin-bottom: .4rem; }
  .sign { grid-template-columns: 1fr; } th, td { padding: .25rem .2rem; } svg { font-size: 22px; } }
@media print { body { padding: 0; font-size: 12.5pt; } svg { max-width: 15cm; } .small { font-size: 10pt; } }
)css";

void put(std::string& html, std::string_view label, const std::string& text) {
  if (!text.empty()) html += fmt::format("<dt>{}</dt><dd>{}</dd>\n", label, escaped(text));
}

std::string moment(const std::string& at) {
  return at.empty() ? at : at.substr(0, 10) + " " + at.substr(11, 5) + " UTC";
}

void put_head(std::string& html, const Record& record) {
  html +=
      fmt::format("<h1>Repair record{}{}</h1>\n", record.locomotive.empty() ? "" : ": ", escaped(record.locomotive));
  html += fmt::format("<p class=\"end\">{}</p>\n", escaped(record.closed.empty() ? "open" : record.outcome));
  if (!record.retest.empty()) html += fmt::format("<p><b>{}</b></p>\n", escaped(record.retest));
  for (const std::string& doubt : record.doubts)
    html += fmt::format("<p class=\"caution\"><b>{}</b></p>\n", escaped(doubt));
  html += "<dl>\n";
  put(html, "Job", record.job);
  put(html, "Title", record.title);
  put(html, "Owner", record.owner);
  put(html, "Complaint", record.complaint);
  put(html, "Opened", moment(record.opened));
  put(html, "Closed", moment(record.closed));
  for (const std::string& cause : record.causes) put(html, "It was", cause);
  html += "</dl>\n";
}

void put_runs(std::string& html, const Record& record) {
  if (record.verdicts.empty()) return;
  html += "<h2>The load test</h2>\n";
  for (const auto& each : record.verdicts) {
    html += fmt::format("<section class=\"run\"><h3>{} <span class=\"small\">({})</span></h3>\n", escaped(each.what),
                        escaped(each.allowed));
    std::string line =
        fmt::format("As it came: {}, <b>{}</b>.", escaped(each.before.empty() ? "no reading" : each.before),
                    escaped(each.call_before));
    if (!each.call_after.empty())
      line +=
          fmt::format(" At the end: {}, <b>{}</b>{}.", escaped(each.after.empty() ? "no reading" : each.after),
                      escaped(each.call_after), each.change.empty() ? "" : fmt::format("; {}", escaped(each.change)));
    html += "<p>" + line + "</p>\n";
    if (const std::string chart = limit_chart(each); !chart.empty()) html += "<figure>" + chart + "</figure>\n";
    html += "</section>\n";
  }
  html += "<p class=\"small\">Grey: allowed. Bars: 95 %. Ring: as it came; disc: at the end.</p>\n";
}

void put_answers(std::string& html, const Record& record) {
  if (record.answers.empty()) return;
  html += "<h2>Reported symptoms</h2>\n<table>\n";
  for (const auto& [question, answer] : record.answers)
    html += fmt::format("<tr><td>{}</td><td><b>{}</b></td></tr>\n", escaped(question), escaped(answer));
  html += "</table>\n";
}

void put_done(std::string& html, const Record& record) {
  if (record.done.empty()) return;
  html += "<h2>What was done</h2>\n";
  for (const auto& each : record.done) {
    html += fmt::format("<section class=\"step{}\">\n<h3>{}{} <span class=\"small\">({}{}{})</span></h3>\n",
                        each.repair ? "" : " look", each.repair ? "Repair: " : "Check: ", escaped(each.what),
                        escaped(moment(each.when)), each.minutes.empty() ? "" : ", ", escaped(each.minutes));
    for (const auto& [signal, text] : each.cautions)
      html += fmt::format("<p class=\"caution\"><b>{}</b> {}</p>\n", escaped(signal), escaped(text));
    html +=
        fmt::format("<p>{} <b>{}</b>.</p>\n</section>\n", each.repair ? "Then" : "It showed:", escaped(each.result));
  }
}

void put_signatures(std::string& html) {
  html += "<div class=\"sign\"><div>Technician</div><div>Date</div><div>Checked by</div><div>Date</div></div>\n";
}

}  // namespace

std::string record_html(const Record& record) {
  std::string html =
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n";
  html += fmt::format("<title>Repair record {} {}</title>\n<style>{}</style>\n</head>\n<body>\n", short_id(record.job),
                      escaped(record.locomotive), kStyle);
  put_head(html, record);
  put_runs(html, record);
  put_answers(html, record);
  if (!record.ranking.empty()) {
    html += "<h2>What was probably wrong</h2>\n";
    for (const auto& each : record.ranking)
      html += fmt::format("<figure><figcaption><b>{}</b>: came {}{}</figcaption>{}</figure>\n", escaped(each.name),
                          percent(each.then), each.now > 0 ? ", end " + percent(each.now) : "", ranking_bars(each));
    html +=
        "<p class=\"small\">Chances before the first repair, outlined, and at the end, filled. After a passed retest "
        "none is "
        "left.</p>\n";
  }
  put_done(html, record);
  if (!record.notes.empty()) html += "<h2>Notes</h2>\n";
  for (const std::string& note : record.notes) html += fmt::format("<p>{}</p>\n", escaped(note));
  put_signatures(html);
  return html + "</body>\n</html>\n";
}

}  // namespace wheeltapper::report
