// The chest clinic (B4) and soft evidence on it (B5). Lauritzen and Spiegelhalter, J. R. Statist. Soc. B
// 50(2), 1988, 157-224. The rows "nothing known", "asia and dyspnoea" and "smoker" and the joint table are
// printed in worked examples of the network; the other rows are recomputed by full enumeration. Tolerance
// 1e-9.
//
// The network has more layers than two, so it is not one trellis:
//  - dyspnoea's table is no noisy-OR of "either" and bronchitis: a leaky one with 0.1, 0.7 and 0.8 in three
//  places has
//    1 - 0.3 * 0.2 / 0.9 = 0.933 in the fourth, where the table has 0.9;
//  - smoking makes lung cancer and bronchitis dependent, and the engine's causes are independent.
// What is exact in two layers is tested as it stands: asia and tuberculosis, smoking and its two
// consequences, the x-ray of tuberculosis and lung cancer. For all rows of the table the test takes smoking
// and bronchitis as known, four cases that it weighs itself; in each of them the rest is two layers:
// tuberculosis and lung cancer, with "either" as their deterministic OR (strengths of 1) seen through the
// x-ray and the dyspnoea by likelihoods.
#include <catch2/catch.hpp>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "tests/support/noisy_or.hpp"

namespace {

using Catch::WithinAbs;
using namespace wheeltapper::tests;
using wheeltapper::belief::FindingNode;
using wheeltapper::belief::Trellis;

constexpr double kTolerance = 1e-9;

constexpr double kAsia = 0.01;
constexpr double kSmoke = 0.5;
constexpr double kTubAsia = 0.05;
constexpr double kTubElse = 0.01;
constexpr double kLungSmoke = 0.10;
constexpr double kLungElse = 0.01;
constexpr double kBroncSmoke = 0.60;
constexpr double kBroncElse = 0.30;
constexpr double kXrayEither = 0.98;
constexpr double kXrayElse = 0.05;

constexpr double dysp_chance(bool either, bool bronc) {
  if (either) return bronc ? 0.9 : 0.7;
  return bronc ? 0.8 : 0.1;
}

constexpr Seen kNothing{1, 1};
constexpr Seen kXrayShows{kXrayElse, kXrayEither};
constexpr Seen kXrayClear{1 - kXrayElse, 1 - kXrayEither};

Seen operator*(Seen a, Seen b) { return {a.given_no * b.given_no, a.given_yes * b.given_yes}; }

Seen dysp(bool bronc, bool there) {
  const double no = dysp_chance(false, bronc);
  const double yes = dysp_chance(true, bronc);
  return there ? Seen{no, yes} : Seen{1 - no, 1 - yes};
}

/// A node with one cause, from its two printed chances.
FindingNode of_one_cause(double without, double with, Seen seen) {
  return noisy_or(without, {{0, 1 - (1 - with) / (1 - without)}}, seen);
}

/// Tuberculosis (cause 0) and lung cancer (cause 1) with "either" as observed.
Trellis either_of(double tub, double lung, Seen either) {
  return trellis({tub, lung}, {noisy_or(0, {{0, 1}, {1, 1}}, either)});
}

// --- The parts that are two-layered as they stand
// ----------------------------------------------------------------------

constexpr double kTub = 0.0104;  // nothing known, printed
constexpr double kLung = 0.055;  // nothing known, printed

TEST_CASE("B4 chest clinic: tuberculosis as a finding of asia", "[published][belief]") {
  CHECK_THAT(trellis({kAsia}, {of_one_cause(kTubElse, kTubAsia, kYes)}).evidence(), WithinAbs(kTub, kTolerance));
}

TEST_CASE("B4 chest clinic: lung cancer and bronchitis as findings of smoking", "[published][belief]") {
  CHECK_THAT(trellis({kSmoke}, {of_one_cause(kLungElse, kLungSmoke, kYes)}).evidence(), WithinAbs(kLung, kTolerance));
  CHECK_THAT(trellis({kSmoke}, {of_one_cause(kBroncElse, kBroncSmoke, kYes)}).evidence(), WithinAbs(0.45, kTolerance));
}

TEST_CASE("B4 chest clinic: an x-ray of tuberculosis and lung cancer, nothing else known", "[published][belief]") {
  const Trellis shows = either_of(kTub, kLung, kXrayShows);
  CHECK_THAT(shows.evidence(), WithinAbs(0.11029004, kTolerance));
  CHECK_THAT(shows.posterior()[0], WithinAbs(0.0924108832, kTolerance));
  CHECK_THAT(shows.posterior()[1], WithinAbs(0.4887114013, kTolerance));
  const double with_either = either_of(kTub, kLung, {0, kXrayEither}).evidence();
  CHECK_THAT(with_either / shows.evidence(), WithinAbs(0.5760396859, kTolerance));
}

TEST_CASE("B4 chest clinic: either disease beforehand", "[published][belief]") {
  CHECK_THAT(either_of(kTub, kLung, kYes).evidence(), WithinAbs(0.064828, kTolerance));
}

TEST_CASE("B4 chest clinic: the joint table of three diseases beforehand", "[published][belief]") {
  struct Row {
    bool tub;
    bool lung;
    bool bronc;
    double chance;  // printed
  };
  const std::vector<Row> table{{true, true, true, 0.0003276},   {false, true, true, 0.0311724},
                               {true, false, true, 0.0043524},  {false, false, true, 0.4141476},
                               {true, true, false, 0.0002444},  {false, true, false, 0.0232556},
                               {true, false, false, 0.0054756}, {false, false, false, 0.5210244}};
  for (const Row& row : table) {
    CAPTURE(row.tub, row.lung, row.bronc);
    // Two causes, asia and smoking; the three diseases are their nodes.
    FindingNode tub = of_one_cause(kTubElse, kTubAsia, row.tub ? kYes : kNo);
    FindingNode lung = of_one_cause(kLungElse, kLungSmoke, row.lung ? kYes : kNo);
    FindingNode bronc = of_one_cause(kBroncElse, kBroncSmoke, row.bronc ? kYes : kNo);
    lung.links[0].cause = 1;
    bronc.links[0].cause = 1;
    CHECK_THAT(trellis({kAsia, kSmoke}, {tub, lung, bronc}).evidence(), WithinAbs(row.chance, kTolerance));
  }
}

// --- The whole network, smoking and bronchitis known case by case
// ----------------------------------------------------

struct Known {
  std::optional<bool> asia;
  std::optional<bool> xray;
  std::optional<bool> dysp;
  Seen smoke = kNothing;
};

struct Clinic {
  double evidence = 0;
  double smoke = 0;
  double tub = 0;
  double lung = 0;
  double bronc = 0;
  double either = 0;
};

/// Joint chances with the evidence, added up over the four cases.
Clinic joint(const Known& known) {
  const double asia = known.asia ? (*known.asia ? kAsia : 1 - kAsia) : 1;
  const double tub_beforehand = known.asia ? (*known.asia ? kTubAsia : kTubElse)
                                           : trellis({kAsia}, {of_one_cause(kTubElse, kTubAsia, kYes)}).evidence();
  Clinic sum;
  for (const bool smoke : {false, true})
    for (const bool bronc : {false, true}) {
      const double of_smoke = smoke ? kSmoke * known.smoke.given_yes : (1 - kSmoke) * known.smoke.given_no;
      if (of_smoke == 0) continue;
      const double of_bronc = smoke ? kBroncSmoke : kBroncElse;
      Seen either = kNothing;
      if (known.xray) either = either * (*known.xray ? kXrayShows : kXrayClear);
      if (known.dysp) either = either * dysp(bronc, *known.dysp);
      const double lung_beforehand = smoke ? kLungSmoke : kLungElse;
      const Trellis rest = either_of(tub_beforehand, lung_beforehand, either);
      const double with_either = either_of(tub_beforehand, lung_beforehand, {0, either.given_yes}).evidence();
      const double weight = asia * of_smoke * (bronc ? of_bronc : 1 - of_bronc);
      sum.evidence += weight * rest.evidence();
      if (smoke) sum.smoke += weight * rest.evidence();
      if (bronc) sum.bronc += weight * rest.evidence();
      sum.tub += weight * rest.evidence() * rest.posterior()[0];
      sum.lung += weight * rest.evidence() * rest.posterior()[1];
      sum.either += weight * with_either;
    }
  return sum;
}

double chance_of_xray(Known known) {
  const double before = joint(known).evidence;
  known.xray = true;
  return joint(known).evidence / before;
}

double chance_of_dysp(Known known) {
  const double before = joint(known).evidence;
  known.dysp = true;
  return joint(known).evidence / before;
}

void check_row(const Known& known, const Clinic& expected) {
  const Clinic got = joint(known);
  CHECK_THAT(got.evidence, WithinAbs(expected.evidence, kTolerance));
  CHECK_THAT(got.smoke / got.evidence, WithinAbs(expected.smoke, kTolerance));
  CHECK_THAT(got.tub / got.evidence, WithinAbs(expected.tub, kTolerance));
  CHECK_THAT(got.lung / got.evidence, WithinAbs(expected.lung, kTolerance));
  CHECK_THAT(got.bronc / got.evidence, WithinAbs(expected.bronc, kTolerance));
  CHECK_THAT(got.either / got.evidence, WithinAbs(expected.either, kTolerance));
}

TEST_CASE("B4 chest clinic: nothing known", "[published][belief]") {
  check_row({}, {1, 0.5, 0.0104, 0.055, 0.45, 0.064828});
  CHECK_THAT(chance_of_xray({}), WithinAbs(0.11029004, kTolerance));
  CHECK_THAT(chance_of_dysp({}), WithinAbs(0.4359706, kTolerance));
}

TEST_CASE("B4 chest clinic: asia and dyspnoea", "[published][belief]") {
  const Known known{true, {}, true};
  check_row(known, {0.004501375, 0.6259198578, 0.0877509650, 0.0995251451, 0.8114020716, 0.1822998528});
  CHECK_THAT(chance_of_xray(known), WithinAbs(0.2195388631, kTolerance));
}

TEST_CASE("B4 chest clinic: a smoker", "[published][belief]") {
  const Known known{{}, {}, {}, kYes};
  check_row(known, {0.5, 1, 0.0104, 0.1, 0.6, 0.10936});
  CHECK_THAT(chance_of_xray(known), WithinAbs(0.1517048, kTolerance));
  CHECK_THAT(chance_of_dysp(known), WithinAbs(0.552808, kTolerance));
}

TEST_CASE("B4 chest clinic: the x-ray shows something", "[published][belief]") {
  const Known known{{}, true, {}};
  check_row(known, {0.11029004, 0.6877538534, 0.0924108832, 0.4887114013, 0.5063261560, 0.5760396859});
  CHECK_THAT(chance_of_dysp(known), WithinAbs(0.6407659694, kTolerance));
}

TEST_CASE("B4 chest clinic: x-ray and dyspnoea", "[published][belief]") {
  check_row({{}, true, true}, {0.0706701044, 0.7856103861, 0.1139333254, 0.6212527967, 0.6818685385, 0.7287250930});
}

TEST_CASE("B4 chest clinic: asia, dyspnoea and x-ray", "[published][belief]") {
  check_row({true, true, true}, {0.00098822675, 0.7020251172, 0.3917117200, 0.4442705078, 0.6288217760, 0.8137687024});
}

TEST_CASE("B4 chest clinic: asia, dyspnoea and a clear x-ray", "[published][belief]") {
  check_row({true, false, true}, {0.00351314825, 0.6045119217, 0.0022486953, 0.0025504190, 0.8627607730, 0.0046715933});
}

// --- Soft evidence. Printed: lung cancer 0.0900 and bronchitis 0.5667, both ways; the rest recomputed.
// -----------------

constexpr Seen kGuess{0.1, 0.8};  // a guess at smoking

/// Smoking with lung cancer and bronchitis as its nodes, and the guess.
Trellis smoking(const FindingNode& guess, Seen lung, Seen bronc) {
  return trellis({kSmoke},
                 {guess, of_one_cause(kLungElse, kLungSmoke, lung), of_one_cause(kBroncElse, kBroncSmoke, bronc)});
}

void check_guess(const FindingNode& guess) {
  const Trellis guessed = smoking(guess, kNothing, kNothing);
  CHECK_THAT(guessed.evidence(), WithinAbs(0.45, kTolerance));
  CHECK_THAT(guessed.posterior()[0], WithinAbs(0.8888888889, kTolerance));
  const double lung = smoking(guess, kYes, kNothing).evidence() / guessed.evidence();
  CHECK_THAT(lung, WithinAbs(0.0900, 0.00005));
  CHECK_THAT(lung, WithinAbs(0.09, kTolerance));
  const double bronc = smoking(guess, kNothing, kYes).evidence() / guessed.evidence();
  CHECK_THAT(bronc, WithinAbs(0.5667, 0.00005));
  CHECK_THAT(bronc, WithinAbs(0.5666666667, kTolerance));
}

TEST_CASE("B5 soft evidence on smoking: by likelihoods", "[published][belief]") {
  check_guess(noisy_or(0, {{0, 1}}, kGuess));  // smoking itself, seen through the guess
}

TEST_CASE("B5 soft evidence on smoking: hard evidence on an added finding", "[published][belief]") {
  check_guess(of_one_cause(kGuess.given_no, kGuess.given_yes, kYes));
}

TEST_CASE("B5 soft evidence on smoking: the whole network", "[published][belief]") {
  const Known known{{}, {}, {}, kGuess};
  check_row(known, {0.45, 0.8888888889, 0.0104, 0.09, 0.5666666667, 0.099464});
  CHECK_THAT(chance_of_xray(known), WithinAbs(0.14250152, kTolerance));
  CHECK_THAT(chance_of_dysp(known), WithinAbs(0.5268441333, kTolerance));
}

TEST_CASE("B5 soft evidence on smoking: only the ratio of the likelihoods matters", "[published][belief]") {
  const Trellis eight_to_one = smoking(noisy_or(0, {{0, 1}}, {1, 8}), kNothing, kNothing);
  CHECK_THAT(eight_to_one.posterior()[0], WithinAbs(0.8888888889, kTolerance));
}

}  // namespace
