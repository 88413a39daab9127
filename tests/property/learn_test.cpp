#include "engine/learn/learn.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <map>

#include "engine/learn/apply.hpp"
#include "engine/learn/score.hpp"
#include "engine/measure/proportion.hpp"
#include "knowledge/shipped.hpp"
#include "tests/support/simulated_jobs.hpp"

using namespace wheeltapper;

namespace {

struct HeldOut {
  double difference = 0;
  double error = 0;
};

HeldOut held_out(const std::shared_ptr<const catalogue::Catalogue>& shipped,
                 const std::shared_ptr<const catalogue::Catalogue>& learned, const std::vector<job::Summary>& jobs) {
  double sum = 0;
  double squares = 0;
  double n = 0;
  for (const auto& each : jobs) {
    const auto before = learn::log_score(shipped, each);
    const auto after = learn::log_score(learned, each);
    if (!before || !after) continue;
    sum += *after - *before;
    squares += (*after - *before) * (*after - *before);
    n += 1;
  }
  REQUIRE(n > 50);
  return {sum / n, std::sqrt((squares / n - sum / n * sum / n) / n)};
}

std::shared_ptr<const catalogue::Catalogue> learned_catalogue(
    const std::shared_ptr<const catalogue::Catalogue>& shipped, const learn::Learned& learned) {
  return std::make_shared<const catalogue::Catalogue>(learn::apply(shipped->items(), learned.parameters));
}

}  // namespace

TEST_CASE("what 2000 jobs teach covers the numbers that they were drawn from", "[learn][many]") {
  const auto shipped = knowledge::shipped();
  std::mt19937_64 random(20261128);
  const auto truth =
      std::make_shared<const catalogue::Catalogue>(tests::shifted(shipped, learn::PriorStrength{}, random));
  const auto jobs = tests::simulate_jobs(truth, 2000, {}, random);
  const learn::Learned learned = learn::learn(shipped, jobs);
  std::map<std::tuple<learn::Kind, std::string, std::string, std::size_t>, double> true_values;
  for (const auto& each : tests::parameters_of(truth))
    true_values[{each.kind, each.first, each.second, each.level}] = each.shipped;
  std::map<learn::Kind, std::pair<double, double>> tally;  // covered, all
  for (const auto& each : learned.parameters) {
    if (each.trials < 5) continue;  // where the jobs say something
    const auto interval = measure::beta_posterior(0, 0, each.yes, each.no, 0.90).interval;
    const double value = true_values.at({each.kind, each.first, each.second, each.level});
    auto& [covered, all] = tally[each.kind];
    all += 1;
    covered += value >= interval.low && value <= interval.high ? 1 : 0;
  }
  double covered = 0;
  double all = 0;
  for (const auto& [kind, counts] : tally) {
    WARN(learn::name(kind) << ": " << counts.first << " of " << counts.second << " covered, "
                           << 100 * counts.first / counts.second << " %");
    covered += counts.first;
    all += counts.second;
  }
  WARN("all: " << 100 * covered / all << " %");
  WARN("worth times " << learned.factor);
  CHECK(all > 1000);
  CHECK(covered / all >= 0.85);
  CHECK(covered / all <= 0.95);
  const auto after = learned_catalogue(shipped, learned);
  const auto score = held_out(shipped, after, tests::simulate_jobs(truth, 300, {}, random));
  WARN("held out, learned less shipped: " << score.difference << " +- " << score.error);
  CHECK(score.difference > 2 * score.error);
}

TEST_CASE("learning from jobs that the shipped knowledge made does no harm", "[learn][many]") {
  const auto shipped = knowledge::shipped();
  std::mt19937_64 random(7);
  const auto learned = learn::learn(shipped, tests::simulate_jobs(shipped, 2000, {}, random));
  WARN("worth times " << learned.factor);
  const auto score =
      held_out(shipped, learned_catalogue(shipped, learned), tests::simulate_jobs(shipped, 300, {}, random));
  WARN("held out, learned less shipped: " << score.difference << " +- " << score.error);
  CHECK(score.difference > -2 * score.error - 0.02);
}

TEST_CASE("numbers learned as they were shipped change no posterior", "[learn]") {
  const auto shipped = knowledge::shipped();
  auto same = tests::parameters_of(shipped);
  for (auto& each : same) {
    each.yes = each.shipped;
    each.no = 1 - each.shipped;
  }
  const auto again = std::make_shared<const catalogue::Catalogue>(learn::apply(shipped->items(), same));
  std::mt19937_64 random(3);
  for (const auto& each : tests::simulate_jobs(shipped, 20, {}, random)) {
    const auto before = learn::log_score(shipped, each);
    const auto after = learn::log_score(again, each);
    REQUIRE(before.has_value() == after.has_value());
    if (before) CHECK(*after == Approx(*before).epsilon(1e-6));
  }
}
