#include "engine/bench/drive_runs.hpp"

#include <algorithm>
#include <cmath>
#include <span>

namespace wheeltapper::bench {
namespace {

constexpr double kSameAmps = 0.1;

bool near_to(const UncertainValue& a, const UncertainValue& b, double share) {
  return std::abs(b.value / a.value - 1) <= share;
}

bool alike(const DrivePoint& a, const DrivePoint& b) {
  return near_to(a.volts, b.volts, kSameVolts) && near_to(a.amps, b.amps, kSameAmps);
}

UncertainValue mean_of(std::span<const DrivePoint> points, UncertainValue DrivePoint::*what) {
  const auto n = static_cast<double>(points.size());
  UncertainValue all;
  for (const DrivePoint& each : points) {
    all.value += (each.*what).value / n;
    all.shared += (each.*what).shared / n;
    all.own += (each.*what).own * (each.*what).own;
  }
  all.own = std::sqrt(all.own) / n;
  return all;
}

}  // namespace

DriveRuns drawn_together(const DriveRuns& runs) {
  DriveRuns out = runs;
  out.points.clear();
  std::vector<DrivePoint> left = runs.points;
  while (!left.empty()) {
    const auto others = std::stable_partition(
        left.begin(), left.end(), [first = left.front()](const DrivePoint& each) { return alike(first, each); });
    const std::span group(left.begin(), others);
    out.points.push_back(
        {mean_of(group, &DrivePoint::volts), mean_of(group, &DrivePoint::amps), mean_of(group, &DrivePoint::rate)});
    left.erase(left.begin(), others);
  }
  return out;
}

}  // namespace wheeltapper::bench
