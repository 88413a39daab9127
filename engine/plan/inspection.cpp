#include "engine/plan/inspection.hpp"

#include <algorithm>

namespace wheeltapper::plan {
namespace {

double shown(const ResultOption& result, const ResultOption::Silent& cause) {
  return 1 - cause.factor * result.silent_alone;
}

/// A result that shows a cause.
struct Shown {
  std::size_t check;
  std::size_t result;  // index into Inspections::shows
  double chance;
};

struct Inspections {
  std::vector<double> shows;  // by result of all checks, one after the other: chance that it shows at all
  std::vector<double> quiet;  // and that it stays away when no cause is there
  std::vector<std::vector<Shown>> by_cause;
};

Inspections inspections_of(const std::vector<CheckOption>& checks, const std::vector<double>& chance) {
  Inspections inspections;
  inspections.by_cause.resize(chance.size());
  for (std::size_t c = 0; c < checks.size(); ++c)
    for (const ResultOption& result : checks[c].results) {
      double shows = 1 - result.silent_alone;
      for (const auto& each : result.silent) {
        shows += result.silent_alone * chance[each.cause] * (1 - each.factor);
        if (shown(result, each) >= kShows)
          inspections.by_cause[each.cause].push_back({c, inspections.shows.size(), shown(result, each)});
      }
      inspections.shows.push_back(std::min(1.0, shows));
      inspections.quiet.push_back(result.silent_alone);
    }
  return inspections;
}

/// A check as an inspection for one repair: by those of its results that show a cause of the repair.
struct Candidate {
  std::size_t check = 0;
  double silent = 1;  // chance that none of those results shows
  double quiet = 1;   // the same when no cause is there
  double cured = 0;   // chance that one shows a cause that is there and the repair then cures it
};

/// The inspections for a repair, weighed.
class Finds {
 public:
  Finds(const Inspections& inspections, const std::vector<CheckOption>& checks, const std::vector<double>& chance)
      : inspections_(inspections),
        checks_(checks),
        chance_(chance),
        at_(checks.size(), kNone),
        taken_(inspections.shows.size(), false) {}

  /// The inspection with the most chance of a cure for a minute, if it beats doing the repair at once.
  std::optional<Candidate> cheaper(const RepairOption& repair) {
    const double all = add_up(repair);
    return best(all / repair.cost, [&](const Candidate& inspection) {
      return inspection.cured / (checks_[inspection.check].cost + (1 - inspection.silent) * repair.cost);
    });
  }

  /// The inspection that tells best, for its minutes, whether the repair is needed: by the difference between the
  /// chances that it shows when it is and when nothing is there.
  std::optional<Candidate> telling(const RepairOption& repair) {
    constexpr double kLeast = 1e-9;
    const double all = std::max(add_up(repair), kLeast);
    return best(0, [&](const Candidate& inspection) {
      return (inspection.cured / all - (1 - inspection.quiet)) / checks_[inspection.check].cost;
    });
  }

 private:
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  Candidate& look_at(std::size_t check) {
    if (at_[check] == kNone) {
      at_[check] = found_.size();
      found_.push_back({.check = check});
      miss_.push_back(1);
    }
    return found_[at_[check]];
  }

  /// All inspections for the repair, to found_; returns what it cures in all.
  double add_up(const RepairOption& repair) {
    found_.clear();
    miss_.clear();
    double all = 0;
    for (const auto& cure : repair.cures) {
      const double cures = chance_[cure.cause] * cure.chance;
      all += cures;
      for (const Shown& each : inspections_.by_cause[cure.cause]) {
        Candidate& inspection = look_at(each.check);
        miss_[at_[each.check]] *= 1 - each.chance;
        if (taken_[each.result]) continue;
        taken_[each.result] = true;
        results_.push_back(each.result);
        inspection.silent *= 1 - inspections_.shows[each.result];
        inspection.quiet *= inspections_.quiet[each.result];
      }
      for (std::size_t i = 0; i < found_.size(); ++i) {
        found_[i].cured += cures * (1 - miss_[i]);
        miss_[i] = 1;
      }
    }
    for (const Candidate& inspection : found_) at_[inspection.check] = kNone;
    for (const std::size_t result : results_) taken_[result] = false;
    results_.clear();
    return all;
  }

  template <typename Score>
  std::optional<Candidate> best(double most, Score&& score) const {
    std::optional<Candidate> best;
    for (const Candidate& inspection : found_) {
      const double value = score(inspection);
      if (value <= most) continue;
      most = value;
      best = inspection;
    }
    return best;
  }

  const Inspections& inspections_;
  const std::vector<CheckOption>& checks_;
  const std::vector<double>& chance_;
  std::vector<std::size_t> at_;  // by check: index into found_
  std::vector<bool> taken_;      // by result
  std::vector<std::size_t> results_;
  std::vector<Candidate> found_;
  std::vector<double> miss_;  // by found_, while one cause is added up
};

/// Chance that the check shows a cause, by all its results that are an inspection for it.
double shown_by(const CheckOption& check, std::size_t cause) {
  double silent = 1;
  for (const ResultOption& result : check.results)
    for (const auto& each : result.silent)
      if (each.cause == cause && shown(result, each) >= kShows) silent *= 1 - shown(result, each);
  return 1 - silent;
}

RepairOption looked(const RepairOption& repair, std::size_t index, const Candidate& inspection,
                    const std::vector<CheckOption>& checks, const std::vector<double>& chance) {
  RepairOption result = repair;
  double present = 0;
  for (auto& cure : result.cures) {
    cure.shown = shown_by(checks[inspection.check], cure.cause);
    cure.chance *= cure.shown;
    present += chance[cure.cause] * cure.shown;
  }
  result.inspection = {index, inspection.check, checks[inspection.check].cost,
                       std::max(0.0, 1 - inspection.silent - present)};
  return result;
}

}  // namespace

bool is_inspection(const CheckOption& check, const RepairOption& repair, const std::vector<double>& chance) {
  double all = 0;
  double found = 0;
  for (const auto& cure : repair.cures) {
    all += chance[cure.cause] * cure.chance;
    found += chance[cure.cause] * cure.chance * shown_by(check, cure.cause);
  }
  return found > 0 && found >= kLooked * all;
}

double relevance(const CheckOption& check, const std::vector<double>& chance) {
  std::vector<double> silent(chance.size(), 1.0);
  for (const ResultOption& result : check.results)
    for (const auto& each : result.silent)
      if (shown(result, each) >= kShows) silent[each.cause] *= 1 - shown(result, each);
  double shown = 0;
  for (std::size_t i = 0; i < chance.size(); ++i) shown += chance[i] * (1 - silent[i]);
  return shown;
}

double expected_cost(const RepairOption& repair, const std::vector<double>& chance) {
  if (!repair.inspection) return repair.cost;
  double shows = repair.inspection->otherwise;
  for (const auto& cure : repair.cures) shows += chance[cure.cause] * cure.shown;
  return repair.inspection->minutes + std::min(1.0, shows) * repair.cost;
}

std::vector<RepairOption> with_inspections(const std::vector<RepairOption>& repairs,
                                           const std::vector<CheckOption>& checks, const std::vector<double>& chance) {
  const Inspections inspections = inspections_of(checks, chance);
  Finds finds(inspections, checks, chance);
  std::vector<RepairOption> all = repairs;
  for (std::size_t r = 0; r < repairs.size(); ++r)
    if (const auto inspection = finds.cheaper(repairs[r]))
      all.push_back(looked(repairs[r], r, *inspection, checks, chance));
  return all;
}

std::optional<std::size_t> inspection_before(const RepairOption& repair, const std::vector<CheckOption>& checks,
                                             const std::vector<double>& chance) {
  if (repair.inspection) return repair.inspection->check;
  double needed = 0;
  for (const auto& cure : repair.cures) needed += chance[cure.cause];
  if (!repair.inspect_first || needed >= kSureEnough) return std::nullopt;
  const Inspections inspections = inspections_of(checks, chance);
  const auto best = Finds(inspections, checks, chance).telling(repair);
  if (!best) return std::nullopt;
  return best->check;
}

}  // namespace wheeltapper::plan
