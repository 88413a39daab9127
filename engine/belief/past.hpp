#pragma once
#include <cstddef>
#include <vector>

#include "engine/belief/evidence.hpp"

namespace wheeltapper::belief {

/// A job's repairs cut its time into stages. A cause that a repair treats goes with it with its chance to be cured,
/// else it stays: so each such pair is a further fate, "there until that repair", instead of "there still". The chances
/// of the fates sum to the chance that the cause was there at first.
struct Fates {
  std::vector<double> prior;            ///< of the network's causes being there still, then of each further fate
  std::vector<std::size_t> instead_of;  ///< by further fate: its cause, as Trellis has it
  std::vector<std::size_t> until;       ///< by further fate: the last stage in which it was there
};
Fates fates_of(const Network& network, const std::vector<Past>& past);

/// The node as it stood in a stage: with what was there then.
FindingNode at_stage(FindingNode node, const Fates& fates, std::size_t stage, std::size_t causes);
/// What was there from one stage on and had gone by a later one, alone, without leak.
FindingNode gone_between(FindingNode node, const Fates& fates, std::size_t from, std::size_t to, std::size_t causes);

}  // namespace wheeltapper::belief
