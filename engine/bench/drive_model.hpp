#pragma once
#include <optional>
#include <vector>

#include "engine/bench/drive_runs.hpp"
#include "engine/measure/propagate.hpp"

namespace wheeltapper::bench {

/// The measurement model behind infer() (its equations stand there): packs all input quantities of the runs, of the
/// baseline and of what is taken for granted into one vector with its covariance, and works out every result from such
/// a vector, so that measure::propagate and measure::propagate_by_sampling can vary it. A vector that makes no sense
/// physically throws input::DomainError from each of the functions.
class DriveModel {
 public:
  using VectorXd = Eigen::VectorXd;

  /// \param base  nothing: only what needs no baseline may be asked for
  /// \throws input::DomainError  without a run, or for volts, amps or laps that are not above 0
  DriveModel(const MotorFacts& facts, const DriveRuns& now, const Baseline* base);

  const measure::Estimates& in() const { return in_; }

  /// Ohm and flux figure of the runs now.
  VectorXd line(const VectorXd& x) const;
  /// ln drag ratio, added Ohm, ln flux ratio: a line against the baseline.
  VectorXd apart(const VectorXd& x) const;
  /// One run against the baseline: ln of the torque by the baseline's flux, and the volts per amp that it leaves
  /// unaccounted for.
  VectorXd together(const VectorXd& x) const;
  VectorXd parallel(const VectorXd& x) const;
  VectorXd parallel_rise(const VectorXd& x) const;
  /// Drag ratios of drive and train: by the flux of the runs' own line where there is one, else by the baseline's.
  VectorXd split(const VectorXd& x) const;
  bool can_split() const { return now_.alone && then_.alone; }

  /// Of the run that is nearest to the baseline's speed: volts per amp that the baseline's flux would generate.
  double generated_per_amp(const VectorXd& x) const;
  double base_volts_per_amp(const VectorXd& x) const;
  double base_rate(const VectorXd& x) const { return x(then_.points.front().rate); }
  double nearest_rate(const VectorXd& x) const { return nearest(x, base_rate(x)).rate; }

 private:
  class Inputs;
  /// Where the quantities of a visit stand in the vector.
  struct Visit {
    struct Point {
      Eigen::Index volts, amps, rate;
    };
    std::vector<Point> points;
    std::vector<double> weights;  ///< of each point in the line
    Eigen::Index neutral = 0;
    double neutral_volts = 1;
    std::optional<Eigen::Index> alone;
  };
  struct Line {
    double resistance;
    double flux;
  };
  /// A run as the equations see it.
  struct Seen {
    double volts;  ///< in phase, less the brushes
    double amps;   ///< of the motor
    double rate;
  };

  static Visit visit_of(const DriveRuns& runs, bool now, Inputs& inputs);
  void add_neutral(const DriveRuns& now, const DriveRuns* then, Inputs& inputs);
  void add_taken(const Baseline* base, Inputs& inputs);

  double phi(double amps) const;
  double parallel_at(const VectorXd& x, const Visit& visit, double volts) const;
  Seen seen(const VectorXd& x, const Visit& visit, const Visit::Point& point) const;
  Seen base_run(const VectorXd& x) const { return seen(x, then_, then_.points.front()); }
  Seen nearest(const VectorXd& x, double rate) const;
  double generated(const Line& line, const Seen& run) const { return line.flux * phi(run.amps) * run.rate; }
  double at_speed_and_day(const VectorXd& x, double log_torque, const Seen& run, const Seen& base) const;
  Line line_of(const VectorXd& x, const Visit& visit) const;
  Line base_line(const VectorXd& x) const;
  std::vector<double> weights(const DriveRuns& runs, const Visit& visit) const;

  MotorFacts facts_;
  measure::Estimates in_;
  Visit now_, then_;
  Eigen::Index brush_ = 0, parallel_power_ = 0, share_ = 0, power_ = 0, iron_ = 0, day_ = 0;
  std::optional<Eigen::Index> resistance_;
};

}  // namespace wheeltapper::bench
