#include "engine/bench/infer_drive.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/bench/drive_model.hpp"
#include "engine/bench/explanations.hpp"
#include "engine/input/input_error.hpp"
#include "engine/measure/propagate.hpp"

namespace wheeltapper::bench {
namespace {

using Eigen::VectorXd;

constexpr double kWorstLine = 0.6;  // relative uncertainty of the flux figure from which a line says nothing
constexpr std::uint64_t kSeed = 20260101;

measure::Estimates linear(const DriveModel& model, VectorXd (DriveModel::*result)(const VectorXd&) const) {
  return measure::propagate(model.in(), [&](const VectorXd& x) { return (model.*result)(x); });
}

/// The line's R and F into `out`; false where they are known too badly to be of use.
bool put_line(const DriveModel& model, Indexes& out) {
  const measure::Estimates line = linear(model, &DriveModel::line);
  if (!(line.value(1) > 0) || line.uncertainty(1) > kWorstLine * line.value(1)) return false;
  out.resistance = one_of(line, 0);
  out.flux_figure = one_of(line, 1);
  out.resistance_flux_correlation = line.correlation(0, 1);
  if (line.uncertainty(1) <= kLinearUpTo * line.value(1)) return true;
  const measure::Sampled drawn = measure::propagate_by_sampling(
      model.in(), [&](const VectorXd& x) { return model.line(x); }, kSamples, kSeed);
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
measure::Estimates put_apart_sampled(const DriveModel& model, const VectorXd& value, Indexes& out) {
  const measure::Sampled drawn = measure::propagate_by_sampling(
      model.in(), [&](const VectorXd& x) { return model.apart(x); }, kSamples, kSeed);
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
    *drag = symmetrical((*drag)->value * mean, std::hypot((*drag)->uncertainty * mean, (*drag)->value * uncertainty));
}

/// A baseline whose runs make no good line counts with the one that is nearest in volts.
void drop_bad_line(const MotorFacts& facts, double volts, DriveRuns& base) {
  if (base.points.size() < 2) return;
  try {
    const measure::Estimates line = linear(DriveModel(facts, base, nullptr), &DriveModel::line);
    if (line.value(1) > 0 && line.uncertainty(1) <= kLinearUpTo * line.value(1)) return;
  } catch (const input::DomainError&) {  // then it is bad
  }
  base.points = {*std::ranges::min_element(
      base.points, {}, [&](const DrivePoint& point) { return std::abs(point.volts.value - volts); })};
}

void put_against_base(const DriveModel& model, const Baseline& base, const DriveRuns& now, bool has_line,
                      Indexes& out) {
  const VectorXd& x = model.in().value;
  out.ohms_scale = model.base_volts_per_amp(x);
  const double ohms_range = 1.2 * out.ohms_scale;
  if (has_line) {
    out.way = Indexes::Way::line_to_base;
    measure::Estimates apart = linear(model, &DriveModel::apart);
    put_apart(apart, out);
    if (out.sampled) apart = put_apart_sampled(model, apart.value, out);
    out.explanations = explain_line(apart, ohms_range);
  } else {
    out.way = Indexes::Way::run_to_base;
    out.explanations = explain_run(linear(model, &DriveModel::together), model.generated_per_amp(x), ohms_range);
  }
  out.contradiction = out.explanations.empty();
  if (now.neutral && base.runs.neutral) out.parallel_rise = one_of(linear(model, &DriveModel::parallel_rise), 0);
  if (!model.can_split()) return;
  const measure::Estimates split = linear(model, &DriveModel::split);
  out.drive_drag = one_of(split, 0);
  out.train_drag = one_of(split, 1);
  if (!has_line) by_flux_of_explanations(out);
}

/// What infer() works with: runs that are alike drawn together, and a baseline of one line or one run.
struct Prepared {
  MotorFacts facts;
  DriveRuns now;
  std::optional<Baseline> base;

  DriveModel model() const { return {facts, now, base ? &*base : nullptr}; }
  bool has_many() const { return now.points.size() > 1; }
};

Prepared prepared(const MotorFacts& facts, const DriveRuns& now, const Baseline* base) {
  if (now.points.empty() || (base != nullptr && base->runs.points.empty()))
    throw input::DomainError("no run with volts, amps and laps");
  Prepared out{facts, drawn_together(now), std::nullopt};
  if (base == nullptr) return out;
  out.base = *base;
  out.base->runs = drawn_together(base->runs);
  drop_bad_line(facts, out.now.points.front().volts.value, out.base->runs);
  return out;
}

/// Runs that make no line of their own count with the one that is nearest to the baseline's speed.
void keep_nearest_run(Prepared& what) {
  const double rate = what.base->runs.points.front().rate.value;
  what.now.points = {*std::ranges::min_element(
      what.now.points, {}, [&](const DrivePoint& point) { return std::abs(point.rate.value - rate); })};
}

const char* nothing_without_base(bool many) {
  return many ? "the runs lie too near each other to tell resistance from flux: set volts that are at least a quarter "
                "apart"
              : "one run alone says nothing about the drive: it needs a second one at other volts, or the figures of a "
                "healthy run";
}

/// Why the runs can't be compared with the baseline; nothing where they can.
std::optional<std::string> too_far(const DriveModel& model) {
  const double base_rate = model.base_rate(model.in().value);
  const double apart = model.nearest_rate(model.in().value) / base_rate - 1;
  if (std::abs(apart) <= kMostSpeedApart) return std::nullopt;
  return fmt::format(
      "the nearest run is {:.0f} % {} than the healthy one, too far off to compare: read one at about {:.3g} laps a "
      "minute where the volts of the test reach, or take healthy figures at this one's volts",
      std::abs(apart) * 100, apart < 0 ? "slower" : "faster", base_rate);
}

}  // namespace

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

DriveInference infer(const MotorFacts& facts, const DriveRuns& given, const Baseline* base) {
  Prepared what = prepared(facts, given, base);
  DriveModel model = what.model();
  Indexes out;
  const bool has_line = what.has_many() && put_line(model, out);
  if (!has_line && what.has_many() && what.base) {
    keep_nearest_run(what);
    model = what.model();
  }
  if (what.now.neutral) out.parallel = one_of(linear(model, &DriveModel::parallel), 0);
  if (!what.base) {
    if (has_line) return {out, {}};
    return {std::nullopt, nothing_without_base(given.points.size() > 1)};
  }
  if (const auto why = too_far(model)) return {std::nullopt, *why};
  put_against_base(model, *what.base, what.now, has_line, out);
  return {out, {}};
}

}  // namespace wheeltapper::bench
