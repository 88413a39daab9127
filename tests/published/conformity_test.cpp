// Published numbers of conformity with a limit: probability of conformity (M8, JCGM 106:2012) and guard bands
// (M9). Risks over a production process (M8d to M8g) are integrals over the true value; the engine has no
// process in it, so the test integrates over the engine's own conformance(): with a normal meter the chance
// that a true value is read within the acceptance limits is the conformance of a reading of that value with
// the meter's uncertainty.
#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <catch2/catch.hpp>
#include <limits>

#include "engine/measure/verdict.hpp"

namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using wheeltapper::measure::Call;
using wheeltapper::measure::conformance;
using wheeltapper::measure::judge;
using wheeltapper::measure::Limits;
using wheeltapper::measure::Measurement;
using wheeltapper::measure::Unit;

const Unit kUnit = wheeltapper::measure::unit("1");
const Unit kOhm = wheeltapper::measure::unit("Ohm");

Limits at_most(double bound) { return {{}, bound, kUnit}; }
Limits between(double low, double high) { return {low, high, kUnit}; }
Measurement reading(double value, double uncertainty) { return {value, uncertainty, kUnit}; }

TEST_CASE("M8a conformity with one limit", "[published][measure]") {
  // JCGM 106:2012, 7.3 Example: Phi(1.4); printed 0.92 (from memory).
  const double conforms = conformance(reading(-5.47, 0.05), at_most(-5.40));
  CHECK_THAT(conforms, WithinAbs(0.92, 0.005));
  CHECK_THAT(conforms, WithinRel(0.919243340766, 1e-9));
}

TEST_CASE("M8b conformity with two limits", "[published][measure]") {
  // JCGM 106:2012, 7.4 Example: Phi(1.5) - Phi(-0.61); printed 0.66 (from memory).
  const double conforms = conformance(reading(13.6, 1.8), between(12.5, 16.3));
  CHECK_THAT(conforms, WithinAbs(0.66, 0.005));
  CHECK_THAT(conforms, WithinRel(0.662629786495, 1e-9));
}

// --- A process: true values with a normal spread about a mean
// -------------------------------------------------------

struct Process {
  double mean;
  double sigma;
};

/// Integral over the process of `inner`(true value), from low to high, cut off 12 sigma out.
template <typename Inner>
double over_process(const Process& process, double low, double high, const Inner& inner) {
  const boost::math::normal spread(process.mean, process.sigma);
  const double from = std::max(low, process.mean - 12 * process.sigma);
  const double to = std::min(high, process.mean + 12 * process.sigma);
  const auto weighted = [&](double eta) { return boost::math::pdf(spread, eta) * inner(eta); };
  return boost::math::quadrature::gauss_kronrod<double, 31>::integrate(weighted, from, to, 15, 1e-11);
}

struct Risks {
  double accepted_wrongly;  // the consumer's
  double rejected_wrongly;  // the producer's
};

Risks risks(const Process& process, double meter, const Limits& tolerance, const Limits& acceptance) {
  const double low = *tolerance.at_least;
  const double high = *tolerance.at_most;
  const auto accepted = [&](double eta) { return conformance({eta, meter, acceptance.unit}, acceptance); };
  const auto rejected = [&](double eta) { return 1 - accepted(eta); };
  const double infinite = std::numeric_limits<double>::infinity();
  return {over_process(process, -infinite, low, accepted) + over_process(process, high, infinite, accepted),
          over_process(process, low, high, rejected)};
}

// JCGM 106:2012, 9.5 Example: resistors of 1500 ohm.
constexpr Process kResistors{1500, 0.12};
constexpr double kOhmmeter = 0.04;
const Limits kResistorLimits{1499.80, 1500.20, kOhm};

TEST_CASE("M8c share of resistors that conform", "[published][measure]") {
  const double share = conformance({kResistors.mean, kResistors.sigma, kOhm}, kResistorLimits);
  CHECK_THAT(share, WithinAbs(0.90, 0.005));  // printed, from memory
  CHECK_THAT(share, WithinRel(0.904419295454, 1e-9));
}

TEST_CASE("M8d resistors with a guard band: consumer's and producer's risk", "[published][measure]") {
  const Risks found = risks(kResistors, kOhmmeter, kResistorLimits, {1499.82, 1500.18, kOhm});
  CHECK_THAT(found.accepted_wrongly, WithinAbs(0.01, 0.005));  // both printed, from memory
  CHECK_THAT(found.rejected_wrongly, WithinAbs(0.07, 0.005));
  CHECK_THAT(found.accepted_wrongly, WithinRel(0.00987829152177, 1e-9));
  CHECK_THAT(found.rejected_wrongly, WithinRel(0.0690265104615, 1e-9));
}

TEST_CASE("M8e resistors without a guard band, recomputed", "[published][measure]") {
  const Risks found = risks(kResistors, kOhmmeter, kResistorLimits, kResistorLimits);
  CHECK_THAT(found.accepted_wrongly, WithinRel(0.018942206717, 1e-9));
  CHECK_THAT(found.rejected_wrongly, WithinRel(0.0372078001781, 1e-9));
}

TEST_CASE("M8f false accept and false reject of a wide process", "[published][measure]") {
  // Deaver: process 4, meter 1, limits -8 and 8; printed 0.008 and 0.015.
  const Risks found = risks({0, 4}, 1, between(-8, 8), between(-8, 8));
  CHECK_THAT(found.accepted_wrongly, WithinAbs(0.008, 0.0005));
  CHECK_THAT(found.rejected_wrongly, WithinAbs(0.015, 0.0005));
  CHECK_THAT(found.accepted_wrongly, WithinRel(0.00800608483445, 1e-9));
  CHECK_THAT(found.rejected_wrongly, WithinRel(0.0148508842112, 1e-9));
}

TEST_CASE("M8g false accepts where the process spreads four times as much as the meter", "[published][measure]") {
  struct Row {
    double in_tolerance;  // per cent
    double printed;       // per cent accepted wrongly
    double recomputed;
  };
  for (const Row& row : {Row{60, 4.8386, 4.83860321}, Row{70, 3.9223, 3.92234107}, Row{80, 2.8558, 2.85583062},
                         Row{90, 1.6000, 1.59995353}, Row{95, 0.8710, 0.87101019}, Row{99, 0.1999, 0.19991696}}) {
    CAPTURE(row.in_tolerance);
    const double sigma = 1 / boost::math::quantile(boost::math::normal(), (1 + row.in_tolerance / 100) / 2);
    const double found = 100 * risks({0, sigma}, sigma / 4, between(-1, 1), between(-1, 1)).accepted_wrongly;
    CHECK_THAT(found, WithinAbs(row.printed, 0.00005));
    CHECK_THAT(found, WithinAbs(row.recomputed, 1e-6));
  }
}

TEST_CASE("M8h share of a process outside two limits", "[published][measure]") {
  // Mean 10, sigma 0.4, limits 9 and 11: printed 0.01242. (Cpk, printed 0.833333, is no quantity of the
  // engine.)
  const double outside = 1 - conformance(reading(10, 0.4), between(9, 11));
  CHECK_THAT(outside, WithinAbs(0.01242, 0.000005));
  CHECK_THAT(outside, WithinAbs(0.0124193306, 1e-10));
}

// --- M9. ISO 14253-1, guard bands
// -------------------------------------------------------------------------------------

constexpr double kLimit = 2.0;
constexpr double kU = 0.05;  // standard uncertainty

Call call_at(double standard_uncertainties_below) {
  return judge(reading(kLimit - standard_uncertainties_below * kU, kU), at_most(kLimit)).call;
}

TEST_CASE("M9 the rule with its default of 95 per cent", "[published][measure]") {
  // The edition of 2017 has a guard of 1.65 u (from memory); 95 % of a normal distribution is 1.6449.
  CHECK(call_at(1.65) == Call::within);
  CHECK(call_at(1.64) == Call::too_close);
  CHECK(call_at(0) == Call::too_close);
  CHECK(call_at(-1.64) == Call::too_close);
  CHECK(call_at(-1.65) == Call::outside);
}

TEST_CASE("M9 the rule at a lower limit", "[published][measure]") {
  const Limits at_least{kLimit, {}, kUnit};
  CHECK(judge(reading(kLimit + 1.65 * kU, kU), at_least).call == Call::within);
  CHECK(judge(reading(kLimit + 1.64 * kU, kU), at_least).call == Call::too_close);
  CHECK(judge(reading(kLimit - 1.65 * kU, kU), at_least).call == Call::outside);
}

TEST_CASE("M9 the older editions' guard of two standard uncertainties", "[published][measure]") {
  // The same as a demand of Phi(2) = 97.725 %.
  constexpr double kDemand = 0.97724;
  CHECK(judge(reading(kLimit - 2.0 * kU, kU), at_most(kLimit), kDemand).call == Call::within);
  CHECK(judge(reading(kLimit - 1.99 * kU, kU), at_most(kLimit), kDemand).call == Call::too_close);
}

TEST_CASE("M9 false accepts by width of the guard band", "[published][measure]") {
  // ILAC-G8:09/2019, Table 1 (from memory): the bound on the risk; U is two standard uncertainties.
  // Recomputed: 1 - Phi.
  struct Row {
    double guard;  // in U
    double bound;
    double recomputed;
    double tolerance;
  };
  for (const Row& row :
       {Row{3, 1e-6, 9.8659e-10, 0.5e-14}, Row{1.5, 0.0016, 0.00134990, 0.5e-8}, Row{1, 0.025, 0.0227501, 0.5e-7},
        Row{0.83, 0.05, 0.0484572, 0.5e-7}, Row{0, 0.5, 0.5, 1e-12}}) {
    CAPTURE(row.guard);
    const double false_accept = 1 - conformance(reading(-row.guard * 2, 1), at_most(0));
    CHECK(false_accept <= row.bound);
    CHECK_THAT(false_accept, WithinAbs(row.recomputed, row.tolerance));
    // The same risk without taking from 1: the reading as far beyond the limit.
    CHECK_THAT(conformance(reading(row.guard * 2, 1), at_most(0)), WithinAbs(row.recomputed, row.tolerance));
  }
}

}  // namespace
