#include "engine/measure/proportion.hpp"

#include <algorithm>
#include <boost/math/distributions/beta.hpp>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"

namespace wheeltapper::measure {
namespace {

using boost::math::beta_distribution;

void demand_proportion(double hits, double trials, double coverage) {
  input::demand(trials >= 1 && hits >= 0 && hits <= trials && coverage > 0 && coverage < 1,
                "a proportion needs 0 <= hits <= trials, trials >= 1, 0 < coverage < 1");
}

}  // namespace

Interval wilson(double hits, double trials, double coverage) {
  demand_proportion(hits, trials, coverage);
  const double z = coverage_factor(coverage, std::numeric_limits<double>::infinity());
  const double z2 = z * z;
  const double p = hits / trials;
  const double middle = p + z2 / (2 * trials);
  const double width = z * std::sqrt(p * (1 - p) / trials + z2 / (4 * trials * trials));
  const double scale = 1 + z2 / trials;
  return {hits == 0 ? 0 : (middle - width) / scale, hits == trials ? 1 : (middle + width) / scale};
}

Interval clopper_pearson(double hits, double trials, double coverage) {
  demand_proportion(hits, trials, coverage);
  const double tail = (1 - coverage) / 2;
  const double low = hits == 0 ? 0 : quantile(beta_distribution<>(hits, trials - hits + 1), tail);
  const double high = hits == trials ? 1 : quantile(complement(beta_distribution<>(hits + 1, trials - hits), tail));
  return {low, high};
}

Interval jeffreys(double hits, double trials, double coverage) {
  demand_proportion(hits, trials, coverage);
  const double tail = (1 - coverage) / 2;
  const beta_distribution<> posterior(hits + 0.5, trials - hits + 0.5);
  return {hits == 0 ? 0 : quantile(posterior, tail), hits == trials ? 1 : quantile(complement(posterior, tail))};
}

BetaPosterior beta_posterior(double hits, double trials, double a, double b, double coverage) {
  if (!(a > 0 && b > 0)) throw input::DomainError("a beta distribution needs numbers above 0");
  if (!(hits >= 0 && hits <= trials)) throw input::DomainError("more hits than trials, or fewer than none");
  if (!(coverage > 0 && coverage < 1)) throw input::DomainError("a coverage lies between 0 and 1");
  const boost::math::beta_distribution<> after(a + hits, b + trials - hits);
  const double tail = (1 - coverage) / 2;
  return {boost::math::mean(after),
          boost::math::standard_deviation(after),
          boost::math::median(after),
          {boost::math::quantile(after, tail), boost::math::quantile(boost::math::complement(after, tail))}};
}

}  // namespace wheeltapper::measure
