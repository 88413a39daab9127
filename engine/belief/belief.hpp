#pragma once
#include <memory>
#include <string>
#include <vector>

#include "engine/belief/evidence.hpp"
#include "engine/belief/network.hpp"
#include "engine/belief/trellis.hpp"

namespace wheeltapper::belief {

/// What one finding says about one cause.
struct Weight {
  std::size_t item;  ///< index into Evidence::items
  /// Weight of evidence in decibans: ten times log10 of the cause's posterior odds with the finding over those without
  /// it (I. J. Good). Above 0 it speaks for the cause, below against.
  double decibans;
};

/// A place and its causes.
struct PlaceChance {
  const catalogue::Place* place;
  double chance;                    ///< that at least one of its causes is present, exactly
  std::vector<std::size_t> causes;  ///< of the network, the likeliest first
};

/// What the evidence makes of the causes.
struct Belief {
  std::shared_ptr<const Network> network;
  Evidence evidence;
  /// Ready for hypotheses (plan).
  std::shared_ptr<const Trellis> trellis;
  std::vector<double> posterior;     ///< by network cause
  std::vector<std::size_t> ranking;  ///< causes, the likeliest first
  std::vector<PlaceChance> places;   ///< the likeliest first
  double none_present = 0;           ///< that no known cause is present
  Trellis::CauseSets sets;  ///< the most probable sets of causes; after a repair their chances are at least these
  /// By network cause; only of the first `explained` of the ranking. Where very much is observed, as if the findings
  /// that tell least were not: those have no weight then.
  std::vector<std::vector<Weight>> weights;
  /// Findings that the exact sum could not take in as well (TrellisLimits); their items stand in evidence.dropped.
  /// Empty in every case but the extreme: then the answer is an approximation and says so.
  bool approximate = false;
};

struct BeliefSettings {
  std::size_t sets = 5;        ///< how many sets of causes
  std::size_t explained = 12;  ///< how many causes get their weights of evidence
  TrellisLimits limits;
};

/// Exact posterior, places, sets and explanations. Where the evidence is too tangled for the exact sum, the positive
/// finding with the most causes (the one that tells least) is left out, and so on, until it fits: `approximate`.
/// \throws ImpossibleEvidence  if the observations have no chance together
Belief infer(std::shared_ptr<const Network> network, Evidence evidence, const BeliefSettings& settings = {});

}  // namespace wheeltapper::belief
