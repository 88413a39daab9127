#include "engine/bench/warmth.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "engine/input/input_error.hpp"
#include "engine/measure/propagate.hpp"

namespace wheeltapper::bench {

double intercept_of(double alpha, double at_celsius) {
  if (!(alpha > 0)) throw input::DomainError("a temperature coefficient must be above 0");
  return 1 / alpha - at_celsius;
}

double winding_rise(double cold_ohms, double hot_ohms, double cold_celsius, double room_celsius, double k) {
  return (hot_ohms - cold_ohms) / cold_ohms * (k + cold_celsius) + cold_celsius - room_celsius;
}

measure::Measurement winding_rise(const measure::Measurement& cold_ohms, const measure::Measurement& hot_ohms,
                                  const measure::Measurement& cold, const measure::Measurement& room, double k) {
  const measure::Measurement given[] = {cold_ohms.in(measure::unit("Ohm")), hot_ohms.in(measure::unit("Ohm")),
                                        cold.in(measure::unit("Cel")), room.in(measure::unit("Cel"))};
  if (!(given[0].value() > 0 && given[1].value() > 0)) throw input::DomainError("ohms must be above 0");
  measure::Estimates in{Eigen::VectorXd(4), Eigen::MatrixXd::Zero(4, 4)};
  for (Eigen::Index i = 0; i < 4; ++i) {
    in.value(i) = given[i].value();
    in.covariance(i, i) = given[i].uncertainty() * given[i].uncertainty();
  }
  const measure::Estimates out = measure::propagate(in, [&](const Eigen::VectorXd& x) {
    return Eigen::VectorXd::Constant(1, winding_rise(x(0), x(1), x(2), x(3), k));
  });
  return {out.value(0), out.uncertainty(0), measure::unit("K")};
}

const std::vector<ThermalClass>& thermal_classes() {
  static const std::vector<ThermalClass> all{{"Y", 90},  {"A", 105},   {"E", 120},   {"B", 130},  {"F", 155},
                                             {"H", 180}, {"200", 200}, {"220", 220}, {"250", 250}};
  return all;
}

std::optional<ThermalClass> thermal_class(std::string_view letter) {
  const auto found = std::ranges::find(thermal_classes(), letter, &ThermalClass::letter);
  return found == thermal_classes().end() ? std::nullopt : std::optional(*found);
}

std::optional<ThermalClass> class_for(double celsius) {
  const auto found = std::ranges::find_if(thermal_classes(), [&](const auto& each) { return each.celsius >= celsius; });
  return found == thermal_classes().end() ? std::nullopt : std::optional(*found);
}

double harmless_touch(double celsius) {
  struct Row {
    double below;
    double seconds;
  };
  constexpr Row kRows[] = {{43, 8 * 3600.0}, {48, 600.0}, {51, 60.0}, {65, 0.5}};
  for (const Row& row : kRows)
    if (celsius < row.below) return row.seconds;
  return 0;
}

}  // namespace wheeltapper::bench
