#include "engine/measure/robust.hpp"

#include <algorithm>
#include <cmath>

#include "engine/input/input_error.hpp"

namespace wheeltapper::measure {

double median(std::vector<double> values) {
  input::demand(!values.empty(), "a median needs a value");
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

double robust_deviation(std::vector<double> deviations) {
  for (double& each : deviations) each = std::abs(each);
  return kDeviationByMedian * median(std::move(deviations));
}

}  // namespace wheeltapper::measure
