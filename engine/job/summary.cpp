#include "engine/job/summary.hpp"

#include <algorithm>

#include "engine/bench/analysis.hpp"
#include "engine/job/job_case.hpp"

namespace wheeltapper::job {
namespace {

using catalogue::Catalogue;

/// A reading that leaves no uncertainty of the level, or at least of yes and no (belief::kClear); others say too little
/// for a count.
std::optional<Summary::Seen> clearly_seen(const std::string& finding, const bench::LevelChances& chances) {
  const auto likeliest = std::ranges::max_element(chances.chances);
  const auto by = Summary::Seen::By::reading;
  if (1 - *likeliest < belief::kClear)
    return Summary::Seen{finding, static_cast<std::size_t>(likeliest - chances.chances.begin()), by};
  if (chances.chances.front() < belief::kClear) return Summary::Seen{finding, std::nullopt, by};
  return std::nullopt;
}

/// In the order of trust that gather() has: check, reading, answer. One entry a finding.
void add_findings(const cases::Case& the_case, const belief::Observed& observed, const Catalogue& catalogue,
                  Summary& summary) {
  const auto has = [&](const std::string& id) {
    return std::ranges::find(summary.findings, id, &Summary::Seen::finding) != summary.findings.end();
  };
  using By = Summary::Seen::By;
  for (const belief::Outcome& outcome : the_case.observations.outcomes) {
    const auto& results = catalogue.check(outcome.check)->results;
    const auto result = std::ranges::find(results, outcome.result, &catalogue::Result::id);
    if (result->finding.empty()) {
      summary.results.push_back({outcome.check, outcome.result, outcome.seen});
    } else if (!has(result->finding)) {
      summary.findings.push_back(
          {result->finding, outcome.seen ? std::nullopt : std::optional<std::size_t>(0), By::check});
    }
  }
  for (const catalogue::Finding& finding : catalogue.items().findings) {
    const auto* chances = observed.of(finding.id);
    if (chances == nullptr || has(finding.id)) continue;
    if (std::ranges::find(finding.families, the_case.family) == finding.families.end()) continue;
    if (auto seen = clearly_seen(finding.id, *chances)) summary.findings.push_back(std::move(*seen));
  }
  for (const belief::Answer& answer : the_case.observations.answers)
    if (!has(answer.finding)) summary.findings.push_back({answer.finding, answer.level, By::answer});
}

}  // namespace

std::optional<Summary> summarise(const Job& job, const Catalogue& catalogue) {
  const cases::Case the_case = case_of(job, 0, catalogue);  // also of an open one: whether it can be read
  if (!job.closing) return std::nullopt;
  const belief::Observed observed(catalogue, the_case.session, bench::analyse(the_case.session).figures);
  Summary summary;
  summary.job = job.id;
  summary.locomotive = job.locomotive();
  summary.family = the_case.family;
  summary.opened = job.opened_at();
  summary.closed = job.closing->at;
  summary.outcome = job.closing->outcome;
  summary.technician = the_case.observations.observer == belief::Observer::technician;
  summary.causes = job.closing->causes;
  summary.unlisted = job.closing->unlisted;
  summary.contexts = the_case.background.contexts;
  summary.contexts_not = the_case.background.contexts_not;
  add_findings(the_case, observed, catalogue, summary);
  const auto add_minutes = [&](const std::optional<double>& minutes) {
    if (minutes) summary.minutes = summary.minutes.value_or(0) + *minutes;
  };
  for (const Job::Checked& done : job.checks) add_minutes(done.minutes);
  for (std::size_t r = 0; r < job.repairs.size(); ++r) {
    add_minutes(job.repairs[r].minutes);
    summary.fixes.push_back({job.repairs[r].repair, job.repairs[r].minutes, retest_of(job, r + 1, catalogue)});
  }
  summary.proven =
      summary.outcome == Outcome::cured && !summary.fixes.empty() && summary.fixes.back().retest == Retest::passed;
  return summary;
}

}  // namespace wheeltapper::job
