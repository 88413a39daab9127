#pragma once
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "engine/learn/learn.hpp"

namespace wheeltapper::learn {

/// How well a job was foreseen: the sum over all causes of the logarithm (base e) of the chance given to what was the
/// case, present or absent, from its findings alone. At most 0; proper: nothing but the truth does better on average.
/// Nothing for a job that is not cured or names no cause, or whose findings can't be taken in.
std::optional<double> log_score(const std::shared_ptr<const catalogue::Catalogue>& catalogue, const job::Summary& job);

/// Shipped against learned, job by job, each before it is learned from (A. P. Dawid, J. R. Statist. Soc. A 147 (1984)
/// 278-292: prequential).
struct Score {
  std::size_t jobs = 0;    ///< scored
  double shipped = 0;      ///< mean log score
  double learned = 0;      ///< mean log score of what was learned from the jobs before
  double difference = 0;   ///< learned less shipped
  double uncertainty = 0;  ///< standard error of it
};

/// \param jobs   in the order in which they were closed. Learning is done anew after 20, 40, 80, ... jobs.
/// \param most   jobs scored at most, spread evenly
Score prequential(const std::shared_ptr<const catalogue::Catalogue>& shipped, std::span<const job::Summary> jobs,
                  std::size_t most = 300, const LearnSettings& settings = {});

/// A plain sentence: helps, does no good yet, does harm; and how sure that is.
std::string verdict(const Score& score);

}  // namespace wheeltapper::learn
