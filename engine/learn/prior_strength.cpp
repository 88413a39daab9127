#include <algorithm>
#include <cmath>

#include "engine/learn/apply.hpp"
#include "engine/learn/learn.hpp"
#include "engine/learn/score.hpp"

namespace wheeltapper::learn {
namespace {

using catalogue::Catalogue;
using job::Summary;

constexpr std::size_t kScored = 100;  // of each half

/// Log scores of jobs, each by what the other half of the jobs taught with that factor.
std::vector<double> cross_scores(const std::shared_ptr<const Catalogue>& catalogue, std::span<const Summary> jobs,
                                 LearnSettings settings, double factor) {
  settings.factor = factor;
  std::vector<Summary> halves[2];
  for (std::size_t j = 0; j < jobs.size(); ++j) halves[j % 2].push_back(jobs[j]);
  std::vector<double> scores;
  for (const int half : {0, 1}) {
    const auto learned = std::make_shared<const Catalogue>(
        learn::apply(catalogue->items(), learn_with(catalogue, halves[half], settings).parameters));
    const auto& other = halves[1 - half];
    const std::size_t stride = std::max<std::size_t>(1, other.size() / kScored);
    for (std::size_t j = 0; j < other.size(); j += stride)
      if (const auto score = log_score(learned, other[j])) scores.push_back(*score);
  }
  return scores;
}

/// True if the first is foreseen better than the second by more than one standard error.
bool clearly_better(const std::vector<double>& first, const std::vector<double>& second) {
  const auto n = static_cast<double>(std::min(first.size(), second.size()));
  if (n < 2) return false;
  double sum = 0;
  double squares = 0;
  for (std::size_t i = 0; i < std::min(first.size(), second.size()); ++i) {
    sum += first[i] - second[i];
    squares += (first[i] - second[i]) * (first[i] - second[i]);
  }
  const double mean = sum / n;
  return mean > std::sqrt(std::max(0.0, squares / n - mean * mean) / n);
}

double chosen_factor(const std::shared_ptr<const Catalogue>& catalogue, std::span<const Summary> jobs,
                     const LearnSettings& settings) {
  constexpr std::size_t kEnoughJobs = 40;
  if (jobs.size() < kEnoughJobs) return kFactorOfFew;
  double factor = kMostFactor;
  auto best = cross_scores(catalogue, jobs, settings, factor);
  for (const double smaller : {8.0, 1.0}) {
    auto scores = cross_scores(catalogue, jobs, settings, smaller);
    if (!clearly_better(scores, best)) continue;
    factor = smaller;
    best = std::move(scores);
  }
  return factor;
}

}  // namespace

Learned learn(std::shared_ptr<const Catalogue> catalogue, std::span<const Summary> jobs, const LearnSettings& given) {
  LearnSettings settings = given;
  if (!settings.factor) settings.factor = chosen_factor(catalogue, jobs, settings);
  return learn_with(catalogue, jobs, settings);
}

}  // namespace wheeltapper::learn
