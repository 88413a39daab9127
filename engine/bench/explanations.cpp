#include "engine/bench/explanations.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>
#include <optional>

namespace wheeltapper::bench {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr double k95 = 1.959963984540054;  // the normal quantile at 0.975
constexpr double kRare = 1e-3;
constexpr std::array kPrior{0.6, 1.0, 0.25, 0.05};  // by how many differ
constexpr Explanation kNothingDiffers{.estimate = {Estimate{1, 0, 1, 1}, Estimate{0, 0, 0, 0}, Estimate{1, 0, 1, 1}}};

std::size_t at(Eigen::Index i) { return static_cast<std::size_t>(i); }

/// Three entries whatever was observed: with one run the third is 0 and weighs nothing.
struct Observed {
  Vector3d value = Vector3d::Zero();
  Matrix3d weight = Matrix3d::Zero();  ///< inverse of the covariance
  Eigen::Index count = 3;
  double generated_per_amp = 0;
  std::array<double, 3> range{};

  Vector3d predicted(const Vector3d& p) const {
    if (count == 3) return p;
    return {p(0) - p(2), p(1) + std::expm1(p(2)) * generated_per_amp, 0};
  }
  Matrix3d slope(const Vector3d& p) const {
    if (count == 3) return Matrix3d::Identity();
    return Matrix3d{{1, 0, -1}, {0, 1, std::exp(p(2)) * generated_per_amp}, {0, 0, 0}};
  }
};

/// What differs, fitted.
struct Fitted {
  Vector3d value = Vector3d::Zero();           ///< ln drag, Ohm, ln flux
  Matrix3d covariance = Matrix3d::Identity();  ///< of those that differ; a unit row for each that does not
};

/// Steps of the fit are held to what keeps the logarithms sensible.
double held(const Observed& observed, Eigen::Index i, double step) {
  const double most = i == static_cast<Eigen::Index>(Index::ohms) ? observed.range[at(i)] : 1.0;
  return std::clamp(step, -most, most);
}

/// One step of Gauss and Newton; what does not differ is held by an equation of its own. \returns the largest change
double step_of(const Observed& observed, const Explanation& each, Fitted& fit) {
  Matrix3d slope = observed.slope(fit.value);
  for (Eigen::Index i = 0; i < 3; ++i)
    if (!each.differs[at(i)]) slope.col(i).setZero();
  Matrix3d normal = slope.transpose() * observed.weight * slope;
  for (Eigen::Index i = 0; i < 3; ++i)
    if (!each.differs[at(i)]) normal(i, i) = 1;
  fit.covariance = normal.inverse();
  const Vector3d left = observed.value - observed.predicted(fit.value);
  const Vector3d step = fit.covariance * (slope.transpose() * (observed.weight * left));
  for (Eigen::Index i = 0; i < 3; ++i) fit.value(i) += held(observed, i, step(i));
  return step.allFinite() ? step.cwiseAbs().maxCoeff() : std::numeric_limits<double>::quiet_NaN();
}

std::optional<Fitted> fitted(const Observed& observed, const Explanation& each) {
  constexpr int kMostRounds = 30;
  Fitted fit;
  for (int round = 0; round < kMostRounds && each.count() > 0; ++round) {
    const double change = step_of(observed, each, fit);
    if (std::isnan(change)) return std::nullopt;
    if (change < 1e-10) break;
  }
  return fit;
}

Estimate estimate_of(const Fitted& fit, Eigen::Index i, double uncertainty) {
  return i == static_cast<Eigen::Index>(Index::ohms) ? symmetrical(fit.value(i), uncertainty)
                                                     : of_log(fit.value(i), uncertainty);
}

/// ln of the subset's weight; nothing where it needs what no fault does.
std::optional<double> weigh(const Observed& observed, Explanation& each) {
  const auto fit = fitted(observed, each);
  if (!fit) return std::nullopt;
  const Vector3d left = observed.value - observed.predicted(fit->value);
  each.misfit = left.dot(observed.weight * left);
  double log_weight = std::log(kPrior[each.count()]) - each.misfit / 2;
  for (Eigen::Index i = 0; i < 3; ++i) {
    if (!each.differs[at(i)]) continue;
    const double u = std::sqrt(std::max(fit->covariance(i, i), 0.0));
    const double worse = i == static_cast<Eigen::Index>(Index::flux) ? -fit->value(i) : fit->value(i);
    if (worse < -2 * u) return std::nullopt;
    each.estimate[at(i)] = estimate_of(*fit, i, u);
    log_weight += 0.5 * std::log(2 * std::numbers::pi) - std::log(observed.range[at(i)]);
  }
  log_weight += 0.5 * std::log(fit->covariance.determinant());
  return std::isfinite(log_weight) ? std::optional(log_weight) : std::nullopt;
}

/// A misfit that chance gives often enough.
bool belongs(const Observed& observed, const Explanation& each) {
  const auto freedom = at(observed.count) - each.count();
  if (freedom == 0) return true;
  const boost::math::chi_squared spread(static_cast<double>(freedom));
  return boost::math::cdf(boost::math::complement(spread, each.misfit)) > kRare;
}

/// Every subset that what was observed can hold.
std::vector<Explanation> subsets(const Observed& observed) {
  std::vector<Explanation> all;
  for (unsigned subset = 0; subset < 8; ++subset) {
    Explanation each = kNothingDiffers;
    for (std::size_t i = 0; i < 3; ++i) each.differs[i] = (subset >> i & 1U) != 0;
    if (each.count() <= at(observed.count)) all.push_back(each);
  }
  return all;
}

std::vector<Explanation> explain(const Observed& observed) {
  std::vector<Explanation> found;
  double best = -std::numeric_limits<double>::infinity();
  for (Explanation& each : subsets(observed)) {
    const auto log_weight = weigh(observed, each);
    if (!log_weight) continue;
    each.chance = *log_weight;  // as a logarithm, until all are known
    best = std::max(best, *log_weight);
    found.push_back(each);
  }
  if (std::ranges::none_of(found, [&](const Explanation& each) { return belongs(observed, each); })) return {};
  double sum = 0;
  for (Explanation& each : found) sum += each.chance = std::exp(each.chance - best);
  for (Explanation& each : found) each.chance /= sum;
  std::ranges::stable_sort(found, std::greater{}, &Explanation::chance);
  return found;
}

}  // namespace

Estimate symmetrical(double value, double uncertainty) {
  return {value, uncertainty, value - k95 * uncertainty, value + k95 * uncertainty};
}

Estimate of_log(double log, double uncertainty_of_log) {
  const double value = std::exp(log);
  return {value, value * uncertainty_of_log, std::exp(log - k95 * uncertainty_of_log),
          std::exp(log + k95 * uncertainty_of_log)};
}

Estimate one_of(const measure::Estimates& all, Eigen::Index i) { return symmetrical(all.value(i), all.uncertainty(i)); }

std::size_t Explanation::count() const { return static_cast<std::size_t>(std::ranges::count(differs, true)); }

std::vector<Explanation> explain_line(const measure::Estimates& apart, double ohms_range) {
  Observed observed{.range = {std::log(4.0), ohms_range, std::log(2.0)}};
  observed.value = apart.value.head<3>();
  observed.weight = Matrix3d(apart.covariance).inverse();
  return explain(observed);
}

std::vector<Explanation> explain_run(const measure::Estimates& together, double generated_per_amp, double ohms_range) {
  Observed observed{
      .count = 2, .generated_per_amp = generated_per_amp, .range = {std::log(4.0), ohms_range, std::log(2.0)}};
  observed.value.head<2>() = together.value.head<2>();
  observed.weight.topLeftCorner<2, 2>() = Eigen::Matrix2d(together.covariance).inverse();
  return explain(observed);
}

}  // namespace wheeltapper::bench
