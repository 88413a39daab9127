// The least squares and the sampling of the indexes held against the GNU Scientific Library (tests only: it is never
// linked into the program).
#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_statistics_double.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <memory>

#include "engine/bench/infer_drive.hpp"
#include "engine/measure/propagate.hpp"

namespace {

using Catch::WithinRel;
using namespace wheeltapper::bench;
namespace measure = wheeltapper::measure;

template <typename T, void (*Free)(T*)>
struct Freed {
  void operator()(T* what) const { Free(what); }
};
using Matrix = std::unique_ptr<gsl_matrix, Freed<gsl_matrix, gsl_matrix_free>>;
using Vector = std::unique_ptr<gsl_vector, Freed<gsl_vector, gsl_vector_free>>;

/// Four runs of a series-wound motor that do not lie on one line exactly.
std::vector<DrivePoint> four_runs() {
  return {{{8.1, 0.05, 0}, {1.62, 0.02, 0}, {4.1, 0.03, 0}},
          {{10.0, 0.06, 0}, {1.60, 0.03, 0}, {6.8, 0.05, 0}},
          {{11.9, 0.04, 0}, {1.63, 0.02, 0}, {9.3, 0.09, 0}},
          {{13.2, 0.10, 0}, {1.66, 0.03, 0}, {10.9, 0.08, 0}}};
}

struct Fit {
  double resistance, flux;
};

/// V - Vb = I R + I w F, weighted by 1/s^2.
Fit gsl_fit(const std::vector<DrivePoint>& runs, double brush, const std::vector<double>& s) {
  const Matrix x(gsl_matrix_alloc(runs.size(), 2));
  const Vector y(gsl_vector_alloc(runs.size()));
  const Vector w(gsl_vector_alloc(runs.size()));
  const Vector c(gsl_vector_alloc(2));
  const Matrix covariance(gsl_matrix_alloc(2, 2));
  for (std::size_t i = 0; i < runs.size(); ++i) {
    gsl_matrix_set(x.get(), i, 0, runs[i].amps.value);
    gsl_matrix_set(x.get(), i, 1, runs[i].amps.value * runs[i].rate.value);
    gsl_vector_set(y.get(), i, runs[i].volts.value - brush);
    gsl_vector_set(w.get(), i, 1 / (s[i] * s[i]));
  }
  auto* work = gsl_multifit_linear_alloc(runs.size(), 2);
  double chi = 0;
  gsl_multifit_wlinear(x.get(), w.get(), y.get(), c.get(), covariance.get(), &chi, work);
  gsl_multifit_linear_free(work);
  return {gsl_vector_get(c.get(), 0), gsl_vector_get(c.get(), 1)};
}

TEST_CASE("The line's least squares equal GSL's", "[peer][indexes]") {
  const auto runs = four_runs();
  const MotorFacts facts{
      .kind = Motor::Kind::series_dc, .brush_volts = {1.0, 1e-9, 0}, .resistance = {}, .saturation = {}};
  const DriveInference ours =
      infer(facts, {.points = runs, .neutral = UncertainValue{0, 1e-9, 0}, .alone = {}}, nullptr);
  REQUIRE(ours.indexes);
  const Fit first = gsl_fit(runs, 1.0, {1, 1, 1, 1});
  std::vector<double> s;
  for (const DrivePoint& run : runs)
    s.push_back(std::hypot(run.volts.own, (first.resistance + first.flux * run.rate.value) * run.amps.own,
                           first.flux * run.amps.value * run.rate.own));
  const Fit theirs = gsl_fit(runs, 1.0, s);
  CHECK_THAT(ours.indexes->resistance->value, WithinRel(theirs.resistance, 1e-9));
  CHECK_THAT(ours.indexes->flux_figure->value, WithinRel(theirs.flux, 1e-9));

  // The uncertainty, by drawing all readings with GSL's generator and fitting each draw with GSL.
  gsl_rng* random = gsl_rng_alloc(gsl_rng_mt19937);
  std::vector<double> resistance;
  std::vector<double> flux;
  for (int draw = 0; draw < 20000; ++draw) {
    auto drawn = runs;
    for (DrivePoint& run : drawn)
      for (UncertainValue* each : {&run.volts, &run.amps, &run.rate})
        each->value += gsl_ran_gaussian(random, each->own);
    const Fit fit = gsl_fit(drawn, 1.0, s);
    resistance.push_back(fit.resistance);
    flux.push_back(fit.flux);
  }
  gsl_rng_free(random);
  CHECK_THAT(ours.indexes->resistance->uncertainty,
             WithinRel(gsl_stats_sd(resistance.data(), 1, resistance.size()), 0.03));
  CHECK_THAT(ours.indexes->flux_figure->uncertainty, WithinRel(gsl_stats_sd(flux.data(), 1, flux.size()), 0.03));
  CHECK_THAT(ours.indexes->resistance_flux_correlation,
             WithinRel(gsl_stats_correlation(resistance.data(), 1, flux.data(), 1, flux.size()), 0.03));
}

TEST_CASE("Sampling equals GSL's multivariate normal", "[peer][measure]") {
  // Quotient and product of correlated inputs, far enough from linear that the first-order sum would miss it.
  measure::Estimates in{Eigen::Vector3d(3.0, 0.6, 1.5), Eigen::Matrix3d::Zero()};
  in.covariance << 0.04, 0.010, -0.006, 0.010, 0.0064, 0.002, -0.006, 0.002, 0.0225;
  const auto model = [](const Eigen::VectorXd& x) {
    return Eigen::VectorXd(Eigen::Vector2d(x(0) / x(1), x(1) * x(2) * x(2)));
  };
  constexpr std::size_t kDraws = 100000;
  const measure::Sampled ours = measure::propagate_by_sampling(in, model, kDraws, 5);
  const Matrix root(gsl_matrix_alloc(3, 3));
  const Vector mean(gsl_vector_alloc(3));
  for (std::size_t i = 0; i < 3; ++i) {
    gsl_vector_set(mean.get(), i, in.value(static_cast<Eigen::Index>(i)));
    for (std::size_t j = 0; j < 3; ++j)
      gsl_matrix_set(root.get(), i, j, in.covariance(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)));
  }
  gsl_linalg_cholesky_decomp1(root.get());
  gsl_rng* random = gsl_rng_alloc(gsl_rng_mt19937);
  const Vector drawn(gsl_vector_alloc(3));
  std::array<std::vector<double>, 2> out;
  for (std::size_t i = 0; i < kDraws; ++i) {
    gsl_ran_multivariate_gaussian(random, mean.get(), root.get(), drawn.get());
    const Eigen::VectorXd y = model(Eigen::Vector3d(gsl_vector_get(drawn.get(), 0), gsl_vector_get(drawn.get(), 1),
                                                    gsl_vector_get(drawn.get(), 2)));
    out[0].push_back(y(0));
    out[1].push_back(y(1));
  }
  gsl_rng_free(random);
  for (std::size_t k = 0; k < 2; ++k) {
    const auto i = static_cast<Eigen::Index>(k);
    CHECK_THAT(ours.result.value(i), WithinRel(gsl_stats_mean(out[k].data(), 1, kDraws), 0.005));
    CHECK_THAT(ours.result.uncertainty(i), WithinRel(gsl_stats_sd(out[k].data(), 1, kDraws), 0.02));
    std::sort(out[k].begin(), out[k].end());
    CHECK_THAT(ours.low(i), WithinRel(gsl_stats_quantile_from_sorted_data(out[k].data(), 1, kDraws, 0.025), 0.01));
    CHECK_THAT(ours.high(i), WithinRel(gsl_stats_quantile_from_sorted_data(out[k].data(), 1, kDraws, 0.975), 0.01));
  }
}

}  // namespace
