#include "engine/bench/infer_drive.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "engine/input/input_error.hpp"
#include "engine/measure/propagate.hpp"

namespace wheeltapper::bench {
namespace {

using Eigen::Matrix3d;
using Eigen::MatrixXd;
using Eigen::Vector3d;
using Eigen::VectorXd;
using input::demand;

constexpr double kResistanceShare = 0.35;
constexpr double kResistanceShareUncertainty = 0.1;
constexpr double kNeutralShare = 0.2;
constexpr double kNeutralShareUncertainty = 0.1;
constexpr double kSpeedPowerUncertainty = 0.15;
constexpr double kParallelPower = 0.8;
constexpr double kParallelPowerUncertainty = 0.15;
constexpr double kSameAmps = 0.1;
constexpr double kIronUncertainty = 0.15;      // of the power by which flux per amp falls with the amps
constexpr double kToldIronUncertainty = 0.03;  // the same where the saturation was told
constexpr double kWorstLine = 0.6;             // relative uncertainty of the flux figure from which a line says nothing
constexpr double k95 = 1.959963984540054;
constexpr std::uint64_t kSeed = 20260101;

/// Which meter an uncertainty is shared with.
enum Group { kVoltsNow, kAmpsNow, kVoltsThen, kAmpsThen, kNone };

/// The input quantities, packed for propagation.
class Inputs {
 public:
  Eigen::Index add(const UncertainValue& what, Group group) {
    given_.push_back({what, group});
    return static_cast<Eigen::Index>(given_.size()) - 1;
  }
  measure::Estimates packed(bool same_meters) const {
    const auto n = static_cast<Eigen::Index>(given_.size());
    measure::Estimates out{VectorXd(n), MatrixXd::Zero(n, n)};
    const auto meter = [&](Group group) {
      if (!same_meters) return group;
      return group == kVoltsThen ? kVoltsNow : group == kAmpsThen ? kAmpsNow : group;
    };
    for (Eigen::Index i = 0; i < n; ++i) {
      const Given& a = at(i);
      out.value(i) = a.what.value;
      for (Eigen::Index j = 0; j < n; ++j) {
        const Given& b = at(j);
        if (a.group != kNone && meter(a.group) == meter(b.group)) out.covariance(i, j) = a.what.shared * b.what.shared;
      }
      out.covariance(i, i) = a.what.own * a.what.own + a.what.shared * a.what.shared;
    }
    return out;
  }

 private:
  struct Given {
    UncertainValue what;
    Group group;
  };
  const Given& at(Eigen::Index i) const { return given_[static_cast<std::size_t>(i)]; }
  std::vector<Given> given_;
};

/// Where a visit's quantities stand among the inputs.
struct Places {
  struct Point {
    Eigen::Index volts, amps, rate;
  };
  std::vector<Point> points;
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

/// The measurement model: everything from the input vector.
class Solver {
 public:
  Solver(const MotorFacts& facts, const DriveRuns& now, const Baseline* base) : facts_(facts) {
    demand_positive(now);
    if (base != nullptr) demand_positive(base->runs);
    brush_ = inputs_.add(facts.brush_volts, kNone);
    parallel_power_ = inputs_.add({kParallelPower, kParallelPowerUncertainty, 0}, kNone);
    const double typical = now.points.front().amps.value;
    const UncertainValue unknown{kNeutralShare * typical, kNeutralShareUncertainty * typical, 0};
    const bool either = now.neutral || (base != nullptr && base->runs.neutral);
    now_ = places_of(now, kVoltsNow, kAmpsNow, either ? std::nullopt : std::optional(inputs_.add(unknown, kNone)),
                     base == nullptr ? nullptr : &base->runs);
    now_weights_.assign(now.points.size(), 1.0);
    if (base != nullptr) {
      then_ = places_of(base->runs, kVoltsThen, kAmpsThen, either ? std::nullopt : std::optional(now_.neutral), &now);
      then_weights_.assign(base->runs.points.size(), 1.0);
    }
    if (facts.resistance)
      resistance_ = inputs_.add(*facts.resistance, kNone);
    else
      share_ = inputs_.add({kResistanceShare, kResistanceShareUncertainty, 0}, kNone);
    power_ = inputs_.add({0, kSpeedPowerUncertainty, 0}, kNone);
    day_ = inputs_.add({0, base == nullptr ? 0 : base->drag_uncertainty, 0}, kNone);
    const bool magnet = facts.kind == Motor::Kind::permanent_magnet;
    iron_ = inputs_.add({0, magnet ? 0 : facts.saturation ? kToldIronUncertainty : kIronUncertainty, 0}, kNone);
    in_ = inputs_.packed(base != nullptr && base->same_meters);
    if (now.points.size() > 1) now_weights_ = weights(now, now_);
    if (base != nullptr && base->runs.points.size() > 1) then_weights_ = weights(base->runs, then_);
  }

  const measure::Estimates& in() const { return in_; }

  /// R and F of the runs now.
  VectorXd line(const VectorXd& x) const {
    const Line now = line_of(x, now_, now_weights_);
    return Eigen::Vector2d(now.resistance, now.flux);
  }

  Line base_line(const VectorXd& x) const {
    if (then_.points.size() > 1) return line_of(x, then_, then_weights_);
    const Seen run = seen(x, then_, then_.points.front());
    const double resistance = resistance_ ? x(*resistance_) : x(share_) * run.volts / run.amps;
    const double generated = run.volts - run.amps * resistance;
    demand(generated > 0, "the baseline leaves the motor nothing to generate");
    return {resistance, generated / (phi(run.amps) * run.rate)};
  }

  /// ln drag, added Ohm, ln flux from a line against the baseline.
  VectorXd apart(const VectorXd& x) const {
    const Line then = base_line(x);
    const Line now = line_of(x, now_, now_weights_);
    const Seen base = seen(x, then_, then_.points.front());
    const Seen run = nearest(x, base.rate);
    const double torque = now.flux * phi(run.amps) * run.amps / (then.flux * phi(base.amps) * base.amps);
    demand(torque > 0 && now.flux > 0, "the runs make no sense together");
    return Vector3d(std::log(torque) - x(day_) - x(power_) * std::log(run.rate / base.rate),
                    now.resistance - then.resistance,
                    std::log(now.flux / then.flux) + x(iron_) * std::log(run.amps / base.amps));
  }

  /// ln of the torque by the baseline's flux, and the volts per amp that are unaccounted for.
  VectorXd together(const VectorXd& x) const {
    const Line then = base_line(x);
    const Seen base = seen(x, then_, then_.points.front());
    const Seen run = nearest(x, base.rate);
    const double saturated = x(iron_) * std::log(run.amps / base.amps);
    const double torque = phi(run.amps) * run.amps / (phi(base.amps) * base.amps);
    return Eigen::Vector2d(std::log(torque) - x(day_) - saturated - x(power_) * std::log(run.rate / base.rate),
                           (run.volts - generated(then, run) * std::exp(-saturated)) / run.amps - then.resistance);
  }

  /// Generated volts per amp of the nearest run with the baseline's flux.
  double generated_per_amp(const VectorXd& x) const {
    const Seen base = seen(x, then_, then_.points.front());
    const Seen run = nearest(x, base.rate);
    return generated(base_line(x), run) / run.amps;
  }

  double base_ratio(const VectorXd& x) const {
    const Seen base = seen(x, then_, then_.points.front());
    return base.volts / base.amps;
  }
  double base_rate(const VectorXd& x) const { return x(then_.points.front().rate); }
  double nearest_rate(const VectorXd& x) const { return nearest(x, base_rate(x)).rate; }

  VectorXd parallel(const VectorXd& x) const { return VectorXd::Constant(1, x(now_.neutral)); }
  VectorXd parallel_rise(const VectorXd& x) const { return VectorXd::Constant(1, x(now_.neutral) - x(then_.neutral)); }
  bool can_split() const { return now_.alone && then_.alone; }
  /// Drag of drive and train: by the flux of the runs' own line where there is one, else by the baseline's.
  VectorXd split(const VectorXd& x) const {
    const Line then = base_line(x);
    const double flux = now_.points.size() > 1 ? line_of(x, now_, now_weights_).flux / then.flux : 1.0;
    const Seen base = seen(x, then_, then_.points.front());
    const Seen run = nearest(x, base.rate);
    const auto torque = [&](double amps) { return phi(amps) * amps * std::pow(amps / base.amps, -x(iron_)); };
    const double alone_now = flux * torque(x(*now_.alone) - x(now_.neutral));
    const double alone_then = torque(x(*then_.alone) - x(then_.neutral));
    const double train_then = torque(base.amps) - alone_then;
    demand(alone_then > 0 && train_then > 0, "the baseline draws no more with the train than without");
    return Eigen::Vector2d(alone_now / alone_then,
                           (flux * torque(run.amps) - alone_now) / train_then * std::exp(x(day_)));
  }

 private:
  static void demand_positive(const DriveRuns& runs) {
    demand(!runs.points.empty(), "no run with volts, amps and laps");
    for (const DrivePoint& point : runs.points)
      demand(point.volts.value > 0 && point.amps.value > 0 && point.rate.value > 0,
             "volts, amps and laps must be above 0");
  }

  /// Neutral amps that were read only at the other visit are taken as the same now, with half as much uncertainty
  /// again.
  Places places_of(const DriveRuns& runs, Group volts, Group amps, std::optional<Eigen::Index> shared_neutral,
                   const DriveRuns* other) {
    Places places;
    for (const DrivePoint& point : runs.points)
      places.points.push_back(
          {inputs_.add(point.volts, volts), inputs_.add(point.amps, amps), inputs_.add(point.rate, kNone)});
    places.neutral_volts = runs.neutral_volts.value_or(runs.points.front().volts.value);
    if (shared_neutral)
      places.neutral = *shared_neutral;
    else if (runs.neutral)
      places.neutral = inputs_.add(*runs.neutral, amps);
    else {
      places.neutral_volts = other->neutral_volts.value_or(other->points.front().volts.value);
      UncertainValue taken = *other->neutral;
      taken.own = std::max(1.5 * taken.own, 0.1 * taken.value);
      places.neutral = inputs_.add(taken, amps);
    }
    if (runs.alone) places.alone = inputs_.add(*runs.alone, amps);
    return places;
  }

  double phi(double amps) const {
    if (facts_.kind == Motor::Kind::permanent_magnet) return 1;
    return facts_.saturation ? amps / (1 + amps / *facts_.saturation) : amps;
  }
  double generated(const Line& line, const Seen& run) const { return line.flux * phi(run.amps) * run.rate; }

  double parallel_at(const VectorXd& x, const Places& places, double volts) const {
    return x(places.neutral) * std::pow(volts / places.neutral_volts, x(parallel_power_));
  }

  Seen seen(const VectorXd& x, const Places& places, const Places::Point& point) const {
    const double amps = x(point.amps) - parallel_at(x, places, x(point.volts));
    demand(amps > 0 && x(point.rate) > 0, "nothing is left for the motor once the neutral amps are taken off");
    const double volts = x(point.volts);
    const double across = facts_.kind == Motor::Kind::series_ac ? amps * facts_.reactance : 0;
    demand(across < volts, "the reactance alone would take more volts than there are");
    const double along = std::sqrt(volts * volts - across * across) - x(brush_);
    demand(along > 0, "the brushes alone would take the volts");
    return {along, amps, x(point.rate)};
  }

  Seen nearest(const VectorXd& x, double rate) const {
    Seen best = seen(x, now_, now_.points.front());
    // Chosen at the readings themselves, so that the model stays smooth while it is propagated.
    double least = std::abs(in_.value(now_.points.front().rate) - rate);
    for (const auto& point : now_.points) {
      const double gap = std::abs(in_.value(point.rate) - rate);
      if (gap < least) {
        least = gap;
        best = seen(x, now_, point);
      }
    }
    return best;
  }

  Line line_of(const VectorXd& x, const Places& places, const std::vector<double>& weight) const {
    const auto n = static_cast<Eigen::Index>(places.points.size());
    Eigen::MatrixX2d rows(n, 2);
    VectorXd volts(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      const auto at = static_cast<std::size_t>(i);
      const Seen run = seen(x, places, places.points[at]);
      rows.row(i) << run.amps * weight[at], phi(run.amps) * run.rate * weight[at];
      volts(i) = run.volts * weight[at];
    }
    const Eigen::Vector2d solved = rows.colPivHouseholderQr().solve(volts);
    return {solved(0), solved(1)};
  }

  /// One over the standard uncertainty of each run's remainder, by its own uncertainties.
  std::vector<double> weights(const DriveRuns& runs, const Places& places) const {
    std::vector<double> weight(runs.points.size(), 1.0);
    const Line line = line_of(in_.value, places, weight);
    for (std::size_t i = 0; i < weight.size(); ++i) {
      const DrivePoint& point = runs.points[i];
      const Seen run = seen(in_.value, places, places.points[i]);
      const double by_amps =
          line.resistance + (facts_.kind == Motor::Kind::permanent_magnet ? 0 : line.flux * run.rate);
      weight[i] = 1 / std::max(1e-9, std::hypot(point.volts.own, by_amps * point.amps.own,
                                                line.flux * phi(run.amps) * point.rate.own));
    }
    return weight;
  }

  const MotorFacts& facts_;
  Inputs inputs_;
  measure::Estimates in_;
  Places now_, then_;
  std::vector<double> now_weights_, then_weights_;
  Eigen::Index brush_ = 0, parallel_power_ = 0, share_ = 0, power_ = 0, iron_ = 0, day_ = 0;
  std::optional<Eigen::Index> resistance_;
};

Estimate plain(double value, double u) { return {value, u, value - k95 * u, value + k95 * u}; }
Estimate of_log(double log, double u) {
  const double value = std::exp(log);
  return {value, value * u, std::exp(log - k95 * u), std::exp(log + k95 * u)};
}
Estimate one_of(const measure::Estimates& all, Eigen::Index i) { return plain(all.value(i), all.uncertainty(i)); }

/// Fits subsets of (ln drag, Ohm, ln flux) to what was observed.
class Weigher {
 public:
  /// \param per_amp  generated volts per amp with the baseline's flux; used where `observed` has two entries
  Weigher(measure::Estimates observed, double per_amp, double ohms_range)
      : observed_(std::move(observed)), per_amp_(per_amp), range_{std::log(4.0), ohms_range, std::log(2.0)} {
    weight_ = observed_.covariance.inverse();
  }

  std::vector<Explanation> all() const {
    std::vector<Explanation> found;
    double best = -std::numeric_limits<double>::infinity();
    std::vector<double> logs;
    for (unsigned subset = 0; subset < 8; ++subset) {
      Explanation each;
      for (std::size_t i = 0; i < 3; ++i) each.differs[i] = (subset >> i & 1U) != 0;
      if (each.count() > static_cast<std::size_t>(observed_.value.size())) continue;
      const auto log_weight = fit(each);
      if (!log_weight) continue;
      found.push_back(each);
      logs.push_back(*log_weight);
      best = std::max(best, *log_weight);
    }
    double sum = 0;
    for (std::size_t i = 0; i < found.size(); ++i) sum += found[i].chance = std::exp(logs[i] - best);
    for (Explanation& each : found) each.chance /= sum;
    if (std::ranges::none_of(found, [&](const Explanation& each) { return belongs(each); })) return {};
    std::ranges::stable_sort(found, std::greater{}, &Explanation::chance);
    return found;
  }

 private:
  /// A misfit that chance gives more than once in a thousand.
  bool belongs(const Explanation& each) const {
    const auto freedom = observed_.value.size() - static_cast<Eigen::Index>(each.count());
    if (freedom == 0) return true;
    constexpr double kRare = 1e-3;
    const boost::math::chi_squared spread(static_cast<double>(freedom));
    return boost::math::cdf(boost::math::complement(spread, each.misfit)) > kRare;
  }

  VectorXd predicted(const Vector3d& p) const {
    if (observed_.value.size() == 3) return p;
    return Eigen::Vector2d(p(0) - p(2), p(1) + std::expm1(p(2)) * per_amp_);
  }
  MatrixXd slopes(const Vector3d& p) const {
    if (observed_.value.size() == 3) return Matrix3d::Identity();
    MatrixXd slope(2, 3);
    slope << 1, 0, -1, 0, 1, std::exp(p(2)) * per_amp_;
    return slope;
  }

  /// Steps of the fit are held to what keeps the logarithms sensible.
  double most_step(Eigen::Index i) const { return i == 1 ? range_[1] : 1.0; }

  /// ln of the subset's weight; nothing where it needs what no fault does.
  std::optional<double> fit(Explanation& each) const {
    std::vector<Eigen::Index> free;
    for (Eigen::Index i = 0; i < 3; ++i)
      if (each.differs[static_cast<std::size_t>(i)]) free.push_back(i);
    const auto k = static_cast<Eigen::Index>(free.size());
    Vector3d p = Vector3d::Zero();
    MatrixXd covariance = MatrixXd::Zero(k, k);
    for (int round = 0; round < 30 && k > 0; ++round) {
      MatrixXd slope(observed_.value.size(), k);
      const MatrixXd whole = slopes(p);
      for (Eigen::Index c = 0; c < k; ++c) slope.col(c) = whole.col(free[static_cast<std::size_t>(c)]);
      const MatrixXd normal = slope.transpose() * weight_ * slope;
      covariance = normal.inverse();
      const VectorXd step = covariance * (slope.transpose() * weight_ * (observed_.value - predicted(p)));
      if (!step.allFinite()) return std::nullopt;
      for (Eigen::Index c = 0; c < k; ++c)
        p(free[static_cast<std::size_t>(c)]) += std::clamp(step(c), -most_step(free[static_cast<std::size_t>(c)]),
                                                           most_step(free[static_cast<std::size_t>(c)]));
      if (step.cwiseAbs().maxCoeff() < 1e-10) break;
    }
    const VectorXd left = observed_.value - predicted(p);
    each.misfit = left.dot(weight_ * left);
    each.estimate = {Estimate{1, 0, 1, 1}, Estimate{0, 0, 0, 0}, Estimate{1, 0, 1, 1}};
    constexpr double kPrior[] = {0.6, 1, 0.25, 0.05};
    double log_weight = std::log(kPrior[k]) - each.misfit / 2;
    for (Eigen::Index c = 0; c < k; ++c) {
      const Eigen::Index i = free[static_cast<std::size_t>(c)];
      const double u = std::sqrt(std::max(covariance(c, c), 0.0));
      if ((i == 2 ? -p(i) : p(i)) < -2 * u) return std::nullopt;
      each.estimate[static_cast<std::size_t>(i)] = i == 1 ? plain(p(i), u) : of_log(p(i), u);
      log_weight -= std::log(range_[static_cast<std::size_t>(i)]);
    }
    if (k > 0)
      log_weight +=
          0.5 * (static_cast<double>(k) * std::log(2 * std::numbers::pi) + std::log(covariance.determinant()));
    return std::isfinite(log_weight) ? std::optional(log_weight) : std::nullopt;
  }

  measure::Estimates observed_;
  double per_amp_;
  std::array<double, 3> range_;
  MatrixXd weight_;
};

measure::Estimates linear(const Solver& solver, VectorXd (Solver::*model)(const VectorXd&) const) {
  return measure::propagate(solver.in(), [&](const VectorXd& x) { return (solver.*model)(x); });
}

/// The line's R and F into `out`; false where they are known too badly to be of use.
bool put_line(const Solver& solver, Indexes& out) {
  const measure::Estimates line = linear(solver, &Solver::line);
  if (!(line.value(1) > 0) || line.uncertainty(1) > kWorstLine * line.value(1)) return false;
  out.resistance = one_of(line, 0);
  out.flux_figure = one_of(line, 1);
  out.resistance_flux_correlation = line.correlation(0, 1);
  if (line.uncertainty(1) <= kLinearUpTo * line.value(1)) return true;
  const measure::Sampled drawn = measure::propagate_by_sampling(
      solver.in(), [&](const VectorXd& x) { return solver.line(x); }, kSamples, kSeed);
  out.sampled = true;
  const auto taken = [&](Eigen::Index i) {
    return Estimate{line.value(i), drawn.result.uncertainty(i), drawn.low(i), drawn.high(i)};
  };
  out.resistance = taken(0);
  out.flux_figure = taken(1);
  out.resistance_flux_correlation = drawn.result.correlation(0, 1);
  return true;
}

void put_apart(const measure::Estimates& apart, Indexes& out) {
  out.apart = {of_log(apart.value(0), apart.uncertainty(0)), one_of(apart, 1),
               of_log(apart.value(2), apart.uncertainty(2))};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      out.correlation[i][j] =
          i == j ? 1 : apart.correlation(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j));
}

/// The three indexes where the line is known badly: their spread by sampling, for intervals that are not symmetrical.
/// \returns that spread with the values of the readings themselves
measure::Estimates put_apart_sampled(const Solver& solver, const VectorXd& value, Indexes& out) {
  const measure::Sampled drawn = measure::propagate_by_sampling(
      solver.in(), [&](const VectorXd& x) { return solver.apart(x); }, kSamples, kSeed);
  for (Eigen::Index i = 0; i < 3; ++i) {
    Estimate& each = (*out.apart)[static_cast<std::size_t>(i)];
    const bool log = i != 1;
    each.low = log ? std::exp(drawn.low(i)) : drawn.low(i);
    each.high = log ? std::exp(drawn.high(i)) : drawn.high(i);
    each.uncertainty = drawn.result.uncertainty(i) * (log ? each.value : 1.0);
  }
  return {value, drawn.result.covariance};
}

/// One run does not show its flux: the drags are spread over what the explanations say of it.
void by_flux_of_explanations(Indexes& out) {
  constexpr auto kFlux = static_cast<std::size_t>(Index::flux);
  double mean = 0;
  double square = 0;
  for (const Explanation& each : out.explanations) {
    const Estimate& flux = each.estimate[kFlux];
    mean += each.chance * flux.value;
    square += each.chance * (flux.value * flux.value + flux.uncertainty * flux.uncertainty);
  }
  if (!(mean > 0)) return;
  const double uncertainty = std::sqrt(std::max(0.0, square - mean * mean));
  for (auto* drag : {&out.drive_drag, &out.train_drag})
    *drag = plain((*drag)->value * mean, std::hypot((*drag)->uncertainty * mean, (*drag)->value * uncertainty));
}

/// The runs with those at about the same volts and amps drawn together into their mean.
DriveRuns drawn_together(const DriveRuns& runs) {
  DriveRuns out = runs;
  out.points.clear();
  std::vector<bool> taken(runs.points.size(), false);
  for (std::size_t i = 0; i < runs.points.size(); ++i) {
    if (taken[i]) continue;
    std::vector<const DrivePoint*> alike;
    for (std::size_t j = i; j < runs.points.size(); ++j) {
      const DrivePoint& a = runs.points[i];
      const DrivePoint& b = runs.points[j];
      if (taken[j] || std::abs(b.volts.value / a.volts.value - 1) > kSameVolts ||
          std::abs(b.amps.value / a.amps.value - 1) > kSameAmps)
        continue;
      taken[j] = true;
      alike.push_back(&b);
    }
    const auto mean = [&](UncertainValue DrivePoint::*what) {
      const auto n = static_cast<double>(alike.size());
      UncertainValue all;
      for (const DrivePoint* each : alike) {
        all.value += (each->*what).value / n;
        all.shared += (each->*what).shared / n;
        all.own += (each->*what).own * (each->*what).own;
      }
      all.own = std::sqrt(all.own) / n;
      return all;
    };
    out.points.push_back({mean(&DrivePoint::volts), mean(&DrivePoint::amps), mean(&DrivePoint::rate)});
  }
  return out;
}

/// A baseline whose runs make no good line counts with the one that is nearest in volts.
void drop_bad_line(const MotorFacts& facts, double volts, DriveRuns& base) {
  if (base.points.size() < 2) return;
  try {
    const measure::Estimates line = linear(Solver(facts, base, nullptr), &Solver::line);
    if (line.value(1) > 0 && line.uncertainty(1) <= kLinearUpTo * line.value(1)) return;
  } catch (const input::DomainError&) {  // then it is bad
  }
  base.points = {*std::ranges::min_element(
      base.points, {}, [&](const DrivePoint& point) { return std::abs(point.volts.value - volts); })};
}

void put_against_base(const Solver& solver, const Baseline& base, const DriveRuns& now, bool has_line, Indexes& out) {
  const VectorXd& x = solver.in().value;
  out.ohms_scale = solver.base_ratio(x);
  const double ohms_range = 1.2 * out.ohms_scale;
  if (has_line) {
    out.way = Indexes::Way::line_to_base;
    measure::Estimates apart = linear(solver, &Solver::apart);
    put_apart(apart, out);
    if (out.sampled) apart = put_apart_sampled(solver, apart.value, out);
    out.explanations = Weigher(apart, 0, ohms_range).all();
  } else {
    out.way = Indexes::Way::run_to_base;
    out.explanations = Weigher(linear(solver, &Solver::together), solver.generated_per_amp(x), ohms_range).all();
  }
  out.contradiction = out.explanations.empty();
  if (now.neutral && base.runs.neutral) out.parallel_rise = one_of(linear(solver, &Solver::parallel_rise), 0);
  if (!solver.can_split()) return;
  const measure::Estimates split = linear(solver, &Solver::split);
  out.drive_drag = one_of(split, 0);
  out.train_drag = one_of(split, 1);
  if (!has_line) by_flux_of_explanations(out);
}

}  // namespace

std::size_t Explanation::count() const { return static_cast<std::size_t>(std::ranges::count(differs, true)); }

std::vector<const Explanation*> Indexes::likely(double enough) const {
  std::vector<const Explanation*> taken;
  double sum = 0;
  for (const Explanation& each : explanations) {
    if (sum >= enough) break;
    taken.push_back(&each);
    sum += each.chance;
  }
  return taken;
}

double Indexes::differs(Index index) const {
  double sum = 0;
  for (const Explanation& each : explanations)
    if (each.differs[static_cast<std::size_t>(index)]) sum += each.chance;
  return sum;
}

DriveInference infer(const MotorFacts& facts, const DriveRuns& given, const Baseline* given_base) {
  if (given.points.empty() || (given_base != nullptr && given_base->runs.points.empty()))
    throw input::DomainError("no run with volts, amps and laps");
  DriveRuns now = drawn_together(given);
  std::optional<Baseline> baseline;
  if (given_base != nullptr) {
    baseline = *given_base;
    baseline->runs = drawn_together(given_base->runs);
    drop_bad_line(facts, now.points.front().volts.value, baseline->runs);
  }
  const Baseline* base = baseline ? &*baseline : nullptr;
  std::optional<Solver> solver(std::in_place, facts, now, base);
  Indexes out;
  const bool has_line = now.points.size() > 1 && put_line(*solver, out);
  if (!has_line && now.points.size() > 1 && base != nullptr) {
    const double rate = base->runs.points.front().rate.value;
    now.points = {*std::ranges::min_element(
        now.points, {}, [&](const DrivePoint& point) { return std::abs(point.rate.value - rate); })};
    solver.emplace(facts, now, base);
  }
  if (now.neutral) out.parallel = one_of(linear(*solver, &Solver::parallel), 0);
  if (base == nullptr) {
    if (has_line) return {out, {}};
    return {std::nullopt, given.points.size() > 1
                              ? "the runs lie too near each other to tell resistance from flux: set volts that are at "
                                "least a quarter apart"
                              : "one run alone says nothing about the drive: it needs a second one at other volts, or "
                                "the figures of a healthy run"};
  }
  const VectorXd& x = solver->in().value;
  const double apart = solver->nearest_rate(x) / solver->base_rate(x) - 1;
  if (std::abs(apart) > kMostSpeedApart)
    return {std::nullopt,
            fmt::format(
                "the nearest run is {:.0f} % {} than the healthy one, too far off to compare: read one at about {:.3g} "
                "laps a minute where the volts of the test reach, or take healthy figures at this one's volts",
                std::abs(apart) * 100, apart < 0 ? "slower" : "faster", solver->base_rate(x))};
  put_against_base(*solver, *base, now, has_line, out);
  return {out, {}};
}

}  // namespace wheeltapper::bench
