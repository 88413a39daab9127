#include "engine/measure/propagate.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <random>
#include <stdexcept>
#include <vector>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {
namespace {

/// A matrix L with L L' = S: by Cholesky's form with pivots, as a covariance may be singular (readings that share one
/// uncertainty).
Eigen::MatrixXd root_of(const Eigen::MatrixXd& s) {
  const Eigen::LDLT<Eigen::MatrixXd> factors(s);
  const Eigen::VectorXd pivots = factors.vectorD();
  if (pivots.minCoeff() < -1e-9 * pivots.cwiseAbs().maxCoeff())
    throw input::DomainError("the covariance is not positive semidefinite");
  const Eigen::MatrixXd lower = Eigen::MatrixXd(factors.matrixL()) * pivots.cwiseMax(0.0).cwiseSqrt().asDiagonal();
  return factors.transpositionsP().transpose() * lower;
}

double quantile(const std::vector<double>& sorted, double p) {
  const auto last = static_cast<double>(sorted.size() - 1);
  const auto at = static_cast<std::size_t>(std::floor(p * last));
  const double part = p * last - static_cast<double>(at);
  return at + 1 < sorted.size() ? (1 - part) * sorted[at] + part * sorted[at + 1] : sorted[at];
}

/// What the model made of each vector drawn.
struct Drawn {
  std::vector<Eigen::VectorXd> outputs;
  std::size_t without = 0;
};

Drawn draw(const Estimates& in, const Model& model, std::size_t samples, std::uint64_t seed) {
  const Eigen::MatrixXd root = root_of(in.covariance);
  std::mt19937_64 engine(seed);
  std::normal_distribution<double> normal;
  Drawn drawn;
  Eigen::VectorXd each(in.value.size());
  for (std::size_t s = 0; s < samples; ++s) {
    for (double& number : each) number = normal(engine);
    try {
      drawn.outputs.push_back(model(in.value + root.lazyProduct(each)));
    } catch (const input::DomainError&) {
      ++drawn.without;
    }
  }
  return drawn;
}

Estimates moments_of(const Eigen::MatrixXd& all) {
  const Eigen::VectorXd mean = all.colwise().mean();
  const Eigen::MatrixXd apart = all.rowwise() - mean.transpose();
  return {mean, apart.transpose().lazyProduct(apart) / static_cast<double>(all.rows() - 1)};
}

/// \param all  one row a sample
Sampled summary_of(const Eigen::MatrixXd& all, std::size_t without, double coverage) {
  Sampled out{moments_of(all), Eigen::VectorXd(all.cols()), Eigen::VectorXd(all.cols()),
              static_cast<std::size_t>(all.rows()), without};
  for (Eigen::Index i = 0; i < all.cols(); ++i) {
    std::vector<double> column(all.col(i).begin(), all.col(i).end());
    std::ranges::sort(column);
    out.low(i) = quantile(column, (1 - coverage) / 2);
    out.high(i) = quantile(column, (1 + coverage) / 2);
  }
  return out;
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
  Estimates means = moments_of(sets);
  means.covariance /= static_cast<double>(n);
  return means;
}

/// Products term by term: a few quantities, for which blocks would only cost.
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
  const Eigen::MatrixXd half = slope.lazyProduct(in.covariance);
  return {centre, half.lazyProduct(slope.transpose())};
}

Sampled propagate_by_sampling(const Estimates& in, const Model& model, std::size_t samples, std::uint64_t seed,
                              double coverage) {
  demand_square(in);
  if (samples < 100) throw input::DomainError("fewer than 100 samples");
  if (!(coverage > 0 && coverage < 1)) throw input::DomainError("the coverage must lie between 0 and 1");
  Drawn drawn = draw(in, model, samples, seed);
  if (drawn.outputs.size() * 2 < samples)
    throw input::DomainError("the model fails for most of what the readings allow");
  const auto rows = static_cast<Eigen::Index>(drawn.outputs.size());
  Eigen::MatrixXd all(rows, drawn.outputs.front().size());
  for (Eigen::Index row = 0; row < rows; ++row) all.row(row) = drawn.outputs[static_cast<std::size_t>(row)];
  return summary_of(all, drawn.without, coverage);
}

}  // namespace wheeltapper::measure
