#include "engine/bench/laps.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <random>
#include <stdexcept>

#include "engine/input/input_error.hpp"
#include "engine/measure/robust.hpp"

namespace wheeltapper::bench {
namespace {

constexpr std::size_t kBins = Fold::kBins;
constexpr std::size_t kLeastLaps = 3;
constexpr double kLeastPerLap = 12;
constexpr double kShortestLap = 2;       // s
constexpr double kLeastReturn = 0.12;    // autocorrelation that counts as returning
constexpr double kHigherMultiple = 0.7;  // of the highest peak: a shorter lag this good is the lap
constexpr double kOddLap = 0.4;          // off the median, as a share
constexpr double kTold = 0.04;           // that a lap time found may be off the one told
constexpr int kTurnings = 200;

/// All readings with the straight drift taken off. What is far off counts, as a lost contact that returns each lap is
/// just what is looked for, but no further than kMostOff robust deviations: a slip of typing must not weigh all.
struct Cleaned {
  std::vector<double> time;
  std::vector<double> amps;
};

Cleaned cleaned(const Series& series, const SeriesSummary& summary) {
  constexpr double kMostOff = 8;
  Cleaned out{series.time, series.amps};
  for (std::size_t i = 0; i < series.size(); ++i) {
    out.amps[i] -= summary.drift.start + summary.drift.per_minute / 60 * (series.time[i] - series.time.front());
  }
  const double most = std::max(kMostOff * measure::robust_deviation(out.amps), 1e-9);
  for (double& each : out.amps) each = std::clamp(each, -most, most);
  return out;
}

/// On an even grid of `step`, by straight lines between readings.
std::vector<double> even(const Cleaned& data, double step) {
  std::vector<double> out;
  std::size_t i = 0;
  for (double t = data.time.front(); t <= data.time.back(); t += step) {
    while (i + 2 < data.time.size() && data.time[i + 1] < t) ++i;
    const double part = (t - data.time[i]) / (data.time[i + 1] - data.time[i]);
    out.push_back((1 - part) * data.amps[i] + part * data.amps[i + 1]);
  }
  return out;
}

/// Over three neighbours, so that a lap of so many and a half steps returns as well as one of a whole number.
std::vector<double> smoothed(const std::vector<double>& values) {
  std::vector<double> out(values);
  for (std::size_t i = 1; i + 1 < values.size(); ++i) out[i] = (values[i - 1] + 2 * values[i] + values[i + 1]) / 4;
  return out;
}

/// Standard deviation of the autocorrelation of noise that hangs together over its first lags only (Bartlett's
/// formula).
double uncertainty_of_noise(const std::vector<double>& r, double readings) {
  double sum = 1;
  for (std::size_t k = 1; k < r.size() && r[k] > 0; ++k) sum += 2 * r[k] * r[k];
  return std::sqrt(sum / readings);
}

/// The lag, in steps, of the lap; nothing if nothing returns.
std::optional<double> returning_lag(const std::vector<double>& r, double least, double most, double readings) {
  const auto from = static_cast<std::size_t>(std::max(2.0, std::ceil(least)));
  const auto to = std::min(r.size() - 2, static_cast<std::size_t>(std::max(most, 0.0)));
  struct Peak {
    double lag, height;
  };
  std::vector<Peak> peaks;
  for (std::size_t k = from; k <= to; ++k) {
    if (!(r[k] >= r[k - 1] && r[k] >= r[k + 1])) continue;
    const double bend = r[k - 1] - 2 * r[k] + r[k + 1];
    const double shift = bend < 0 ? (r[k - 1] - r[k + 1]) / (2 * bend) : 0;
    peaks.push_back({static_cast<double>(k) + std::clamp(shift, -0.5, 0.5), r[k]});
  }
  if (peaks.empty()) return std::nullopt;
  const double highest = std::ranges::max(peaks, {}, &Peak::height).height;
  if (highest < std::max(kLeastReturn, 4.5 * uncertainty_of_noise(r, readings))) return std::nullopt;
  return std::ranges::find_if(peaks, [&](const Peak& p) { return p.height >= kHigherMultiple * highest; })->lag;
}

/// Laps passed at time t from the start, for a lap time that grows by `growth` a second (dimensionless):
/// ln(1 + g t / lap) / g by its series, as the growth over a whole run is small.
double laps_at(double t, double laps_a_second, double growth) {
  const double laps = t * laps_a_second;
  const double x = growth * laps;
  return laps * (1 - x * (0.5 - x * (1.0 / 3 - x * 0.25)));
}

/// How much of the amps' variance returns with this lap.
double returning(const Cleaned& data, double lap, double growth) {
  std::array<double, kBins> sum{};
  std::array<double, kBins> count{};
  const double start = data.time.front();
  const double laps_a_second = 1 / lap;
  for (std::size_t i = 0; i < data.time.size(); ++i) {
    const double laps = laps_at(data.time[i] - start, laps_a_second, growth);
    const auto whole = static_cast<double>(static_cast<std::int64_t>(laps));  // they are not below 0
    const auto bin = std::min(kBins - 1, static_cast<std::size_t>((laps - whole) * kBins));
    sum[bin] += data.amps[i];
    ++count[bin];
  }
  double strength = 0;
  for (std::size_t b = 0; b < kBins; ++b)
    if (count[b] > 0) strength += sum[b] * sum[b] / count[b];
  return strength;
}

double squares(const Cleaned& data) {
  double sum = 1e-30;
  for (const double each : data.amps) sum += each * each;
  return sum;
}

struct LapTime {
  double lap, growth;
};

constexpr double kSteady = 1.05;

/// The best of a grid about `centre`: steps of `fineness` bins in the lap time and in its growth, each measured at the
/// end of a stretch of `laps` laps.
LapTime best_of_grid(const Cleaned& part, LapTime centre, double laps, double fineness, int lap_reach,
                     int growth_reach) {
  const double lap_step = fineness * centre.lap / (laps * kBins);
  const double growth_step = fineness * 2 / (laps * laps * kBins);
  LapTime best = centre;
  double most = -1;
  for (int a = -lap_reach; a <= lap_reach; ++a)
    for (int g = -growth_reach; g <= growth_reach; ++g) {
      const LapTime tried{centre.lap + a * lap_step, centre.growth + g * growth_step};
      // A lap time that does not change is the better guess where both fold alike.
      const double strength = returning(part, tried.lap, tried.growth) * (tried.growth == 0 ? kSteady : 1.0);
      if (strength > most) {
        most = strength;
        best = tried;
      }
    }
  return best;
}

/// A wide search over the first laps, then on to ever later ones, so that the lap time is known to a part of a bin over
/// the whole series.
/// Nothing where the end of the series does not return as its beginning does.
std::optional<LapTime> refined(const Cleaned& data, double lap) {
  constexpr double kFirst = 12;
  constexpr double kLapUncertainty = 0.04;
  constexpr double kGrowthUncertainty = 0.05;  // of the lap time, over the first laps
  const double whole = data.time.back() - data.time.front();
  Cleaned part;
  const auto until = [&](double seconds) {
    const auto end = std::ranges::upper_bound(data.time, data.time.front() + seconds) - data.time.begin();
    part.time.assign(data.time.begin(), data.time.begin() + end);
    part.amps.assign(data.amps.begin(), data.amps.begin() + end);
  };
  double seconds = std::min(whole, kFirst * lap);
  const double laps = seconds / lap;
  until(seconds);
  constexpr double kCoarse = 1.5;  // bins a step
  LapTime best =
      best_of_grid(part, {lap, 0}, laps, kCoarse, static_cast<int>(std::ceil(kLapUncertainty * laps * kBins / kCoarse)),
                   static_cast<int>(std::ceil(kGrowthUncertainty * laps / 2 * kBins / kCoarse)));
  const double share = returning(part, best.lap, best.growth) / squares(part);
  while (seconds < whole) {
    seconds = std::min(whole, seconds * 2);
    until(seconds);
    best = best_of_grid(part, best, seconds / best.lap, 1, 2, 2);
  }
  best = best_of_grid(part, best, seconds / best.lap, 0.4, 2, 1);
  constexpr double kHolds = 0.5;
  if (returning(part, best.lap, best.growth) < kHolds * share * squares(part)) return std::nullopt;
  return best;
}

/// Mean residual by lap and bin; a count of 0 where no reading fell.
struct Binned {
  std::vector<std::array<double, kBins>> sum;
  std::vector<std::array<double, kBins>> count;
};

/// False for a lap that a missed mark or a gap in the log made up.
bool sound_lap(const LapMarks& laps, std::size_t lap) {
  const double share = (laps.at[lap + 1] - laps.at[lap]) / laps.lap_seconds;
  return share > 1 - kOddLap && share < 1 + kOddLap;
}

/// Place of a time within its lap; nothing before the first mark or after the last.
struct Passed {
  std::size_t lap;
  double place;
};
std::optional<Passed> passed(const LapMarks& laps, double time) {
  const auto after = std::ranges::upper_bound(laps.at, time);
  if (after == laps.at.begin() || after == laps.at.end()) return std::nullopt;
  const auto lap = static_cast<std::size_t>(after - laps.at.begin()) - 1;
  if (!sound_lap(laps, lap)) return std::nullopt;
  return Passed{lap, (time - laps.at[lap]) / (laps.at[lap + 1] - laps.at[lap])};
}

Binned binned(const Cleaned& data, const LapMarks& laps) {
  Binned out;
  out.sum.resize(laps.at.size() - 1);
  out.count.resize(laps.at.size() - 1);
  for (std::size_t i = 0; i < data.time.size(); ++i) {
    const auto where = passed(laps, data.time[i]);
    if (!where) continue;
    const auto bin = std::min(kBins - 1, static_cast<std::size_t>(where->place * kBins));
    out.sum[where->lap][bin] += data.amps[i];
    ++out.count[where->lap][bin];
  }
  return out;
}

/// Constant and first two harmonics of the folded course.
using Shape = Eigen::Matrix<double, 5, 1>;
Shape basis(double place) {
  const double a = 2 * std::numbers::pi * place;
  Shape row;
  row << 1, std::cos(a), std::sin(a), std::cos(2 * a), std::sin(2 * a);
  return row;
}

double middle_of(std::size_t bin) { return (static_cast<double>(bin) + 0.5) / kBins; }

/// The smooth shape, fitted to readings that are not far off it (two rounds), so that a spot does not bend it.
Shape smooth_shape(const Cleaned& data, const LapMarks& laps) {
  struct Point {
    Shape row;
    double amps;
  };
  std::vector<Point> points;
  for (std::size_t i = 0; i < data.time.size(); ++i)
    if (const auto where = passed(laps, data.time[i])) points.push_back({basis(where->place), data.amps[i]});
  Shape shape = Shape::Zero();
  double limit = std::numeric_limits<double>::infinity();
  std::vector<double> off(points.size());
  for (int round = 0; round < 3; ++round) {
    Eigen::Matrix<double, 5, 5> normal = Eigen::Matrix<double, 5, 5>::Identity() * 1e-12;
    Shape right = Shape::Zero();
    for (const Point& point : points) {
      if (std::abs(point.amps - point.row.dot(shape)) > limit) continue;
      normal += point.row * point.row.transpose();
      right += point.row * point.amps;
    }
    shape = normal.ldlt().solve(right);
    std::ranges::transform(points, off.begin(),
                           [&](const Point& point) { return std::abs(point.amps - point.row.dot(shape)); });
    limit = 2.5 * measure::robust_deviation(off);
  }
  return shape;
}

/// Largest excursion of the laps' common course, each lap turned by so many bins, in units of its own uncertainty.
struct Highest {
  double size = 0;
  std::size_t bin = 0;
};

class Course {
 public:
  Course(const Binned& data, std::size_t laps) : data_(data), laps_(laps) {
    double squares = 0;
    double readings = 0;
    for (std::size_t lap = 0; lap < laps; ++lap)
      for (std::size_t b = 0; b < kBins; ++b)
        if (data.count[lap][b] > 0) {
          squares += data.sum[lap][b] * data.sum[lap][b] / data.count[lap][b];
          ++readings;
        }
    deviation_ = std::sqrt(std::max(squares / std::max(readings, 1.0), 1e-30));
  }

  /// Means over laps of two bins side by side (a spot seldom falls into one), over their uncertainty.
  std::array<double, kBins> scores(const std::vector<std::size_t>& turned) const {
    std::array<double, kBins> sum{};
    std::array<double, kBins> count{};
    for (std::size_t lap = 0; lap < laps_; ++lap) {
      const std::size_t by = turned[lap];
      const std::size_t split = kBins - by;
      for (std::size_t b = 0; b < split; ++b) {
        sum[b + by] += data_.sum[lap][b];
        count[b + by] += data_.count[lap][b];
      }
      for (std::size_t b = split; b < kBins; ++b) {
        sum[b - split] += data_.sum[lap][b];
        count[b - split] += data_.count[lap][b];
      }
    }
    std::array<double, kBins> score{};
    for (std::size_t b = 0; b < kBins; ++b) {
      const std::size_t next = (b + 1) % kBins;
      const double n = count[b] + count[next];
      if (n > 0) score[b] = (sum[b] + sum[next]) / std::sqrt(n) / deviation_;
    }
    return score;
  }

  static Highest highest(const std::array<double, kBins>& score) {
    Highest best;
    for (std::size_t b = 0; b < kBins; ++b)
      if (std::abs(score[b]) > std::abs(best.size)) best = {score[b], b};
    return best;
  }

 private:
  const Binned& data_;
  std::size_t laps_;
  double deviation_;
};

/// Gumbel distribution of the largest excursion when no place is special.
struct Gumbel {
  double location, scale;
  double chance_above(double x) const { return -std::expm1(-std::exp(-(x - location) / scale)); }
};

Gumbel by_turning(const Course& course, std::size_t laps, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<std::size_t> turned(laps);
  double sum = 0;
  double squares = 0;
  for (int i = 0; i < kTurnings; ++i) {
    for (std::size_t& each : turned) each = static_cast<std::size_t>(random() % kBins);
    const double size = std::abs(Course::highest(course.scores(turned)).size);
    sum += size;
    squares += size * size;
  }
  const double mean = sum / kTurnings;
  const double deviation = std::sqrt(std::max(squares / kTurnings - mean * mean, 1e-12));
  const double scale = deviation * std::sqrt(6.0) / std::numbers::pi;  // by moments
  return {mean - std::numbers::egamma * scale, scale};
}

/// Middle of the excursion about a bin: centre of gravity of the same sign over two bins either side.
double centre_of(const std::array<double, kBins>& mean, const std::array<double, kBins>& count, std::size_t bin) {
  double weight = 0;
  double moment = 0;
  const double sign = mean[bin] + mean[(bin + 1) % kBins] < 0 ? -1 : 1;
  double highest = 0;
  for (int d = -2; d <= 3; ++d) {
    const std::size_t b = (bin + kBins + static_cast<std::size_t>(d + static_cast<int>(kBins))) % kBins;
    if (count[b] > 0) highest = std::max(highest, sign * mean[b]);
  }
  for (int d = -2; d <= 3; ++d) {
    const std::size_t b = (bin + static_cast<std::size_t>(d + static_cast<int>(kBins))) % kBins;
    const double height = count[b] > 0 ? sign * mean[b] : 0;
    if (height < 0.35 * highest) continue;
    weight += height;
    moment += height * d;
  }
  const double at = (static_cast<double>(bin) + 0.5 + (weight > 0 ? moment / weight : 0)) / kBins;
  return at - std::floor(at);
}

void take_out(Binned& data, std::size_t bin) {
  for (std::size_t lap = 0; lap < data.sum.size(); ++lap)
    for (int d = -2; d <= 3; ++d) {
      const std::size_t b = (bin + static_cast<std::size_t>(d + static_cast<int>(kBins))) % kBins;
      data.sum[lap][b] = data.count[lap][b] = 0;
    }
}

/// Smoothed over about half a second, and three readings at least: a swing with the wheels must not pass for laps.
std::vector<double> smoothed_grid(const Cleaned& data, double rate) {
  constexpr double kHalfASecond = 0.5;
  std::vector<double> grid = even(data, 1 / rate);
  const double reach = kHalfASecond * rate;
  for (int i = 0; i < static_cast<int>(std::clamp(reach * reach / 2, 1.0, 200.0)); ++i) grid = smoothed(grid);
  return grid;
}

/// Where each lap begins, laps growing or shrinking at a steady rate.
std::vector<double> marks_of(const LapTime& time, const Cleaned& data) {
  std::vector<double> marks;
  const double start = data.time.front();
  for (double laps = 0;; ++laps) {
    const double at = time.growth == 0 ? laps * time.lap : std::expm1(laps * time.growth) * time.lap / time.growth;
    if (start + at > data.time.back() || !std::isfinite(at)) return marks;
    marks.push_back(start + at);
  }
}

}  // namespace

std::vector<double> sound_laps(const std::vector<double>& marks) {
  std::vector<double> laps;
  for (std::size_t i = 1; i < marks.size(); ++i) laps.push_back(marks[i] - marks[i - 1]);
  if (laps.empty()) return laps;
  const double usual = measure::median(laps);
  std::erase_if(laps, [&](double lap) { return std::abs(lap / usual - 1) > kOddLap; });
  return laps;
}

std::optional<LapMarks> find_laps(const Series& series, const SeriesSummary& summary, std::optional<double> expected) {
  if (series.lap_marks.size() > kLeastLaps) {
    const std::vector<double> laps = sound_laps(series.lap_marks);
    return LapMarks{series.lap_marks, false,
                    std::accumulate(laps.begin(), laps.end(), 0.0) / static_cast<double>(laps.size())};
  }
  constexpr double kMostGaps = 4;  // of the readings: beyond that the series has holes that no grid should fill
  if (summary.seconds * summary.rate > kMostGaps * static_cast<double>(series.size())) return std::nullopt;
  const Cleaned data = cleaned(series, summary);
  const double step = 1 / summary.rate;
  const std::vector<double> grid = smoothed_grid(data, summary.rate);
  if (grid.size() < 40) return std::nullopt;
  const double least = expected ? *expected * 6 / 7 : kShortestLap;
  const double most = expected ? *expected * 8 / 7 : summary.seconds / kLeastLaps;
  const auto lag = returning_lag(autocorrelation(grid), least / step, most / step, static_cast<double>(grid.size()));
  if (!lag || *lag * step * kLeastLaps > summary.seconds) return std::nullopt;
  const auto time = refined(data, *lag * step);
  if (!time) return std::nullopt;
  LapMarks marks{marks_of(*time, data), true, 0};
  if (marks.at.size() <= kLeastLaps) return std::nullopt;
  marks.lap_seconds = (marks.at.back() - marks.at.front()) / static_cast<double>(marks.at.size() - 1);
  if (expected && std::abs(marks.lap_seconds / *expected - 1) > kTold) return std::nullopt;
  return marks;
}

std::optional<Fold> fold(const Series& series, const SeriesSummary& summary, const LapMarks& laps, double false_alarm,
                         std::uint64_t seed) {
  const std::size_t whole = laps.at.size() - 1;
  if (laps.at.size() <= kLeastLaps || laps.lap_seconds * summary.rate < kLeastPerLap) return std::nullopt;
  Cleaned data = cleaned(series, summary);
  const Shape shape = smooth_shape(data, laps);
  for (std::size_t i = 0; i < data.time.size(); ++i)
    if (const auto where = passed(laps, data.time[i])) data.amps[i] -= basis(where->place).dot(shape);
  Binned bins = binned(data, laps);
  Fold out{.course = std::vector<double>(kBins, std::numeric_limits<double>::quiet_NaN()),
           .spots = {},
           .laps = whole,
           .false_alarm = false_alarm};
  std::array<double, kBins> mean{};
  std::array<double, kBins> count{};
  for (std::size_t b = 0; b < kBins; ++b) {
    for (std::size_t lap = 0; lap < whole; ++lap) {
      mean[b] += bins.sum[lap][b];
      count[b] += bins.count[lap][b];
    }
    if (count[b] == 0) continue;
    mean[b] /= count[b];
    out.course[b] = summary.amps.mean + basis(middle_of(b)).dot(shape) + mean[b];
  }
  const std::vector<std::size_t> still(whole, 0);
  constexpr std::size_t kMostSpots = 4;
  while (out.spots.size() < kMostSpots) {
    const Course course(bins, whole);
    const Highest highest = Course::highest(course.scores(still));
    const double chance = by_turning(course, whole, seed).chance_above(std::abs(highest.size));
    if (!(chance < false_alarm)) break;
    const std::size_t next = (highest.bin + 1) % kBins;
    const bool here = std::abs(mean[highest.bin]) > std::abs(mean[next]);
    const double amps = here ? mean[highest.bin] : mean[next];
    out.spots.push_back({centre_of(mean, count, highest.bin), amps, amps / std::abs(summary.amps.mean), chance});
    take_out(bins, highest.bin);
  }
  return out;
}

namespace {

/// Bins, with their neighbours, whose course stands out: at the edge of a bad joint readings fall now inside, now
/// outside, which no mean takes off.
std::vector<bool> odd_places(const Cleaned& data, const std::vector<std::size_t>& at,
                             const std::vector<double>& course) {
  constexpr double kOdd = 3;
  std::vector<double> size;
  for (std::size_t i = 0; i < data.time.size(); ++i)
    if (at[i] < course.size()) size.push_back(std::abs(data.amps[i] - course[at[i]]));
  std::vector<bool> odd(course.size(), false);
  if (size.empty()) return odd;
  const double noise = measure::robust_deviation(size);
  const double middle = measure::median(course);
  const std::size_t n = course.size();
  for (std::size_t b = 0; b < n; ++b)
    if (std::abs(course[b] - middle) > kOdd * noise)
      for (const std::size_t beside : {b, (b + 1) % n, (b + n - 1) % n}) odd[beside] = true;
  return odd;
}

/// Takes the mean course round the loop off, in bins of the width of a reading.
void take_course_off(Cleaned& data, const LapMarks& laps, double rate) {
  const auto bins = static_cast<std::size_t>(std::clamp(laps.lap_seconds * rate, 8.0, 400.0));
  std::vector<double> sum(bins, 0.0);
  std::vector<double> count(bins, 0.0);
  std::vector<std::size_t> at(data.time.size(), bins);
  for (std::size_t i = 0; i < data.time.size(); ++i)
    if (const auto where = passed(laps, data.time[i])) {
      at[i] = std::min(bins - 1, static_cast<std::size_t>(where->place * static_cast<double>(bins)));
      sum[at[i]] += data.amps[i];
      ++count[at[i]];
    }
  for (std::size_t b = 0; b < bins; ++b) sum[b] /= std::max(count[b], 1.0);
  const std::vector<bool> odd = odd_places(data, at, sum);
  Cleaned left;
  for (std::size_t i = 0; i < data.time.size(); ++i)
    if (at[i] < bins && !odd[at[i]]) {
      left.time.push_back(data.time[i]);
      left.amps.push_back(data.amps[i] - sum[at[i]]);
    }
  data = std::move(left);
}

/// Squared amplitude of the sine that fits best at a frequency.
double power_at(const Cleaned& data, double frequency) {
  Eigen::Matrix2d normal = Eigen::Matrix2d::Zero();
  Eigen::Vector2d right = Eigen::Vector2d::Zero();
  for (std::size_t i = 0; i < data.time.size(); ++i) {
    const double a = 2 * std::numbers::pi * frequency * data.time[i];
    const Eigen::Vector2d row(std::cos(a), std::sin(a));
    normal += row * row.transpose();
    right += row * data.amps[i];
  }
  return (normal.inverse() * right).squaredNorm();
}

struct Swing {
  double amplitude;
  double chance;
};

/// The best within the uncertainty of a frequency, against the mean power of as many frequencies on either side.
Swing best_swing(const Cleaned& data, double frequency) {
  constexpr double kDoubt = 0.04;
  constexpr double kStepsEachSide = 24;
  const double apart = 1 / (data.time.back() - data.time.front());  // frequencies nearer than this are one
  const double width = std::max(kDoubt * frequency, apart);
  const double tried = std::max(1.0, 2 * width / apart);
  const int steps = std::clamp(static_cast<int>(std::ceil(2 * tried)), 2, 400);
  double best = 0;
  for (int k = 0; k <= steps; ++k) best = std::max(best, power_at(data, frequency - width + 2 * width * k / steps));
  double noise = 0;
  for (int k = 1; k <= static_cast<int>(kStepsEachSide); ++k)
    for (const double side : {-1.0, 1.0})
      noise += power_at(data, std::max(frequency * 0.1, frequency + side * width * (1.2 + 2.0 * k / kStepsEachSide)));
  noise /= 2 * kStepsEachSide;
  // The power of noise at one frequency is exponentially distributed.
  return {std::sqrt(best), noise > 0 ? std::min(1.0, tried * std::exp(-best / noise)) : 1.0};
}

}  // namespace

TurnSwing turn_swing(const Series& series, const SeriesSummary& summary, double turn_seconds, const LapMarks* laps) {
  if (!(turn_seconds > 0)) throw input::DomainError("a turn takes some time");
  constexpr double kLeastPerTurn = 5;
  constexpr std::size_t kLeast = 32;
  TurnSwing out{.turn_seconds = turn_seconds};
  Cleaned data = cleaned(series, summary);
  if (data.time.size() > kMostSwing) {
    data.time.resize(kMostSwing);
    data.amps.resize(kMostSwing);
  }
  if (laps != nullptr) take_course_off(data, *laps, summary.rate);
  if (turn_seconds * summary.rate < kLeastPerTurn || data.time.size() < kLeast) {
    out.too_slow = true;
    return out;
  }
  const Swing once = best_swing(data, 1 / turn_seconds);
  const Swing twice = best_swing(data, 2 / turn_seconds);
  out.once = once.amplitude;
  out.chance_once = once.chance;
  out.twice = twice.amplitude;
  out.chance_twice = twice.chance;
  return out;
}

}  // namespace wheeltapper::bench
