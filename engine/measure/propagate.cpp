#include "engine/measure/propagate.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <random>
#include <stdexcept>
#include <vector>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {
namespace {

/// A matrix L with L L' = S: by eigenvalues, as a covariance may be singular (readings that share one uncertainty).
Eigen::MatrixXd root_of(const Eigen::MatrixXd& s) {
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(s);
  Eigen::VectorXd values = solver.eigenvalues();
  const double largest = values.cwiseAbs().maxCoeff();
  if (values.minCoeff() < -1e-9 * largest) throw input::DomainError("the covariance is not positive semidefinite");
  return solver.eigenvectors() * values.cwiseMax(0.0).cwiseSqrt().asDiagonal();
}

double quantile(std::vector<double>& sorted, double p) {
  const auto last = static_cast<double>(sorted.size() - 1);
  const auto at = static_cast<std::size_t>(std::floor(p * last));
  const double part = p * last - static_cast<double>(at);
  return at + 1 < sorted.size() ? (1 - part) * sorted[at] + part * sorted[at + 1] : sorted[at];
}

void demand_square(const Estimates& in) {
  if (in.covariance.rows() != in.value.size() || in.covariance.cols() != in.value.size())
    throw input::DomainError("the covariance does not fit the values");
}

}  // namespace

double Estimates::uncertainty(Eigen::Index i) const { return std::sqrt(std::max(0.0, covariance(i, i))); }

double Estimates::correlation(Eigen::Index i, Eigen::Index j) const {
  const double both = uncertainty(i) * uncertainty(j);
  return both > 0 ? covariance(i, j) / both : 0.0;
}

Estimates means_of_sets(const Eigen::MatrixXd& sets) {
  const Eigen::Index n = sets.rows();
  if (n < 2) throw input::DomainError("fewer than two sets of readings");
  const Eigen::VectorXd mean = sets.colwise().mean();
  const Eigen::MatrixXd apart = sets.rowwise() - mean.transpose();
  return {mean, apart.transpose() * apart / static_cast<double>(n * (n - 1))};
}

Estimates propagate(const Estimates& in, const Model& model) {
  demand_square(in);
  const Eigen::VectorXd centre = model(in.value);
  Eigen::MatrixXd slope = Eigen::MatrixXd::Zero(centre.size(), in.value.size());
  for (Eigen::Index i = 0; i < in.value.size(); ++i) {
    const double step = 1e-3 * in.uncertainty(i);
    if (step == 0) continue;
    Eigen::VectorXd there = in.value;
    there(i) += step;
    const Eigen::VectorXd above = model(there);
    there(i) -= 2 * step;
    slope.col(i) = (above - model(there)) / (2 * step);
  }
  return {centre, slope * in.covariance * slope.transpose()};
}

Sampled propagate_by_sampling(const Estimates& in, const Model& model, std::size_t samples, std::uint64_t seed,
                              double coverage) {
  demand_square(in);
  if (samples < 100) throw input::DomainError("fewer than 100 samples");
  if (!(coverage > 0 && coverage < 1)) throw input::DomainError("the coverage must lie between 0 and 1");
  const Eigen::MatrixXd root = root_of(in.covariance);
  std::mt19937_64 engine(seed);
  std::normal_distribution<double> normal;
  std::vector<std::vector<double>> drawn;
  Sampled result;
  Eigen::VectorXd draw(in.value.size());
  for (std::size_t s = 0; s < samples; ++s) {
    for (double& each : draw) each = normal(engine);
    try {
      const Eigen::VectorXd out = model(in.value + root * draw);
      drawn.resize(static_cast<std::size_t>(out.size()));
      for (Eigen::Index i = 0; i < out.size(); ++i) drawn[static_cast<std::size_t>(i)].push_back(out(i));
      ++result.samples;
    } catch (const input::DomainError&) {
      ++result.without;
    }
  }
  if (result.samples * 2 < samples) throw input::DomainError("the model fails for most of what the readings allow");
  const auto n = static_cast<Eigen::Index>(drawn.size());
  Eigen::MatrixXd all(static_cast<Eigen::Index>(result.samples), n);
  for (Eigen::Index i = 0; i < n; ++i)
    all.col(i) = Eigen::Map<const Eigen::VectorXd>(drawn[static_cast<std::size_t>(i)].data(), all.rows());
  result.result.value = all.colwise().mean();
  const Eigen::MatrixXd apart = all.rowwise() - result.result.value.transpose();
  result.result.covariance = apart.transpose() * apart / static_cast<double>(all.rows() - 1);
  result.low.resize(n);
  result.high.resize(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    auto& column = drawn[static_cast<std::size_t>(i)];
    std::ranges::sort(column);
    result.low(i) = quantile(column, (1 - coverage) / 2);
    result.high(i) = quantile(column, (1 + coverage) / 2);
  }
  return result;
}

}  // namespace wheeltapper::measure
