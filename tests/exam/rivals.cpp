#include "tests/exam/rivals.hpp"

#include <algorithm>
#include <random>

#include "engine/plan/advice.hpp"

namespace wheeltapper::exam {
namespace {

using catalogue::Check;
using catalogue::Repair;
using guide::Position;

bool has(const std::vector<std::string>& list, const std::string& id) {
  return std::ranges::find(list, id) != list.end();
}

/// What may be done now, and what each promises.
class Options {
 public:
  Options(const Position& at, const Done& done)
      : network_(*at.diagnosis.belief.network), chance_(at.diagnosis.belief.posterior) {
    const auto yes = said_yes(at);
    const auto& gates = at.diagnosis.advice.gates;
    for (const Check& check : network_.catalogue().items().checks) {
      const bool ruled_out = std::ranges::any_of(check.not_when, [&](const auto& id) { return has(yes, id); });
      if (network_.applies(check) && plan::allowed(check, gates) && !has(done.checks, check.id) && !ruled_out)
        checks.push_back(&check);
    }
    for (const Repair& repair : network_.catalogue().items().repairs)
      if (network_.applies(repair) && plan::allowed(repair, gates) && !has(done.repairs, repair.id))
        repairs.push_back(&repair);
  }

  /// That a check shows a cause that is there, by results that show it more often than not.
  double finds(const Check& check) const {
    std::vector<double> missed(chance_.size(), 1.0);
    for (const auto& result : check.results) {
      if (result.finding.empty()) {
        for (const auto& link : network_.node_of(check, result).links) miss(link.cause, link.reach[0], missed);
      } else {
        const auto& finding = *network_.catalogue().finding(result.finding);
        for (const auto& link : network_.node_of(finding).links) miss(link.cause, link.reach[0], missed);
      }
    }
    double nothing = 1;
    for (std::size_t i = 0; i < missed.size(); ++i) nothing *= 1 - chance_[i] * (1 - missed[i]);
    return 1 - nothing;
  }
  double cures(const Repair& repair) const {
    double nothing = 1;
    for (const auto& cure : repair.cures)
      if (const auto at = network_.index(cure.cause)) nothing *= 1 - chance_[*at] * cure.chance.in(network_.family());
    return 1 - nothing;
  }

  std::vector<const Check*> checks;
  std::vector<const Repair*> repairs;

 private:
  static std::vector<std::string> said_yes(const Position& at) {
    std::vector<std::string> ids;
    for (const auto& answer : at.the_case.observations.answers)
      if (answer.present()) ids.push_back(answer.finding);
    return ids;
  }
  static void miss(std::size_t cause, double shows, std::vector<double>& missed) {
    constexpr double kShows = 0.5;
    if (shows >= kShows) missed[cause] *= 1 - shows;
  }

  const belief::Network& network_;
  const std::vector<double>& chance_;
};

double cost(const auto& work) { return plan::cost_of(work, plan::Costs{}, {}); }

constexpr double kNoChance = 1e-6;

std::optional<Choice> best_repair(const Options& options, auto&& score) {
  Choice best;
  double most = kNoChance;
  for (const Repair* repair : options.repairs)
    if (const double value = score(*repair); value > most) {
      most = value;
      best.repair = repair;
    }
  if (best.repair == nullptr) return std::nullopt;
  return best;
}

std::optional<Choice> per_cost(const Position& at, const Done& done, std::uint64_t) {
  const Options options(at, done);
  return best_repair(options, [&](const Repair& repair) { return options.cures(repair) / cost(repair); });
}

std::optional<Choice> likeliest(const Position& at, const Done& done, std::uint64_t) {
  const Options options(at, done);
  return best_repair(options, [&](const Repair& repair) { return options.cures(repair); });
}

std::optional<Choice> plain(const Position& at, const Done& done, std::uint64_t seed) {
  const Options options(at, done);
  auto best = per_cost(at, done, seed);
  double most = best ? options.cures(*best->repair) / cost(*best->repair) : kNoChance;
  for (const Check* check : options.checks)
    if (const double value = options.finds(*check) / cost(*check); value > most) {
      most = value;
      best = Choice{check, nullptr};
    }
  return best;
}

std::optional<Choice> fixed(const Position& at, const Done& done, std::uint64_t seed) {
  const Options options(at, done);
  constexpr double kSeen = 0.5;
  const auto repair = per_cost(at, done, seed);
  if (repair && options.cures(*repair->repair) >= kSeen) return repair;
  const auto key = [](const Check* check) { return std::pair(check->opens, check->minutes); };
  const auto next = std::ranges::min_element(options.checks, {}, key);
  if (next != options.checks.end()) return Choice{*next, nullptr};
  return repair;
}

std::optional<Choice> random(const Position& at, const Done& done, std::uint64_t seed) {
  const Options options(at, done);
  std::mt19937_64 engine(seed * 1000 + done.checks.size() + 100 * done.repairs.size());
  const std::size_t count = options.checks.size() + options.repairs.size();
  if (count == 0) return std::nullopt;
  const std::size_t pick = engine() % count;
  if (pick < options.checks.size()) return Choice{options.checks[pick], nullptr};
  return Choice{nullptr, options.repairs[pick - options.checks.size()]};
}

}  // namespace

std::vector<Policy> policies() {
  return {{"program"},      {"plain", plain},  {"per-cost", per_cost}, {"likeliest", likeliest},
          {"fixed", fixed}, {"random", random}};
}

}  // namespace wheeltapper::exam
