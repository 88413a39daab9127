#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/series.hpp"

namespace wheeltapper::bench {

/// Where each lap begins.
struct LapMarks {
  std::vector<double> at;  ///< s, ascending, at least two
  bool found = false;      ///< found from the series itself: then they start at its first reading, not at a known place
  double lap_seconds = 0;  ///< mean; laps far off their median are left out
};

/// The lap times between marks that are not far off their median: a missed mark or a gap in a log makes no lap.
std::vector<double> sound_laps(const std::vector<double>& marks);

/// The marks given, or those found from what returns in the amps: the shortest lag whose autocorrelation is a peak of
/// at least 0.7 of the highest, refined by folding with a lap time that may change steadily. Nothing if nothing returns
/// clearly, if the lap time found does not hold to the end of the series, or fewer than three laps are there.
/// \param expected  s, about one lap if it is known (laps and time of the run): only lags within a seventh of it count,
/// and what is
///                  found must come within 4 % of it
std::optional<LapMarks> find_laps(const Series& series, const SeriesSummary& summary,
                                  std::optional<double> expected = std::nullopt);

/// A place of the loop where the amps leave their usual course each lap.
struct Spot {
  double place;   ///< 0 to 1 of a lap from the mark
  double amps;    ///< over (or under) the course there
  double share;   ///< of the mean amps
  double chance;  ///< that chance alone makes one as high anywhere
};

struct Fold {
  static constexpr std::size_t kBins = 40;
  std::vector<double> course;  ///< kBins mean amps round the loop; not a number where no reading fell
  std::vector<Spot> spots;     ///< the clearest first
  std::size_t laps = 0;
  double false_alarm = 0;  ///< the chance of any spot on a clean series
};

/// Folds the amps by lap. The straight drift and the loop's own smooth shape (the first two harmonics: straights and
/// curves) are taken off; what stays is averaged over the laps in kBins bins. Whether its highest peak or deepest dip
/// is real is asked of the series itself: each lap is turned round by a random number of bins, many times, which keeps
/// its course but scatters any place; a Gumbel distribution through the maxima of these gives the chance. Seeded.
/// Nothing with fewer than three whole laps, or readings too thin for the bins (under 12 a lap).
std::optional<Fold> fold(const Series& series, const SeriesSummary& summary, const LapMarks& laps,
                         double false_alarm = 1e-4, std::uint64_t seed = 1);

/// What returns once or twice a turn.
struct TurnSwing {
  double turn_seconds = 0;
  bool too_slow = false;                     ///< the readings are too far apart to see it: under 5 a turn
  double once = 0;                           ///< amplitude, A, of what returns once a turn
  double twice = 0;                          ///< and twice a turn
  double chance_once = 1, chance_twice = 1;  ///< that noise alone makes as much
  bool provable(double false_alarm = 1e-3) const { return chance_once < false_alarm || chance_twice < false_alarm; }
};
/// Least squares of sine and cosine at the turn's frequency and twice it, the best within 4 % of the frequency told,
/// after the course round the loop is taken off, as a bad joint has overtones there. Noise is judged by the power at
/// the frequencies beside that range; chance: that the best of so many frequencies of such noise has as much. At most
/// the first kMostSwing readings are looked at. \param turn_seconds  of one wheel turn: circumference over track speed
/// \param laps  nothing: no course is taken off
TurnSwing turn_swing(const Series& series, const SeriesSummary& summary, double turn_seconds,
                     const LapMarks* laps = nullptr);
inline constexpr std::size_t kMostSwing = 20000;

}  // namespace wheeltapper::bench
