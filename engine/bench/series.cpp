#include "engine/bench/series.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numeric>
#include <stdexcept>
#include <unsupported/Eigen/FFT>

#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"
#include "engine/measure/robust.hpp"

namespace wheeltapper::bench {
namespace {

constexpr double kFar = 6;
constexpr double kLost = 0.3;
constexpr double kSurge = 1.8;
constexpr double kLeastEvent = 0.3;  // s
constexpr std::size_t kNeighbours = 3;

using measure::median;

double mean_of(std::span<const double> values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

/// 1 + 2 sum of (1 - k/n) r_k over the initial positive pairs; at least 1: a series that swings against itself is not
/// taken for more than its readings. Lag by lag, as it mostly ends after a few.
double inflation(std::span<const double> readings) {
  if (readings.size() < 8) return 1;
  const double mean = mean_of(readings);
  const auto n = static_cast<double>(readings.size());
  const auto product = [&](std::size_t lag) {
    double sum = 0;
    for (std::size_t i = lag; i < readings.size(); ++i) sum += (readings[i] - mean) * (readings[i - lag] - mean);
    return sum;
  };
  const double whole = product(0);
  if (!(whole > 0)) return 1;
  double sum = 1;
  std::vector<double> all;  // by transform, once it does not end after a few lags
  constexpr std::size_t kFew = 48;
  for (std::size_t k = 1; k + 1 < readings.size() / 2; k += 2) {
    if (k > kFew && all.empty()) all = autocorrelation(readings);
    const double first = all.empty() ? product(k) / whole : all[k];
    const double second = all.empty() ? product(k + 1) / whole : all[k + 1];
    if (first + second <= 0) break;
    sum += 2 * ((1 - static_cast<double>(k) / n) * first + (1 - static_cast<double>(k + 1) / n) * second);
  }
  return std::clamp(sum, 1.0, n / 2);
}

/// Among the sound readings, with their sound neighbours.
std::vector<std::size_t> find_outliers(const Series& series, const std::vector<bool>& sound) {
  const std::size_t n = series.size();
  std::vector<double> off(n, 0.0);
  std::vector<double> around;
  for (std::size_t i = 0; i < n; ++i) {
    if (!sound[i]) continue;
    around.clear();
    for (std::size_t j = i < kNeighbours ? 0 : i - kNeighbours; j < std::min(n, i + kNeighbours + 1); ++j)
      if (j != i && sound[j]) around.push_back(series.amps[j]);
    if (around.empty()) continue;
    off[i] = series.amps[i] - median(around);
  }
  std::vector<double> size(n);
  std::ranges::transform(off, size.begin(), [](double x) { return std::abs(x); });
  const double spread = std::max(measure::robust_deviation(off), 1e-3 * std::abs(median(series.amps)));
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < n; ++i)
    if (size[i] > kFar * spread) found.push_back(i);
  // Two far readings side by side are no slip but something that lasted.
  std::vector<std::size_t> single;
  for (std::size_t k = 0; k < found.size(); ++k) {
    const bool after = k > 0 && found[k - 1] + 1 == found[k];
    const bool before = k + 1 < found.size() && found[k] + 1 == found[k + 1];
    if (!after && !before) single.push_back(found[k]);
  }
  return single;
}

std::vector<SeriesEvent> find_events(const Series& series, std::vector<bool>& sound) {
  const double usual = median(series.amps);
  std::vector<SeriesEvent> events;
  const auto kind_at = [&](std::size_t i) -> std::optional<SeriesEvent::Kind> {
    if (series.amps[i] < kLost * usual) return SeriesEvent::Kind::lost;
    if (series.amps[i] > kSurge * usual) return SeriesEvent::Kind::surge;
    return std::nullopt;
  };
  for (std::size_t i = 0; i < series.size();) {
    const auto kind = kind_at(i);
    std::size_t end = i + 1;
    while (kind && end < series.size() && kind_at(end) == kind) ++end;
    if (kind && end - i >= 2 && series.time[end - 1] - series.time[i] >= kLeastEvent) {
      events.push_back(
          {*kind, series.time[i], series.time[end - 1], mean_of(std::span(series.amps).subspan(i, end - i))});
      std::fill(sound.begin() + static_cast<std::ptrdiff_t>(i), sound.begin() + static_cast<std::ptrdiff_t>(end),
                false);
    }
    i = end;
  }
  return events;
}

}  // namespace

std::vector<double> autocorrelation(std::span<const double> readings) {
  const std::size_t n = readings.size();
  std::size_t size = 1;
  while (size < 2 * n) size *= 2;  // room, so that the end does not meet the beginning
  const double mean = mean_of(readings);
  std::vector<double> padded(size, 0.0);
  for (std::size_t i = 0; i < n; ++i) padded[i] = readings[i] - mean;
  Eigen::FFT<double> fft;
  fft.SetFlag(Eigen::FFT<double>::HalfSpectrum);
  std::vector<std::complex<double>> spectrum;
  fft.fwd(spectrum, padded);
  for (auto& each : spectrum) each = std::norm(each);
  std::vector<double> products;
  fft.inv(products, spectrum, static_cast<Eigen::Index>(size));
  std::vector<double> r(n / 2 + 1);
  for (std::size_t k = 0; k < r.size(); ++k) r[k] = products[0] > 0 ? products[k] / products[0] : 0;
  return r;
}

SeriesMean correlated_mean(std::span<const double> readings) {
  if (readings.size() < 2) throw input::DomainError("a mean with an uncertainty needs two readings");
  const auto n = static_cast<double>(readings.size());
  SeriesMean result;
  result.mean = mean_of(readings);
  double squares = 0;
  for (const double each : readings) squares += (each - result.mean) * (each - result.mean);
  result.deviation = std::sqrt(squares / (n - 1));
  const double by = inflation(readings);
  result.independent = n / by;
  result.uncertainty = result.deviation * std::sqrt(by / n);
  return result;
}

SeriesDrift drift_of(std::span<const double> time, std::span<const double> readings) {
  if (time.size() != readings.size() || time.size() < 3) throw input::DomainError("a drift needs three readings");
  const double middle = mean_of(time);
  const double mean = mean_of(readings);
  double xx = 0;
  double xy = 0;
  for (std::size_t i = 0; i < time.size(); ++i) {
    xx += (time[i] - middle) * (time[i] - middle);
    xy += (time[i] - middle) * (readings[i] - mean);
  }
  const double slope = xx > 0 ? xy / xx : 0;
  std::vector<double> left(time.size());
  double squares = 0;
  for (std::size_t i = 0; i < time.size(); ++i) {
    left[i] = readings[i] - mean - slope * (time[i] - middle);
    squares += left[i] * left[i];
  }
  const double by = inflation(left);
  const double variance = squares / (static_cast<double>(time.size()) - 2) * by;
  return {mean + slope * (time.front() - middle), 60 * slope, xx > 0 ? 60 * std::sqrt(variance / xx) : 0,
          static_cast<double>(time.size()) / by};
}

bool SeriesDrift::provable() const {
  const double freedom = std::max(1.0, independent - 2);
  return std::abs(per_minute) > measure::coverage_factor(0.95, freedom) * uncertainty;
}

SeriesSummary summarise(const Series& series) {
  if (series.size() < 8) throw input::DomainError("a series needs at least eight readings");
  for (std::size_t i = 1; i < series.size(); ++i)
    if (!(series.time[i] > series.time[i - 1])) throw input::DomainError("the times of a series must rise");
  SeriesSummary summary;
  summary.seconds = series.time.back() - series.time.front();
  std::vector<double> steps(series.size() - 1);
  for (std::size_t i = 0; i + 1 < series.size(); ++i) steps[i] = series.time[i + 1] - series.time[i];
  summary.rate = 1 / median(steps);
  summary.sound.assign(series.size(), true);
  summary.events = find_events(series, summary.sound);
  summary.outliers = find_outliers(series, summary.sound);
  for (const std::size_t at : summary.outliers) summary.sound[at] = false;
  std::vector<double> time;
  std::vector<double> amps;
  for (std::size_t i = 0; i < series.size(); ++i)
    if (summary.sound[i]) {
      time.push_back(series.time[i]);
      amps.push_back(series.amps[i]);
    }
  if (amps.size() < 8) throw input::DomainError("too few readings are left beside outliers and stalls");
  summary.amps = correlated_mean(amps);
  summary.drift = drift_of(time, amps);
  for (std::size_t i = 1; i < series.lap_marks.size(); ++i)
    summary.lap_times.push_back(series.lap_marks[i] - series.lap_marks[i - 1]);
  return summary;
}

}  // namespace wheeltapper::bench
