#pragma once
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/input/input_error.hpp"

namespace wheeltapper::bench {

/// A series of readings, logged or typed from a video of the meter. Times rise strictly.
struct Series {
  std::vector<double> time;       ///< s
  std::vector<double> amps;       ///< A
  std::vector<double> volts;      ///< V; empty, or one a time
  std::vector<double> lap_marks;  ///< s: it passed the start of the loop; may be empty
  std::size_t size() const noexcept { return time.size(); }
};

/// A mean whose readings are not independent: u^2 = s^2 / n * (1 + 2 sum over lags of (1 - k/n) r_k), the sum of the
/// autocorrelation over Geyer's initial positive sequence of pairs (Statistical Science 7, 1992, 473-483, formula from
/// memory). JCGM 100:2008, 4.2.7 asks for such a treatment and leaves it open.
struct SeriesMean {
  double mean = 0;
  double deviation = 0;    ///< of single readings
  double uncertainty = 0;  ///< of the mean (Type A)
  double independent = 0;  ///< how many independent readings it is worth, at least 1
};
/// \throws input::DomainError  for fewer than two readings
SeriesMean correlated_mean(std::span<const double> readings);

/// A straight line through time, with the slope's standard uncertainty corrected in the same way.
struct SeriesDrift {
  double start = 0;  ///< value of the line at the first reading
  double per_minute = 0;
  double uncertainty = 0;  ///< of per_minute
  double independent = 0;  ///< how many independent readings it rests on
  /// Beyond what chance makes of a level series once in 20 times (Student's t).
  bool provable() const;
};
SeriesDrift drift_of(std::span<const double> time, std::span<const double> readings);

/// A stretch in which the current was as good as gone (contact lost), or far above the usual (it stood or bound).
struct SeriesEvent {
  enum class Kind { lost, surge };
  Kind kind;
  double from, to;  ///< s
  double amps;      ///< mean over it
};

/// What a series shows before it is folded by laps.
struct SeriesSummary {
  double rate = 0;                    ///< readings a second
  double seconds = 0;                 ///< from first to last
  SeriesMean amps;                    ///< without outliers and events
  SeriesDrift drift;                  ///< of the amps
  std::vector<std::size_t> outliers;  ///< single readings far off their neighbours: slips of typing or of the meter
  std::vector<SeriesEvent> events;
  std::vector<double> lap_times;  ///< s, between marks
  std::vector<bool> sound;        ///< by reading: neither an outlier nor in an event
};
/// An outlier is a single reading over 6 robust deviations (1.4826 median absolute deviations) from the median of its
/// seven neighbours; an event at least two readings, and 0.3 s, below 0.3 or above 1.8 of the median (elicited
/// judgement). \throws input::DomainError  for fewer than 8 readings or times that do not rise
SeriesSummary summarise(const Series& series);

/// Autocorrelation of evenly spaced readings at lags 0 .. n/2, by fast Fourier transform.
std::vector<double> autocorrelation(std::span<const double> readings);

}  // namespace wheeltapper::bench
