#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "engine/bench/drive_runs.hpp"
#include "engine/bench/explanation.hpp"

namespace wheeltapper::bench {

/// What came out.
struct Indexes {
  enum class Way {
    line,          ///< two or more runs, no baseline: resistance and flux figure alone
    line_to_base,  ///< two or more runs against a baseline: all three apart from each other
    run_to_base    ///< one run against a baseline: only together with "nothing else changed"
  };
  Way way = Way::line;
  /// Whichever way has two or more runs: Ohm in the motor's path, and the flux figure in V/(A laps/min) for a
  /// series-wound motor, in V/(laps/min) for a permanent magnet.
  std::optional<Estimate> resistance, flux_figure;
  double resistance_flux_correlation = 0;
  /// line_to_base: drag ratio, added Ohm, flux ratio, each without a word on the others; their correlations in
  /// `correlation` (of ln drag, Ohm, ln flux).
  std::optional<std::array<Estimate, 3>> apart;
  std::array<std::array<double, 3>, 3> correlation{};
  /// Against a baseline: likeliest first.
  std::vector<Explanation> explanations;
  std::optional<Estimate> parallel;       ///< A that never enter the motor
  std::optional<Estimate> parallel_rise;  ///< over the baseline's
  /// Drag of the drive alone and of what it pulls, over the baseline's, where motor-only amps were read both times.
  std::optional<Estimate> drive_drag, train_drag;
  double ohms_scale = 1;  ///< Ohm: the baseline's volts per amp, to see added Ohm in proportion
  /// True where no explanation fits: the readings and the baseline don't belong together (chance below 1 in 1000). What
  /// a fault never does, such as less drag or a stronger field, comes out like that. No explanation is given then.
  bool contradiction = false;
  bool sampled = false;  ///< by Monte Carlo, since the linear sum was doubtful (see infer)

  /// The explanations needed to reach `enough` together, likeliest first. One: it is likelier than all others together
  /// and is called; more: they are confounded, which only another reading separates. None without a baseline.
  std::vector<const Explanation*> likely(double enough = 0.5) const;
  /// The chance that an index differs.
  double differs(Index index) const;
};

/// What infer() found.
struct DriveInference {
  std::optional<Indexes> indexes;
  std::string refused;  ///< plain words, where there are none
};

/// The four indexes. Derivation, from Motor's equations with amps I less the parallel ones and the volts Vi that are in
/// phase (V itself where reactance is 0):
///   (Vi - Vb) / I = R + F phi(I) w / I        phi(I) = I (less where iron saturates) series-wound, 1 for a magnet
///   torque        = F phi(I) I
/// Two or more runs are a straight line for R and F: weighted least squares, each run weighted by the variance of its
/// own remainder, iterated once (volts, amps and laps all have uncertainties). Against a baseline (R0, F0, I0):
///   flux ratio f = F / F0, added Ohm r = R - R0, drag ratio d = F phi(I) I / (F0 phi(I0) I0) at the run nearest to the
/// baseline's speed. With one run only, two equations hold the three:
///   ln d - ln f = ln(phi(I) I / (phi(I0) I0)),   r + (f - 1) E / I = (Vi - Vb - E) / I - R0,   E = F0 phi(I) w,
/// so which of them differ is weighed (explanations.hpp), added ohms ranging up to 1.2 times the baseline's volts per
/// amp.
///   Speed. The motor's own equations bring a run to another speed. Drag hardly changes with speed: as the power n of
/// the speed ratio, n = 0 with a standard uncertainty of 0.15 (elicited judgement), which counts in the result. Beyond
/// kMostSpeedApart it is refused.
/// Baseline::drag_uncertainty comes on top.
///   Parallel amps go with the volts: as their power q, q = 0.8 with a standard uncertainty of 0.15 (elicited
/// judgement: 1 for a coil, about a half for a lamp).
///   Runs within kSameVolts of each other in volts, and alike in amps, are one: their mean.
///   Iron. How far a series-wound motor's iron saturates is seldom known: flux per amp falls as the power s of
/// the amps, s = 0 with a standard uncertainty of 0.15 (0.03 where the saturation was told; elicited judgement: torque
/// goes with the amps to the power of 2, nearer 1.5 in saturated iron). It counts where the amps differ from the
/// baseline's: then a weak field and iron at its limit look alike.
///   Unknown resistance of the baseline: 0.35 of its volts per amp, standard uncertainty 0.1 of them (elicited
/// judgement); unknown neutral amps: a fifth of the amps, u half of that, the same now as then.
///   Uncertainties are propagated linearly with all correlations (measure::propagate); where the slope of the line is
///   known
/// to worse than kLinearUpTo, by measure::propagate_by_sampling with a fixed seed.
/// \returns or says why not: no run, speeds or volts too near each other, too far from the baseline
/// \throws input::DomainError  for values that are not above 0
DriveInference infer(const MotorFacts& facts, const DriveRuns& now, const Baseline* baseline);

inline constexpr double kMostSpeedApart = 0.45;  ///< of the baseline's laps a minute
inline constexpr double kLinearUpTo = 0.2;       ///< relative uncertainty of the flux figure
inline constexpr std::size_t kSamples = 20000;

}  // namespace wheeltapper::bench
