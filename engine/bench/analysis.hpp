#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/comparison.hpp"
#include "engine/bench/figure.hpp"
#include "engine/bench/infer_drive.hpp"
#include "engine/bench/laps.hpp"
#include "engine/bench/session.hpp"

namespace wheeltapper::bench {

/// The indexes of some runs against others.
struct DriveAnalysis {
  Direction direction = Direction::any;
  Against against = Against::nothing;
  std::string runs;   ///< which: "forward", "forward, minute 10"
  std::string words;  ///< held against what: "against the class card"
  DriveInference result;
};

/// Volts lost on the way from the supply to the locomotive.
struct RigLoss {
  std::string what;        ///< "leads and joints, supply to rail"
  double volts = 0;        ///< V
  double uncertainty = 0;  ///< standard uncertainty
  double share = 0;        ///< of the volts at its start
  bool by_sums = false;    ///< from gauge and length, not read
  std::string said;        ///< a plain sentence
};

struct SeriesAnalysis {
  std::size_t run = 0;  ///< index into Session::runs
  SeriesSummary summary;
  std::optional<LapMarks> laps;
  std::optional<Fold> fold;
  std::optional<TurnSwing> swing;
};

struct Warmth {
  measure::Measurement rise;     ///< K over the room
  measure::Measurement winding;  ///< C
  double stands = 0;             ///< C, of the insulation's class
};

/// Everything that the readings of a session say together.
struct BenchAnalysis {
  std::vector<DriveAnalysis> drives;
  std::vector<RigLoss> losses;
  std::vector<SeriesAnalysis> series;
  std::optional<Warmth> winding;
  std::vector<std::string> cautions;  ///< from hot surfaces and high volts, to be printed before any step
  std::vector<std::string> notes;     ///< plain sentences: what was assumed, what one more reading would settle
  std::vector<Figure> figures;
};

/// Works out all that the readings allow. What comes of healthy figures that were guessed from the limits (base_of) is
/// shown, but makes no figure, as what is allowed says too little of what is healthy. Nothing is guessed: what can't be
/// had stands in the notes with its reason.
BenchAnalysis analyse(const Session& session);

}  // namespace wheeltapper::bench
