#include "engine/learn/score.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/belief/belief.hpp"
#include "engine/learn/apply.hpp"

namespace wheeltapper::learn {
namespace {

using catalogue::Catalogue;
using job::Summary;

constexpr std::size_t kFirstBlock = 20;
constexpr double kFloor = 1e-6;  // no forecast is taken to be surer than this

}  // namespace

std::optional<double> log_score(const std::shared_ptr<const Catalogue>& catalogue, const Summary& job) {
  if (job.outcome != job::Outcome::cured || job.causes.empty() || job.unlisted) return std::nullopt;
  if (catalogue->family(job.family) == nullptr) return std::nullopt;
  try {
    belief::Background background{job.contexts, job.contexts_not, {}};
    const auto network = std::make_shared<const belief::Network>(catalogue, job.family, background);
    belief::BeliefSettings settings;
    settings.sets = 0;
    settings.explained = 0;
    const auto belief = belief::infer(network, belief::gather(*network, observations_of(job)), settings);
    double score = 0;
    for (std::size_t i = 0; i < belief.posterior.size(); ++i) {
      const double p = std::clamp(belief.posterior[i], kFloor, 1 - kFloor);
      const bool present = std::ranges::find(job.causes, network->causes()[i]->id) != job.causes.end();
      score += std::log(present ? p : 1 - p);
    }
    return score;
  } catch (const belief::ImpossibleEvidence&) {  // findings that contradict each other
    return std::nullopt;
  } catch (const belief::NotInKnowledge&) {
    return std::nullopt;
  } catch (const belief::FrontierTooWide&) {
    return std::nullopt;
  }
}

Score prequential(const std::shared_ptr<const Catalogue>& shipped, std::span<const Summary> jobs, std::size_t most,
                  const LearnSettings& settings) {
  Score score;
  std::vector<double> differences;
  auto learned = shipped;
  std::size_t next_learning = kFirstBlock;
  const std::size_t stride = std::max<std::size_t>(1, jobs.size() / std::max<std::size_t>(1, most));
  for (std::size_t j = 0; j < jobs.size(); ++j) {
    if (j == next_learning) {
      learned = std::make_shared<const Catalogue>(
          learn::apply(shipped->items(), learn(shipped, jobs.first(j), settings).parameters));
      next_learning *= 2;
    }
    if (j < kFirstBlock || j % stride != 0) continue;
    const auto before = log_score(shipped, jobs[j]);
    const auto after = log_score(learned, jobs[j]);
    if (!before || !after) continue;
    score.shipped += *before;
    score.learned += *after;
    differences.push_back(*after - *before);
  }
  score.jobs = differences.size();
  if (score.jobs == 0) return score;
  const auto n = static_cast<double>(score.jobs);
  score.shipped /= n;
  score.learned /= n;
  score.difference = score.learned - score.shipped;
  double squares = 0;
  for (const double each : differences) squares += (each - score.difference) * (each - score.difference);
  score.uncertainty = score.jobs > 1 ? std::sqrt(squares / (n * (n - 1))) : std::abs(score.difference);
  return score;
}

std::string verdict(const Score& score) {
  constexpr std::size_t kFew = 20;
  if (score.jobs < kFew)
    return fmt::format("Too few jobs to say whether learning helps: {} could be scored, {} are wanted.", score.jobs,
                       kFew);
  const double sure = score.uncertainty > 0 ? score.difference / score.uncertainty : 0;
  const std::string figures = fmt::format("{:+.2f} a job, standard error {:.2f}, over {} jobs", score.difference,
                                          score.uncertainty, score.jobs);
  if (sure > 2)
    return fmt::format("Learning helps: it predicted the faults better than the shipped knowledge ({}).", figures);
  if (sure < -2)
    return fmt::format(
        "Learning makes predictions worse so far than the shipped knowledge ({}). `wheeltapper learn forget` "
        "goes back to it.",
        figures);
  return fmt::format("Whether learning helps can't be told yet: no provable difference ({}).", figures);
}

}  // namespace wheeltapper::learn
