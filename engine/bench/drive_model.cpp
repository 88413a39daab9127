#include "engine/bench/drive_model.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {
namespace {

using Eigen::VectorXd;
using input::demand;

// What is taken where nothing was read: infer() gives the reasons.
constexpr double kResistanceShare = 0.35;
constexpr double kResistanceShareUncertainty = 0.1;
constexpr double kNeutralShare = 0.2;
constexpr double kNeutralShareUncertainty = 0.1;
constexpr double kSpeedPowerUncertainty = 0.15;
constexpr double kParallelPower = 0.8;
constexpr double kParallelPowerUncertainty = 0.15;
constexpr double kIronUncertainty = 0.15;      // of the power by which flux per amp falls with the amps
constexpr double kToldIronUncertainty = 0.03;  // the same where the saturation was told

void demand_positive(const DriveRuns& runs) {
  demand(!runs.points.empty(), "no run with volts, amps and laps");
  for (const DrivePoint& point : runs.points)
    demand(point.volts.value > 0 && point.amps.value > 0 && point.rate.value > 0,
           "volts, amps and laps must be above 0");
}

double volts_at_neutral(const DriveRuns& runs) { return runs.neutral_volts.value_or(runs.points.front().volts.value); }

/// Neutral amps that were read only at the other visit are taken as the same, with half as much uncertainty again.
UncertainValue taken_over(UncertainValue neutral) {
  neutral.own = std::max(1.5 * neutral.own, 0.1 * neutral.value);
  return neutral;
}

UncertainValue usual_neutral(const DriveRuns& now) {
  const double typical = now.points.front().amps.value;
  return {kNeutralShare * typical, kNeutralShareUncertainty * typical, 0};
}

double iron_uncertainty(const MotorFacts& facts) {
  if (facts.kind == Motor::Kind::permanent_magnet) return 0;
  return facts.saturation ? kToldIronUncertainty : kIronUncertainty;
}

}  // namespace

/// The input quantities, packed for propagation.
class DriveModel::Inputs {
 public:
  /// Which meter an uncertainty is shared with.
  enum class Meter { volts_now, amps_now, volts_then, amps_then, none };

  explicit Inputs(bool same_meters) : same_meters_(same_meters) {}

  Eigen::Index add(const UncertainValue& what, Meter meter = Meter::none) {
    if (same_meters_ && meter == Meter::volts_then) meter = Meter::volts_now;
    if (same_meters_ && meter == Meter::amps_then) meter = Meter::amps_now;
    given_.push_back({what, meter});
    return static_cast<Eigen::Index>(given_.size()) - 1;
  }

  measure::Estimates packed() const {
    const auto n = static_cast<Eigen::Index>(given_.size());
    measure::Estimates out{VectorXd(n), Eigen::MatrixXd::Zero(n, n)};
    for (Eigen::Index i = 0; i < n; ++i) {
      out.value(i) = at(i).what.value;
      for (Eigen::Index j = 0; j < n; ++j) out.covariance(i, j) = shared(at(i), at(j));
      out.covariance(i, i) = at(i).what.own * at(i).what.own + at(i).what.shared * at(i).what.shared;
    }
    return out;
  }

 private:
  struct Given {
    UncertainValue what;
    Meter meter;
  };
  const Given& at(Eigen::Index i) const { return given_[static_cast<std::size_t>(i)]; }
  static double shared(const Given& a, const Given& b) {
    return a.meter != Meter::none && a.meter == b.meter ? a.what.shared * b.what.shared : 0.0;
  }
  bool same_meters_;
  std::vector<Given> given_;
};

DriveModel::Visit DriveModel::visit_of(const DriveRuns& runs, bool now, Inputs& inputs) {
  const Inputs::Meter volts = now ? Inputs::Meter::volts_now : Inputs::Meter::volts_then;
  const Inputs::Meter amps = now ? Inputs::Meter::amps_now : Inputs::Meter::amps_then;
  Visit visit;
  for (const DrivePoint& point : runs.points)
    visit.points.push_back({inputs.add(point.volts, volts), inputs.add(point.amps, amps), inputs.add(point.rate)});
  visit.weights.assign(runs.points.size(), 1.0);
  visit.neutral_volts = volts_at_neutral(runs);
  if (runs.alone) visit.alone = inputs.add(*runs.alone, amps);
  return visit;
}

/// Read at both visits, at one of them, or at none.
void DriveModel::add_neutral(const DriveRuns& now, const DriveRuns* then, Inputs& inputs) {
  if (!now.neutral && (then == nullptr || !then->neutral)) {
    now_.neutral = then_.neutral = inputs.add(usual_neutral(now));
    return;
  }
  const auto add = [&](const DriveRuns& runs, const DriveRuns* other, Inputs::Meter amps, Visit& visit) {
    visit.neutral = inputs.add(runs.neutral ? *runs.neutral : taken_over(*other->neutral), amps);
    if (!runs.neutral) visit.neutral_volts = volts_at_neutral(*other);
  };
  add(now, then, Inputs::Meter::amps_now, now_);
  if (then != nullptr) add(*then, &now, Inputs::Meter::amps_then, then_);
}

/// What is taken for granted, within an uncertainty.
void DriveModel::add_taken(const Baseline* base, Inputs& inputs) {
  brush_ = inputs.add(facts_.brush_volts);
  parallel_power_ = inputs.add({kParallelPower, kParallelPowerUncertainty, 0});
  if (facts_.resistance)
    resistance_ = inputs.add(*facts_.resistance);
  else
    share_ = inputs.add({kResistanceShare, kResistanceShareUncertainty, 0});
  power_ = inputs.add({0, kSpeedPowerUncertainty, 0});
  day_ = inputs.add({0, base == nullptr ? 0 : base->drag_uncertainty, 0});
  iron_ = inputs.add({0, iron_uncertainty(facts_), 0});
}

DriveModel::DriveModel(const MotorFacts& facts, const DriveRuns& now, const Baseline* base) : facts_(facts) {
  demand_positive(now);
  if (base != nullptr) demand_positive(base->runs);
  Inputs inputs(base != nullptr && base->same_meters);
  now_ = visit_of(now, true, inputs);
  if (base != nullptr) then_ = visit_of(base->runs, false, inputs);
  add_neutral(now, base == nullptr ? nullptr : &base->runs, inputs);
  add_taken(base, inputs);
  in_ = inputs.packed();
  if (now.points.size() > 1) now_.weights = weights(now, now_);
  if (base != nullptr && base->runs.points.size() > 1) then_.weights = weights(base->runs, then_);
}

double DriveModel::phi(double amps) const {
  if (facts_.kind == Motor::Kind::permanent_magnet) return 1;
  return facts_.saturation ? amps / (1 + amps / *facts_.saturation) : amps;
}

double DriveModel::parallel_at(const VectorXd& x, const Visit& visit, double volts) const {
  return x(visit.neutral) * std::pow(volts / visit.neutral_volts, x(parallel_power_));
}

DriveModel::Seen DriveModel::seen(const VectorXd& x, const Visit& visit, const Visit::Point& point) const {
  const double amps = x(point.amps) - parallel_at(x, visit, x(point.volts));
  demand(amps > 0 && x(point.rate) > 0, "nothing is left for the motor once the neutral amps are taken off");
  const double volts = x(point.volts);
  const double across = facts_.kind == Motor::Kind::series_ac ? amps * facts_.reactance : 0;
  demand(across < volts, "the reactance alone would take more volts than there are");
  const double along = std::sqrt(volts * volts - across * across) - x(brush_);
  demand(along > 0, "the brushes alone would take the volts");
  return {along, amps, x(point.rate)};
}

DriveModel::Seen DriveModel::nearest(const VectorXd& x, double rate) const {
  // Chosen at the readings themselves, so that the model stays smooth while it is propagated.
  const auto nearest = std::ranges::min_element(
      now_.points, {}, [&](const Visit::Point& point) { return std::abs(in_.value(point.rate) - rate); });
  return seen(x, now_, *nearest);
}

/// Weighted least squares of volts = R amps + F phi w. Two unknowns in closed form: the sizes of the columns cancel,
/// and where they are so nearly parallel that it costs digits the readings' own uncertainties say far less already.
DriveModel::Line DriveModel::line_of(const VectorXd& x, const Visit& visit) const {
  Eigen::Matrix2d normal = Eigen::Matrix2d::Zero();
  Eigen::Vector2d right = Eigen::Vector2d::Zero();
  for (std::size_t i = 0; i < visit.points.size(); ++i) {
    const Seen run = seen(x, visit, visit.points[i]);
    const Eigen::Vector2d row = visit.weights[i] * Eigen::Vector2d(run.amps, phi(run.amps) * run.rate);
    normal += row * row.transpose();
    right += row * (visit.weights[i] * run.volts);
  }
  const Eigen::Vector2d solved = normal.inverse() * right;
  return {solved(0), solved(1)};
}

DriveModel::Line DriveModel::base_line(const VectorXd& x) const {
  if (then_.points.size() > 1) return line_of(x, then_);
  const Seen run = base_run(x);
  const double resistance = resistance_ ? x(*resistance_) : x(share_) * run.volts / run.amps;
  const double generated = run.volts - run.amps * resistance;
  demand(generated > 0, "the baseline leaves the motor nothing to generate");
  return {resistance, generated / (phi(run.amps) * run.rate)};
}

/// One over the standard uncertainty of each run's remainder, by its own uncertainties.
std::vector<double> DriveModel::weights(const DriveRuns& runs, const Visit& visit) const {
  const Line line = line_of(in_.value, visit);
  std::vector<double> weight;
  for (std::size_t i = 0; i < runs.points.size(); ++i) {
    const DrivePoint& point = runs.points[i];
    const Seen run = seen(in_.value, visit, visit.points[i]);
    const double by_amps = line.resistance + (facts_.kind == Motor::Kind::permanent_magnet ? 0 : line.flux * run.rate);
    weight.push_back(1 / std::max(1e-9, std::hypot(point.volts.own, by_amps * point.amps.own,
                                                   line.flux * phi(run.amps) * point.rate.own)));
  }
  return weight;
}

VectorXd DriveModel::line(const VectorXd& x) const {
  const Line now = line_of(x, now_);
  return Eigen::Vector2d(now.resistance, now.flux);
}

/// What speed and day do to the drag of the same train, taken off.
double DriveModel::at_speed_and_day(const VectorXd& x, double log_torque, const Seen& run, const Seen& base) const {
  return log_torque - x(day_) - x(power_) * std::log(run.rate / base.rate);
}

VectorXd DriveModel::apart(const VectorXd& x) const {
  const Line then = base_line(x);
  const Line now = line_of(x, now_);
  const Seen base = base_run(x);
  const Seen run = nearest(x, base.rate);
  const double torque = now.flux * phi(run.amps) * run.amps / (then.flux * phi(base.amps) * base.amps);
  demand(torque > 0 && now.flux > 0, "the runs make no sense together");
  return Eigen::Vector3d(at_speed_and_day(x, std::log(torque), run, base), now.resistance - then.resistance,
                         std::log(now.flux / then.flux) + x(iron_) * std::log(run.amps / base.amps));
}

VectorXd DriveModel::together(const VectorXd& x) const {
  const Line then = base_line(x);
  const Seen base = base_run(x);
  const Seen run = nearest(x, base.rate);
  const double saturated = x(iron_) * std::log(run.amps / base.amps);
  const double torque = phi(run.amps) * run.amps / (phi(base.amps) * base.amps);
  return Eigen::Vector2d(at_speed_and_day(x, std::log(torque) - saturated, run, base),
                         (run.volts - generated(then, run) * std::exp(-saturated)) / run.amps - then.resistance);
}

VectorXd DriveModel::parallel(const VectorXd& x) const { return VectorXd::Constant(1, x(now_.neutral)); }

VectorXd DriveModel::parallel_rise(const VectorXd& x) const {
  return VectorXd::Constant(1, x(now_.neutral) - x(then_.neutral));
}

VectorXd DriveModel::split(const VectorXd& x) const {
  const double flux = now_.points.size() > 1 ? line_of(x, now_).flux / base_line(x).flux : 1.0;
  const Seen base = base_run(x);
  const Seen run = nearest(x, base.rate);
  const auto torque = [&](double amps) { return phi(amps) * amps * std::pow(amps / base.amps, -x(iron_)); };
  const double alone_now = flux * torque(x(*now_.alone) - x(now_.neutral));
  const double alone_then = torque(x(*then_.alone) - x(then_.neutral));
  const double train_then = torque(base.amps) - alone_then;
  demand(alone_then > 0 && train_then > 0, "the baseline draws no more with the train than without");
  return Eigen::Vector2d(alone_now / alone_then,
                         (flux * torque(run.amps) - alone_now) / train_then * std::exp(x(day_)));
}

double DriveModel::generated_per_amp(const VectorXd& x) const {
  const Seen run = nearest(x, base_run(x).rate);
  return generated(base_line(x), run) / run.amps;
}

double DriveModel::base_volts_per_amp(const VectorXd& x) const {
  const Seen base = base_run(x);
  return base.volts / base.amps;
}

}  // namespace wheeltapper::bench
