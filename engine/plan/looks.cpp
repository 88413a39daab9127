#include <algorithm>

#include "engine/plan/next_step.hpp"

namespace wheeltapper::plan {
namespace {

double shown(const ResultOption& result, const ResultOption::Silent& cause) {
  return 1 - cause.factor * result.silent_alone;
}

/// A result of a check, as a look.
struct Look {
  std::size_t check;
  double shows;  // chance that it shows at all
};

struct Looks {
  struct Shown {
    std::size_t look;  // index into `all`
    double chance;
  };
  std::vector<Look> all;
  std::vector<std::vector<Shown>> by_cause;
};

Looks looks_of(const std::vector<CheckOption>& checks, const std::vector<double>& chance) {
  Looks looks;
  looks.by_cause.resize(chance.size());
  for (std::size_t c = 0; c < checks.size(); ++c)
    for (const ResultOption& result : checks[c].results) {
      double shows = 1 - result.silent_alone;
      for (const auto& each : result.silent) {
        shows += result.silent_alone * chance[each.cause] * (1 - each.factor);
        if (shown(result, each) >= kShows)
          looks.by_cause[each.cause].push_back({looks.all.size(), shown(result, each)});
      }
      looks.all.push_back({c, std::min(1.0, shows)});
    }
  return looks;
}

/// Weighs the looks for a repair.
class Finds {
 public:
  Finds(const Looks& looks, const std::vector<double>& chance) : looks_(looks), chance_(chance), cured_(looks.all.size()) {}

  /// The look with the most chance of a cure for a minute, if it beats doing the repair at once.
  std::optional<std::size_t> cheaper(const RepairOption& repair, const std::vector<CheckOption>& checks) {
    const double all = add_up(repair);
    return best(all / repair.cost, [&](const Look& look, double cured) {
      return cured / (checks[look.check].cost + look.shows * repair.cost);
    });
  }

  /// The look that tells best, for its minutes, whether the repair is needed: by the difference between the chances that
  /// it shows when it is and when it is not.
  std::optional<std::size_t> telling(const RepairOption& repair, const std::vector<CheckOption>& checks) {
    constexpr double kLeast = 1e-9;
    const double all = std::clamp(add_up(repair), kLeast, 1 - kLeast);
    return best(0, [&](const Look& look, double cured) {
      const double needed = cured / all;
      const double not_needed = (look.shows - cured) / (1 - all);
      return (needed - not_needed) / checks[look.check].cost;
    });
  }

 private:
  /// What the looks find of what the repair cures, to cured_; returns what it cures in all.
  double add_up(const RepairOption& repair) {
    double all = 0;
    for (const auto& cure : repair.cures) {
      all += chance_[cure.cause] * cure.chance;
      for (const auto& shown : looks_.by_cause[cure.cause]) {
        if (cured_[shown.look] == 0) touched_.push_back(shown.look);
        cured_[shown.look] += chance_[cure.cause] * cure.chance * shown.chance;
      }
    }
    return all;
  }

  template <typename Score>
  std::optional<std::size_t> best(double most, Score&& score) {
    std::optional<std::size_t> best;
    for (const std::size_t at : touched_) {
      const double value = score(looks_.all[at], cured_[at]);
      if (value > most) {
        most = value;
        best = at;
      }
      cured_[at] = 0;
    }
    touched_.clear();
    return best;
  }

  const Looks& looks_;
  const std::vector<double>& chance_;
  std::vector<double> cured_;
  std::vector<std::size_t> touched_;
};

RepairOption looked(const RepairOption& repair, std::size_t index, std::size_t at, const Looks& looks,
                    const std::vector<CheckOption>& checks, const std::vector<double>& chance) {
  const Look& look = looks.all[at];
  RepairOption result = repair;
  double present = 0;
  for (auto& cure : result.cures) {
    const auto& shown = looks.by_cause[cure.cause];
    const auto found = std::ranges::find(shown, at, &Looks::Shown::look);
    cure.shown = found == shown.end() ? 0 : found->chance;
    cure.chance *= cure.shown;
    present += chance[cure.cause] * cure.shown;
  }
  result.look = {index, look.check, checks[look.check].cost, std::max(0.0, look.shows - present)};
  return result;
}

}  // namespace

bool is_look(const CheckOption& check, const RepairOption& repair, const std::vector<double>& chance) {
  double all = 0;
  double found = 0;
  for (const auto& cure : repair.cures) {
    double silent = 1;
    for (const ResultOption& result : check.results)
      for (const auto& each : result.silent)
        if (each.cause == cure.cause && shown(result, each) >= kShows) silent *= 1 - shown(result, each);
    all += chance[cure.cause] * cure.chance;
    found += chance[cure.cause] * cure.chance * (1 - silent);
  }
  return found > 0 && found >= kShows * all;
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
  if (!repair.look) return repair.cost;
  double shows = repair.look->otherwise;
  for (const auto& cure : repair.cures) shows += chance[cure.cause] * cure.shown;
  return repair.look->minutes + std::min(1.0, shows) * repair.cost;
}

std::vector<RepairOption> with_looks(const std::vector<RepairOption>& repairs, const std::vector<CheckOption>& checks,
                                     const std::vector<double>& chance) {
  const Looks looks = looks_of(checks, chance);
  Finds finds(looks, chance);
  std::vector<RepairOption> all = repairs;
  for (std::size_t r = 0; r < repairs.size(); ++r) {
    if (const auto look = finds.cheaper(repairs[r], checks))
      all.push_back(looked(repairs[r], r, *look, looks, checks, chance));
  }
  return all;
}

std::optional<std::size_t> look_before(const RepairOption& repair, const std::vector<CheckOption>& checks,
                                       const std::vector<double>& chance) {
  if (repair.look) return repair.look->check;
  double needed = 0;
  for (const auto& cure : repair.cures) needed += chance[cure.cause];
  if (!repair.look_first || needed >= kSureEnough) return std::nullopt;
  const Looks looks = looks_of(checks, chance);
  const auto best = Finds(looks, chance).telling(repair, checks);
  if (!best) return std::nullopt;
  return looks.all[*best].check;
}

}  // namespace wheeltapper::plan
