#pragma once
#include <memory>
#include <random>
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/job/summary.hpp"
#include "engine/learn/learn.hpp"

namespace wheeltapper::tests {

struct Simulation {
  std::size_t findings = 25;     ///< observed in each job, drawn at random
  std::size_t checks = 4;        ///< done in each job
  double unproven = 0;           ///< share closed without a retest, of which ...
  double wrong_if_unproven = 0;  ///< ... this share names another cause
};

/// Closed jobs drawn from a catalogue: causes from the rates of failed sessions, findings and check results from their
/// leaky noisy-MAXes and the observer's errors, a repair that cures by its chance and one more if it did not.
std::vector<job::Summary> simulate_jobs(const std::shared_ptr<const catalogue::Catalogue>& catalogue, std::size_t count,
                                        const Simulation& simulation, std::mt19937_64& random);

/// A knowledge whose numbers are drawn from the beta distributions that the shipped ones stand for
/// (learn::PriorStrength).
catalogue::Items shifted(const std::shared_ptr<const catalogue::Catalogue>& catalogue,
                         const learn::PriorStrength& worth, std::mt19937_64& random);

/// The numbers of a catalogue by the same keys as learned ones.
std::vector<learn::Parameter> parameters_of(const std::shared_ptr<const catalogue::Catalogue>& catalogue);

}  // namespace wheeltapper::tests
