// Published numbers for inference: the alarm network (B1, B2), the noisy-OR table (B3), Jeffrey's rule (B6),
// virtual evidence (B7), several faults at once (B8), weight of evidence (B9). "Printed" is what the source
// shows, held to half a unit of its last digit; "recomputed" is a full-precision figure worked out
// independently by plain enumeration.
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "tests/support/noisy_or.hpp"

namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using wheeltapper::belief::ImpossibleEvidence;
using namespace wheeltapper::tests;
using wheeltapper::belief::FindingNode;
using wheeltapper::belief::Trellis;
using wheeltapper::belief::TrellisLimits;

constexpr double kExact = 1e-12;

/// The strength with which a cause alone, with the leak, gives the chance `together`.
double strength(double together, double leak) { return 1 - (1 - together) / (1 - leak); }

// --- Alarm network. Russell and Norvig, Artificial Intelligence: A Modern Approach, 3rd ed. 2010, Fig. 14.2
// -----------

constexpr double kBurglary = 0.001;
constexpr double kEarthquake = 0.002;
constexpr double kJohnFalse = 0.05;
constexpr double kJohn = 0.90;
constexpr double kMaryFalse = 0.01;
constexpr double kMary = 0.70;
constexpr double kAlarm = 0.002516442;  // P(A), recomputed (B2)

constexpr double alarm_chance(bool burglary, bool earthquake) {
  if (burglary) return earthquake ? 0.95 : 0.94;
  return earthquake ? 0.29 : 0.001;
}

// What a call, or two of them, says of the alarm: the calls depend on nothing else, so they are an
// observation of the alarm by likelihoods, and the network of three layers comes down to two.
constexpr Seen kJohnCalls{kJohnFalse, kJohn};
constexpr Seen kMaryCalls{kMaryFalse, kMary};
constexpr Seen kBothCall{kJohnFalse * kMaryFalse, kJohn* kMary};
constexpr Seen kAlarmAndBothCall{0, kJohn* kMary};

struct AlarmBelief {
  double evidence;
  double burglary;
  double earthquake;
};

/// The network of burglary, earthquake and alarm, one trellis for each state of the earthquake. Not one
/// trellis for both: P(A | B, E) = 0.95, while a leaky noisy-OR that has the other three entries gives
/// 0.9574. With the earthquake known, the alarm has one cause and its table is exact.
AlarmBelief alarm_belief(double burglary, double earthquake, Seen alarm) {
  const auto given = [&](bool quake) {
    const double leak = alarm_chance(false, quake);
    return trellis({burglary}, {noisy_or(leak, {{0, strength(alarm_chance(true, quake), leak)}}, alarm)});
  };
  const Trellis still = given(false);
  const Trellis shaking = given(true);
  const double without = (1 - earthquake) * still.evidence();
  const double with = earthquake * shaking.evidence();
  const double both = without + with;
  return {both, (without * still.posterior()[0] + with * shaking.posterior()[0]) / both, with / both};
}

/// P(these states, both call) by plain multiplication along the network.
double joint_of_calls(bool burglary, bool earthquake, bool alarm) {
  const double b = burglary ? kBurglary : 1 - kBurglary;
  const double e = earthquake ? kEarthquake : 1 - kEarthquake;
  const double a = alarm_chance(burglary, earthquake);
  return b * e * (alarm ? a * kJohn * kMary : (1 - a) * kJohnFalse * kMaryFalse);
}

TEST_CASE("B1 alarm network: posterior of two calls, printed", "[published][belief]") {
  // Printed: <0.284, 0.716>; its unnormalised pair and the joint from memory of the source.
  const AlarmBelief belief = alarm_belief(kBurglary, kEarthquake, kBothCall);
  CHECK_THAT(belief.burglary, WithinAbs(0.284, 0.0005));
  CHECK_THAT(1 - belief.burglary, WithinAbs(0.716, 0.0005));
  CHECK_THAT(belief.evidence * belief.burglary, WithinAbs(0.00059224, 0.5e-8));
  CHECK_THAT(belief.evidence * (1 - belief.burglary), WithinAbs(0.0014919, 0.5e-7));
}

TEST_CASE("B1 alarm network: posterior of two calls, recomputed", "[published][belief]") {
  const AlarmBelief belief = alarm_belief(kBurglary, kEarthquake, kBothCall);
  CHECK_THAT(belief.burglary, WithinAbs(0.284171835364393, kExact));
  CHECK_THAT(belief.earthquake, WithinAbs(0.176066838405079, kExact));
  CHECK_THAT(belief.evidence, WithinAbs(0.002084100239, kExact));
  CHECK_THAT(belief.evidence * belief.burglary, WithinAbs(0.00059224259, kExact));
  CHECK_THAT(belief.evidence * (1 - belief.burglary), WithinAbs(0.001491857649, kExact));
}

TEST_CASE("B1 alarm network: the alarm itself, from its calls", "[published][belief]") {
  const double with_alarm = alarm_belief(kBurglary, kEarthquake, kAlarmAndBothCall).evidence;
  const double both_call = alarm_belief(kBurglary, kEarthquake, kBothCall).evidence;
  CHECK_THAT(with_alarm / both_call, WithinAbs(0.760692038863108, kExact));
}

TEST_CASE("B1 alarm network: one joint state", "[published][belief]") {
  // Printed (from memory): P(j, m, a, no burglary, no earthquake) = 0.000628.
  const double joint = (1 - kBurglary) * (1 - kEarthquake) * alarm_belief(0, 0, kAlarmAndBothCall).evidence;
  CHECK_THAT(joint, WithinAbs(0.000628, 0.5e-6));
  CHECK_THAT(joint, WithinAbs(0.00062811126, kExact));
}

TEST_CASE("B1 alarm network: the plain sum over all states agrees", "[published][belief]") {
  double burglary = 0;
  double all = 0;
  for (const bool b : {false, true})
    for (const bool e : {false, true})
      for (const bool a : {false, true}) {
        all += joint_of_calls(b, e, a);
        if (b) burglary += joint_of_calls(b, e, a);
      }
  const AlarmBelief belief = alarm_belief(kBurglary, kEarthquake, kBothCall);
  CHECK_THAT(burglary / all, WithinAbs(0.284171835364393, kExact));
  CHECK_THAT(belief.burglary, WithinAbs(burglary / all, 1e-14));
  CHECK_THAT(belief.evidence, WithinRel(all, 1e-13));
}

TEST_CASE("B1 alarm network: the alarm as a cause, its two calls as findings", "[published][belief]") {
  const Trellis calls = trellis({kAlarm}, {noisy_or(kJohnFalse, {{0, strength(kJohn, kJohnFalse)}}, kYes),
                                           noisy_or(kMaryFalse, {{0, strength(kMary, kMaryFalse)}}, kYes)});
  CHECK_THAT(calls.evidence(), WithinAbs(0.002084100239, kExact));
  CHECK_THAT(calls.posterior()[0], WithinAbs(0.760692038863108, kExact));
}

TEST_CASE("B1 alarm network: as one noisy-OR of both causes it is close, not exact", "[published][belief]") {
  const double leak = alarm_chance(false, false);
  const auto both = [&](double burglary, double earthquake, Seen alarm) {
    return trellis(
        {burglary, earthquake},
        {noisy_or(leak,
                  {{0, strength(alarm_chance(true, false), leak)}, {1, strength(alarm_chance(false, true), leak)}},
                  alarm)});
  };
  // Three entries of the table as printed; the fourth is 1 - 0.06 * 0.71 / 0.999, not the printed 0.95.
  CHECK_THAT(both(0, 0, kYes).evidence(), WithinAbs(0.001, kExact));
  CHECK_THAT(both(1, 0, kYes).evidence(), WithinAbs(0.94, kExact));
  CHECK_THAT(both(0, 1, kYes).evidence(), WithinAbs(0.29, kExact));
  CHECK_THAT(both(1, 1, kYes).evidence(), WithinAbs(1 - 0.06 * 0.71 / 0.999, kExact));
  // Burglary and earthquake together are so rare that the printed digits come out all the same.
  const auto posterior = both(kBurglary, kEarthquake, kBothCall).posterior();
  CHECK_THAT(posterior[0], WithinAbs(0.284, 0.0005));
  CHECK_THAT(posterior[0], WithinAbs(0.284171835364393, 1e-5));
}

TEST_CASE("B2 alarm network: from cause to effect", "[published][belief]") {
  // Printed: P(J | B) = 0.849017, P(M | B) = 0.6586138, P(J, M | B) = 0.5922. Older texts print 0.86 for the
  // first, which their own tables do not give.
  const double john = alarm_belief(1, kEarthquake, kJohnCalls).evidence;
  CHECK_THAT(john, WithinAbs(0.849017, kExact));
  CHECK(std::abs(john - 0.86) > 0.005);
  CHECK_THAT(alarm_belief(1, kEarthquake, kMaryCalls).evidence, WithinAbs(0.6586138, kExact));
  const double both = alarm_belief(1, kEarthquake, kBothCall).evidence;
  CHECK_THAT(both, WithinAbs(0.5922, 0.00005));
  CHECK_THAT(both, WithinAbs(0.59224259, kExact));
}

TEST_CASE("B2 alarm network: from effect to cause", "[published][belief]") {
  const double given_alarm = alarm_belief(kBurglary, kEarthquake, kYes).burglary;
  CHECK_THAT(given_alarm, WithinAbs(0.373551228281836, kExact));
  CHECK(std::abs(given_alarm - 0.376) > 0.0005);  // printed in older texts, not what their tables give
  const double given_john = alarm_belief(kBurglary, kEarthquake, kJohnCalls).burglary;
  CHECK_THAT(given_john, WithinAbs(0.016, 0.0005));  // printed, from memory
  CHECK_THAT(given_john, WithinAbs(0.0162837299467699, kExact));
}

TEST_CASE("B2 alarm network: an earthquake explains the alarm away", "[published][belief]") {
  const double burglary = alarm_belief(kBurglary, 1, kYes).burglary;
  CHECK_THAT(burglary, WithinAbs(0.003, 0.0005));
  CHECK_THAT(burglary, WithinAbs(0.00326842358769697, kExact));
}

TEST_CASE("B2 alarm network: alarm given one call and no earthquake", "[published][belief]") {
  const double alarm =
      alarm_belief(kBurglary, 0, {0, kJohn}).evidence / alarm_belief(kBurglary, 0, kJohnCalls).evidence;
  CHECK_THAT(alarm, WithinAbs(0.0337882383008878, kExact));
  CHECK_THAT(alarm, WithinAbs(0.03, 0.005));  // printed, from memory
  CHECK(std::abs(alarm - 0.003) > 0.0005);    // a misprint in one set of slides
}

TEST_CASE("B2 alarm network: chances beforehand, recomputed", "[published][belief]") {
  CHECK_THAT(alarm_belief(kBurglary, kEarthquake, kYes).evidence, WithinAbs(kAlarm, kExact));
  CHECK_THAT(alarm_belief(kBurglary, kEarthquake, kJohnCalls).evidence, WithinAbs(0.0521389757, kExact));
  CHECK_THAT(alarm_belief(kBurglary, kEarthquake, kMaryCalls).evidence, WithinAbs(0.01173634498, kExact));
}

// --- Noisy-OR. Russell and Norvig, 3rd ed., section 14.3, table of the fever
// ------------------------------------------

struct FeverRow {
  bool cold;
  bool flu;
  bool malaria;
  double fever;     // printed
  double no_fever;  // printed
};
constexpr std::array<FeverRow, 8> kFever{{{false, false, false, 0.0, 1.0},
                                          {false, false, true, 0.9, 0.1},
                                          {false, true, false, 0.8, 0.2},
                                          {false, true, true, 0.98, 0.02},
                                          {true, false, false, 0.4, 0.6},
                                          {true, false, true, 0.94, 0.06},
                                          {true, true, false, 0.88, 0.12},
                                          {true, true, true, 0.988, 0.012}}};
constexpr double kColdInhibits = 0.6;
constexpr double kFluInhibits = 0.2;
constexpr double kMalariaInhibits = 0.1;

std::vector<double> certain(const FeverRow& row) {
  return {row.cold ? 1.0 : 0.0, row.flu ? 1.0 : 0.0, row.malaria ? 1.0 : 0.0};
}

FindingNode fever(double leak, Seen seen) {
  return noisy_or(leak, {{0, 1 - kColdInhibits}, {1, 1 - kFluInhibits}, {2, 1 - kMalariaInhibits}}, seen);
}

TEST_CASE("B3 noisy-OR: the fever table", "[published][belief]") {
  for (const FeverRow& row : kFever) {
    CAPTURE(row.cold, row.flu, row.malaria);
    CHECK_THAT(trellis(certain(row), {fever(0, kNo)}).evidence(), WithinAbs(row.no_fever, 1e-15));
    if (row.fever > 0)
      CHECK_THAT(trellis(certain(row), {fever(0, kYes)}).evidence(), WithinAbs(row.fever, 1e-15));
    else
      CHECK_THROWS_AS(trellis(certain(row), {fever(0, kYes)}), ImpossibleEvidence);
  }
}

TEST_CASE("B3 noisy-OR: the fever table with a leak", "[published][belief]") {
  // Derived: P(fever) = 1 - (1 - leak) * product of the inhibitions; the first row becomes the leak.
  constexpr double kLeak = 0.05;
  CHECK_THAT(trellis(certain(kFever[0]), {fever(kLeak, kYes)}).evidence(), WithinAbs(kLeak, 1e-15));
  for (const FeverRow& row : kFever) {
    CAPTURE(row.cold, row.flu, row.malaria);
    CHECK_THAT(trellis(certain(row), {fever(kLeak, kYes)}).evidence(),
               WithinAbs(1 - (1 - kLeak) * row.no_fever, 1e-15));
    CHECK_THAT(trellis(certain(row), {fever(kLeak, kNo)}).evidence(), WithinAbs((1 - kLeak) * row.no_fever, 1e-15));
  }
}

TEST_CASE("B3 noisy-OR: the same table where two findings share the causes", "[published][belief]") {
  // Two fevers that depend on nothing but the causes: the chance of both is the square. Takes the other way
  // through the trellis, that of shared causes.
  for (const FeverRow& row : kFever) {
    if (row.fever == 0) continue;
    CAPTURE(row.cold, row.flu, row.malaria);
    const Trellis twice = trellis(certain(row), {fever(0, kYes), fever(0, kYes)});
    CHECK(twice.shared_causes() == 3);
    CHECK_THAT(twice.evidence(), WithinAbs(row.fever * row.fever, 2e-15));
  }
}

// --- Jeffrey's rule. The Logic of Decision, 1965, ch. 11; numbers as in Chan and Darwiche, Artificial
// Intelligence 163 (2005) 67-90. Inputs and 0.42 from memory, the rest recomputed.
// -------------------------------------------------------

constexpr std::array<double, 3> kSold{0.12, 0.12, 0.32};  // green, blue, violet
constexpr std::array<double, 3> kNotSold{0.18, 0.18, 0.08};
constexpr double kSoldBefore = 0.56;

/// The colour as a finding of three levels whose one cause is that the cloth will be sold. That cause raises the
/// level, so both columns of the table fit: P(level <= s) falls by the factor (1 - reach).
FindingNode colour(const std::array<double, 3>& likelihood) {
  FindingNode node;
  node.id = "colour";
  node.top = 2;
  const double not_sold = 1 - kSoldBefore;
  const double green = kNotSold[0] / not_sold;
  const double green_or_blue = (kNotSold[0] + kNotSold[1]) / not_sold;
  node.leak = {1 - green, 1 - green_or_blue};
  node.links.push_back({0, {1 - kSold[0] / kSoldBefore / green, 0}});
  node.links[0].reach[1] = std::min(node.links[0].reach[0], 1 - (kSold[0] + kSold[1]) / kSoldBefore / green_or_blue);
  std::copy(likelihood.begin(), likelihood.end(), node.likelihood.begin());
  node.likelihood_blocked = likelihood[0];
  return node;
}

// The new chances of the colours over the old ones: 0.70 / 0.30, 0.25 / 0.30, 0.05 / 0.40.
constexpr std::array<double, 3> kByCandle{7.0 / 3.0, 5.0 / 6.0, 1.0 / 8.0};

TEST_CASE("B6 Jeffrey's rule: the cloth before the candlelight", "[published][belief]") {
  const std::array<std::array<double, 3>, 3> only{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};
  for (std::size_t c = 0; c < only.size(); ++c) {
    CAPTURE(c);
    const Trellis seen = trellis({kSoldBefore}, {colour(only[c])});
    CHECK_THAT(seen.evidence() * seen.posterior()[0], WithinAbs(kSold[c], kExact));
    CHECK_THAT(seen.evidence(), WithinAbs(kSold[c] + kNotSold[c], kExact));
  }
}

TEST_CASE("B6 Jeffrey's rule: the cloth by candlelight", "[published][belief]") {
  const Trellis seen = trellis({kSoldBefore}, {colour(kByCandle)});
  CHECK_THAT(seen.posterior()[0], WithinAbs(0.42, kExact));
  CHECK_THAT(seen.evidence(), WithinAbs(1, kExact));
}

TEST_CASE("B6 Jeffrey's rule: the new joint table", "[published][belief]") {
  constexpr std::array<double, 3> kNewSold{0.28, 0.10, 0.04};
  constexpr std::array<double, 3> kNewNotSold{0.42, 0.15, 0.01};
  for (std::size_t c = 0; c < 3; ++c) {
    CAPTURE(c);
    std::array<double, 3> likelihood{};
    likelihood[c] = kByCandle[c];
    const Trellis seen = trellis({kSoldBefore}, {colour(likelihood)});
    CHECK_THAT(seen.evidence() * seen.posterior()[0], WithinAbs(kNewSold[c], kExact));
    CHECK_THAT(seen.evidence() * (1 - seen.posterior()[0]), WithinAbs(kNewNotSold[c], kExact));
  }
}

// --- Virtual evidence. Set-up after Pearl, Probabilistic Reasoning in Intelligent Systems, 1988, ch. 2:
// inputs from memory, results recomputed.
// -----------------------------------------------------------------------------------------

Trellis witness(Seen alarm) {
  constexpr double kFalseAlarm = 0.01;
  return trellis({1e-4}, {noisy_or(kFalseAlarm, {{0, strength(0.95, kFalseAlarm)}}, alarm)});
}

TEST_CASE("B7 virtual evidence: a witness who favours the alarm four to one", "[published][belief]") {
  constexpr Seen kFourToOne{1, 4};
  CHECK_THAT(witness(kFourToOne).posterior()[0], WithinRel(0.000373684098140, 1e-9));
  CHECK_THAT(witness({0, 4}).evidence() / witness(kFourToOne).evidence(), WithinRel(0.039189270510, 1e-9));
  CHECK_THAT(witness({0.2, 0.8}).posterior()[0], WithinRel(0.000373684098140, 1e-9));  // only the ratio matters
}

TEST_CASE("B7 virtual evidence: the alarm beforehand, and a certain one", "[published][belief]") {
  CHECK_THAT(witness(kYes).evidence(), WithinAbs(0.010094, kExact));
  CHECK_THAT(witness(kYes).posterior()[0], WithinAbs(0.009411531602932, kExact));
}

// --- Several faults at once. Model after Heckerman, A tractable inference algorithm for diagnosing multiple
// diseases, UAI 1989, 174-181. The numbers are no printed ones: an example worked in exact fractions by
// 16-state enumeration and by that paper's sum over subsets.
// ----------------------------------------------------------------------------------------

const std::vector<double> kDiseases{0.02, 0.05, 0.10, 0.01};

std::vector<FindingNode> findings() {
  return {noisy_or(0.01, {{0, 0.8}, {1, 0.3}}, kYes), noisy_or(0.02, {{1, 0.6}, {2, 0.5}}, kYes),
          noisy_or(0.01, {{0, 0.4}, {3, 0.9}}, kYes), noisy_or(0.05, {{2, 0.7}, {3, 0.2}}, kNo)};
}

TEST_CASE("B8 several faults: chance of the evidence", "[published][belief]") {
  constexpr double kEvidence = 104207043553749.0 / 195312500000000000.0;  // exact fraction
  const double evidence = trellis(kDiseases, findings()).evidence();
  CHECK_THAT(evidence, WithinAbs(0.0005335400629951949, kExact));
  CHECK_THAT(evidence, WithinRel(kEvidence, 1e-12));
}

TEST_CASE("B8 several faults: posteriors, which add to more than 1", "[published][belief]") {
  const auto posterior = trellis(kDiseases, findings()).posterior();
  CHECK_THAT(posterior[0], WithinAbs(444102451094.0 / 609397915519.0, kExact));
  CHECK_THAT(posterior[1], WithinAbs(79619975679.0 / 128294298004.0, kExact));
  CHECK_THAT(posterior[2], WithinAbs(6431318916.0 / 32073574501.0, kExact));
  CHECK_THAT(posterior[3], WithinAbs(77804181694.0 / 609397915519.0, kExact));
  CHECK_THAT(posterior[0] + posterior[1] + posterior[2] + posterior[3], WithinAbs(1.68, 0.005));
}

TEST_CASE("B8 several faults: the five likeliest sets", "[published][belief]") {
  const auto likeliest = trellis(kDiseases, findings()).most_probable_sets(5);
  using Set = std::vector<std::size_t>;
  REQUIRE(likeliest.complete);
  REQUIRE(likeliest.sets.size() == 5);
  CHECK(likeliest.sets[0].causes == Set{0, 1});
  CHECK_THAT(likeliest.sets[0].probability, WithinAbs(0.337340709395, kExact));
  CHECK(likeliest.sets[1].causes == Set{0});
  CHECK_THAT(likeliest.sets[1].probability, WithinAbs(0.196299083567, kExact));
  CHECK(likeliest.sets[2].causes == Set{0, 2});
  CHECK_THAT(likeliest.sets[2].probability, WithinAbs(0.166854221032, kExact));
  CHECK(likeliest.sets[3].causes == Set{1});
  CHECK_THAT(likeliest.sets[3].probability, WithinAbs(0.145101635767, kExact));
  CHECK(likeliest.sets[4].causes == Set{1, 3});
  CHECK_THAT(likeliest.sets[4].probability, WithinAbs(0.105645716223, kExact));
}

// The arrays of the example for the sum over subsets, as the paper's formula names them.
constexpr std::array<double, 4> kLeaks{0.01, 0.02, 0.01, 0.05};
constexpr std::array<std::array<double, 4>, 4> kStrengths{
    {{0.8, 0.3, 0, 0}, {0, 0.6, 0.5, 0}, {0.4, 0, 0, 0.9}, {0, 0, 0.7, 0.2}}};

TEST_CASE("B8 several faults: the sum over subsets of the positive findings agrees", "[published][belief]") {
  constexpr std::size_t kPositive = 3;
  double sum = 0;
  for (std::size_t subset = 0; subset < (std::size_t{1} << kPositive); ++subset) {
    double term = 1;
    std::array<double, 4> silent{1, 1, 1, 1};
    for (std::size_t f = 0; f < 4; ++f) {
      const bool in = f == kPositive || (subset >> f & 1U) != 0;  // the last finding is negative
      if (!in) continue;
      term *= (f == kPositive ? 1 : -1) * (1 - kLeaks[f]);
      for (std::size_t d = 0; d < 4; ++d) silent[d] *= 1 - kStrengths[f][d];
    }
    for (std::size_t d = 0; d < 4; ++d) term *= kDiseases[d] * silent[d] + 1 - kDiseases[d];
    sum += term;
  }
  CHECK_THAT(trellis(kDiseases, findings()).evidence(), WithinAbs(sum, 1e-15));
}

// --- Weight of evidence. General Report on Tunny, 1945, section 21(g), p. 39: twenty heads of twenty throws,
// a coin of two heads beforehand 1 in 10 000.
// -----------------------------------------------------------------------------------------

constexpr double kOddsBefore = 1.0 / 10000.0;
constexpr std::size_t kHeads = 20;

double decibans(double odds) { return 10 * std::log10(odds); }

void check_twenty_heads(double two_headed) {
  const double odds = two_headed / (1 - two_headed);
  // Printed with 3 db a head: 20 db up, 100:1 on. The full figures are recomputed.
  CHECK_THAT(decibans(odds), WithinAbs(20, 0.5));
  CHECK_THAT(decibans(odds), WithinRel(20.205999132796236, 1e-9));
  CHECK_THAT(odds, WithinRel(104.8576, 1e-9));
  CHECK_THAT(two_headed, WithinAbs(0.990553347138042, kExact));
}

TEST_CASE("B9 decibans: twenty heads by the formula", "[published][belief]") {
  CHECK_THAT(decibans(2), WithinRel(3.010299956639812, 1e-9));
  CHECK_THAT(kHeads * decibans(2), WithinRel(60.20599913279624, 1e-9));
  CHECK_THAT(kHeads * decibans(2), WithinAbs(60, 0.5));       // printed
  CHECK_THAT(decibans(kOddsBefore), WithinAbs(-40, kExact));  // printed
  CHECK_THAT(decibans(kOddsBefore) + kHeads * decibans(2), WithinRel(20.205999132796236, 1e-9));
  CHECK_THAT(decibans(std::exp(1)), WithinRel(4.342944819032518, 1e-9));
  CHECK_THAT(std::pow(10, 0.1), WithinRel(1.258925411794167, 1e-9));
}

TEST_CASE("B9 decibans: twenty heads as twenty findings of the coin of two heads", "[published][belief]") {
  const std::vector<FindingNode> heads(kHeads, noisy_or(0.5, {{0, 1}}, kYes));
  const std::vector<double> prior{kOddsBefore / (1 + kOddsBefore)};
  // Twenty positive nodes of one cause are open at once, 2^20 states: more than the default limit takes.
  const TrellisLimits wide{std::size_t{1} << 20U, std::size_t{1} << 24U};
  check_twenty_heads(Trellis(prior, heads, wide).posterior()[0]);
}

TEST_CASE("B9 decibans: twenty heads as twenty tails that stayed away from the fair coin", "[published][belief]") {
  const std::vector<FindingNode> tails(kHeads, noisy_or(0, {{0, 0.5}}, kNo));
  const Trellis fair = trellis({1 / (1 + kOddsBefore)}, tails);
  check_twenty_heads(1 - fair.posterior()[0]);
}

TEST_CASE("B9 decibans: one head is worth 3 db", "[published][belief]") {
  const Trellis one = trellis({kOddsBefore / (1 + kOddsBefore)}, {noisy_or(0.5, {{0, 1}}, kYes)});
  const double odds = one.posterior()[0] / (1 - one.posterior()[0]);
  CHECK_THAT(decibans(odds) - decibans(kOddsBefore), WithinRel(3.010299956639812, 1e-9));
}

}  // namespace
