// Round trip: locomotives with known faults are simulated, read with the uncertainties of real meters, and the indexes
// inferred from the readings alone must find the faults again, as often as they claim to.
#include "engine/bench/infer_drive.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "engine/input/input_error.hpp"

namespace {

using namespace wheeltapper::bench;

/// `iron`: the power by which flux per amp falls as the amps rise over the sound ones.
struct Fault {
  double drag = 1, ohms = 0, flux = 1;
  double iron = 0;
};

/// A sound locomotive: speeds in laps a minute.
struct Sound {
  Motor motor;
  double amps;     ///< of the motor, loaded
  double neutral;  ///< A at 12 V
  double parallel_power = 0.8;
};

/// Standard uncertainties of bench readings: 1 % of the volts, 1.5 % and 0.01 A of the amps, mostly the meter's own
/// scale; 0.3 s for the laps (elicited judgement, common practice, no source).
struct Meters {
  double volts, amps;  ///< the scale errors of this visit, in standard uncertainties
};

constexpr double kDay = 0.03;

class Bench {
 public:
  explicit Bench(unsigned seed) : random_(seed) {}

  double uniform(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
  double normal() { return std::normal_distribution<double>()(random_); }

  Sound sound(Motor::Kind kind) {
    const bool magnet = kind == Motor::Kind::permanent_magnet;
    Sound sound{{.kind = kind, .resistance = 1, .flux = 1},
                magnet ? uniform(0.2, 0.6) : uniform(1.2, 2.2),
                magnet ? 0.0 : uniform(0.2, 0.8)};
    sound.parallel_power = 0.8 + 0.15 * normal();
    const double ratio = 11.3 / sound.amps;
    sound.motor.resistance = uniform(0.25, 0.45) * ratio;
    sound.motor.brush_volts = magnet ? 0.3 : 1.0;
    sound.motor.flux = back_volts(sound.motor, 12, sound.amps) / (linkage(sound.motor, sound.amps) * uniform(7.5, 11));
    return sound;
  }

  /// The same locomotive with its drag of another day.
  Sound on_another_day(Sound sound, double day = kDay) {
    sound.amps = amps_for_torque(sound.motor, torque_at(sound.motor, sound.amps) * std::exp(day * normal()));
    return sound;
  }

  Meters meters() { return {normal(), normal()}; }

  UncertainValue read(double value, double scale_doubt, double fixed, double scale_error, double own_doubt) {
    const double shared = scale_doubt * value;
    const double own = std::hypot(fixed, own_doubt * value);
    return {value + shared * scale_error + own * normal(), own, shared};
  }
  UncertainValue read_amps(double value, const Meters& m) { return read(value, 0.015, 0.01, m.amps, 0.002); }
  UncertainValue read_volts(double value, const Meters& m) { return read(value, 0.01, 0.005, m.volts, 0.001); }
  /// Laps counted for about a minute.
  UncertainValue read_rate(double laps) {
    const double own = 0.3 / 60 * laps;
    return {laps + own * normal(), own, 0};
  }

  /// The motor with its flux per amp at the amps that the fault makes it take.
  static Motor faulty(const Sound& sound, const Fault& fault) {
    Motor motor = sound.motor;
    motor.resistance += fault.ohms;
    motor.flux *= fault.flux;
    if (motor.kind == Motor::Kind::permanent_magnet) return motor;
    // T = flux (I / I0)^-iron I^2, solved for I; then the flux that holds there.
    const double torque = torque_at(sound.motor, sound.amps) * fault.drag;
    const double amps = std::pow(torque / motor.flux * std::pow(sound.amps, -fault.iron), 1 / (2 - fault.iron));
    motor.flux *= std::pow(amps / sound.amps, -fault.iron);
    return motor;
  }

  DrivePoint run(const Sound& sound, const Fault& fault, double volts, const Meters& m) {
    const Motor motor = faulty(sound, fault);
    const double amps = amps_for_torque(motor, torque_at(sound.motor, sound.amps) * fault.drag);
    // What hangs across the rails takes amps by a power of the volts: a lamp by about a half, a coil by one.
    const double parallel = sound.neutral * std::pow(volts / 12, sound.parallel_power);
    return {read_volts(volts, m), read_amps(amps + parallel, m), read_rate(speed_for(motor, volts, amps))};
  }

  /// The volts at which it makes that many laps.
  static double volts_at(const Sound& sound, const Fault& fault, double laps) {
    const Motor motor = faulty(sound, fault);
    return volts_for(motor, amps_for_torque(motor, torque_at(sound.motor, sound.amps) * fault.drag), laps);
  }

  DriveRuns visit(const Sound& sound, const Fault& fault, const std::vector<double>& volts, const Meters& m) {
    DriveRuns runs;
    for (const double each : volts) runs.points.push_back(run(sound, fault, each, m));
    runs.neutral_volts = volts.front();
    runs.neutral = read_amps(sound.neutral * std::pow(volts.front() / 12, sound.parallel_power), m);
    return runs;
  }

  std::mt19937 random_;
};

MotorFacts facts_of(const Sound& sound) {
  return {
      .kind = sound.motor.kind, .brush_volts = {sound.motor.brush_volts, 0.02, 0}, .resistance = {}, .saturation = {}};
}

bool covers(const Estimate& estimate, double truth) { return estimate.low <= truth && truth <= estimate.high; }

Fault random_fault(Bench& bench, unsigned which, double iron = 0.15) {
  Fault fault;
  if ((which & 1U) != 0) fault.drag = bench.uniform(1.2, 4);
  if ((which & 2U) != 0) fault.ohms = bench.uniform(0.2, 8);
  if ((which & 4U) != 0) fault.flux = bench.uniform(0.6, 0.95);
  fault.iron = iron * bench.normal();
  return fault;
}

constexpr unsigned kConfounded = 8;

/// As bits: 1 drag, 2 ohms, 4 flux; 0: nothing provable.
unsigned bits(const Explanation& each) {
  return (each.differs[0] ? 1U : 0U) + (each.differs[1] ? 2U : 0U) + (each.differs[2] ? 4U : 0U);
}
unsigned call_of(const Indexes& indexes) {
  const auto likely = indexes.likely();
  return likely.size() == 1 ? bits(*likely[0]) : kConfounded;
}

double laps_at(const Sound& sound, double volts) { return speed_for(sound.motor, volts, sound.amps); }

/// Volts at which the faulty locomotive makes the laps of the sound one at 12 V, and three quarters of that speed.
std::vector<double> two_volts(const Sound& sound, const Fault& fault) {
  const double laps = laps_at(sound, 12);
  return {Bench::volts_at(sound, fault, laps), Bench::volts_at(sound, fault, 0.6 * laps)};
}

/// What is not the meters' uncertainty.
struct World {
  double day;      ///< of the drag, from one day to the next
  double iron;     ///< of the power by which flux per amp falls
  bool iron_told;  ///< the saturation of the motor is known
};

struct Tally {
  std::array<int, 3> covered{};
  int line_covered = 0;
  int all = 0;
  int singles = 0;
  int right = 0;
  int wrong = 0;
};

Tally thousand(const World& world, unsigned seed) {
  Bench bench(seed);
  Tally tally;
  for (int i = 0; i < 1000; ++i) {
    const auto kind = i % 3 == 0   ? Motor::Kind::permanent_magnet
                      : i % 3 == 1 ? Motor::Kind::series_ac
                                   : Motor::Kind::series_dc;
    const Sound sound = bench.sound(kind);
    constexpr std::array<unsigned, 6> kWhich{1, 2, 4, 3, 5, 6};
    const unsigned which = kWhich[static_cast<std::size_t>(i / 3) % 6];
    const Fault fault = random_fault(bench, which, world.iron);
    const bool same = i % 2 == 0;
    const Meters then = bench.meters();
    const Meters now = same ? then : bench.meters();
    const Sound that_day = bench.on_another_day(sound, world.day);
    const Baseline base{bench.visit(that_day, {}, {12, 8}, then), same, world.day};
    const DriveRuns runs = bench.visit(sound, fault, two_volts(sound, fault), now);
    MotorFacts facts = facts_of(sound);
    if (world.iron_told) facts.saturation = 1e6;  // A: none to speak of
    const DriveInference inferred = infer(facts, runs, &base);
    REQUIRE(inferred.indexes);
    const Indexes& found = *inferred.indexes;
    REQUIRE(found.apart);
    ++tally.all;
    const std::array truth{fault.drag, fault.ohms, fault.flux};
    for (std::size_t k = 0; k < 3; ++k) tally.covered[k] += covers((*found.apart)[k], truth[k]) ? 1 : 0;
    tally.line_covered += covers(*found.resistance, sound.motor.resistance + fault.ohms) ? 1 : 0;
    if (i / 3 % 6 >= 3) continue;
    const unsigned called = call_of(found);
    ++tally.singles;
    tally.right += called == which ? 1 : 0;
    tally.wrong += called != which && called != kConfounded && called != 0 ? 1 : 0;
  }
  return tally;
}

void check_tally(const Tally& tally, double least_right) {
  INFO("covered " << tally.covered[0] << " " << tally.covered[1] << " " << tally.covered[2] << " R "
                  << tally.line_covered << " of " << tally.all << "; singles right " << tally.right << " wrong "
                  << tally.wrong << " of " << tally.singles);
  for (const int each : tally.covered) {
    CHECK(each >= 0.93 * tally.all);
    CHECK(each <= 0.97 * tally.all);
  }
  CHECK(tally.line_covered >= 0.93 * tally.all);
  CHECK(tally.line_covered <= 0.97 * tally.all);
  CHECK(tally.right >= least_right * tally.singles);
  CHECK(tally.wrong <= 0.02 * tally.singles);
}

TEST_CASE("1000 simulated locomotives read with real meters: intervals cover and the right index is called",
          "[property][indexes][many]") {
  check_tally(thousand({.day = 0, .iron = 0.03, .iron_told = true}, 11), 0.95);
}

TEST_CASE("1000 more with drag that differs from day to day and iron that nobody measured",
          "[property][indexes][many]") {
  // What the meters don't see hides the smallest faults: they come out as "nothing provable", not as another index.
  check_tally(thousand({.day = kDay, .iron = 0.15, .iron_told = false}, 11), 0.92);
}

TEST_CASE("A sound locomotive is not accused", "[property][indexes]") {
  Bench bench(12);
  int accused = 0;
  constexpr int kRuns = 400;
  for (int i = 0; i < kRuns; ++i) {
    const Sound sound = bench.sound(i % 2 == 0 ? Motor::Kind::series_ac : Motor::Kind::permanent_magnet);
    const Meters then = bench.meters();
    const Meters now = i % 4 < 2 ? then : bench.meters();
    const Baseline base{bench.visit(bench.on_another_day(sound), {}, {12, 8}, then), i % 4 < 2, kDay};
    const DriveInference inferred = infer(facts_of(sound), bench.visit(sound, {}, {12, 8}, now), &base);
    REQUIRE(inferred.indexes);
    const unsigned called = call_of(*inferred.indexes);
    accused += called != 0 && called != kConfounded ? 1 : 0;
  }
  INFO(accused << " of " << kRuns);
  CHECK(accused <= 0.05 * kRuns);
}

TEST_CASE("One run against a baseline: single faults are told, pairs are called confounded", "[property][indexes]") {
  Bench bench(13);
  int singles = 0;
  int right = 0;
  int wrong = 0;
  int pairs = 0;
  int guessed = 0;
  int in_sight = 0;
  int covered = 0;
  for (int i = 0; i < 600; ++i) {
    const Sound sound = bench.sound(i % 2 == 0 ? Motor::Kind::series_ac : Motor::Kind::series_dc);
    constexpr std::array<unsigned, 6> kWhich{1, 2, 4, 3, 5, 6};
    const unsigned which = kWhich[static_cast<std::size_t>(i) % 6];
    const Fault fault = random_fault(bench, which);
    const Meters meters = bench.meters();
    const Baseline base{bench.visit(bench.on_another_day(sound), {}, {12}, meters), true, kDay};
    const DriveRuns runs = bench.visit(sound, fault, {two_volts(sound, fault).front()}, meters);
    MotorFacts facts = facts_of(sound);
    facts.resistance =
        UncertainValue{sound.motor.resistance * (1 + 0.03 * bench.normal()), 0.03 * sound.motor.resistance, 0};
    const DriveInference inferred = infer(facts, runs, &base);
    REQUIRE(inferred.indexes);
    CHECK_FALSE(inferred.indexes->apart);
    const unsigned called = call_of(*inferred.indexes);
    const auto all = inferred.indexes->likely(0.95);
    const bool seen = std::ranges::any_of(all, [&](const Explanation* each) { return bits(*each) == which; });
    if (which == 1 || which == 2 || which == 4) {
      ++singles;
      right += called == which ? 1 : 0;
      wrong += called != which && called != kConfounded && called != 0 ? 1 : 0;
      for (const Explanation& each : inferred.indexes->explanations)
        if (bits(each) == which)
          covered +=
              covers(each.estimate[which / 2], std::array{fault.drag, fault.ohms, fault.flux}[which / 2]) ? 1 : 0;
    } else {
      ++pairs;
      in_sight += seen ? 1 : 0;
      guessed +=
          called != which && called != kConfounded && called != 0 && inferred.indexes->likely(0.9).size() == 1 ? 1 : 0;
    }
  }
  INFO("singles right " << right << " wrong " << wrong << " covered " << covered << " of " << singles << "; pairs "
                        << pairs << " in sight " << in_sight << " guessed " << guessed);
  CHECK(right >= 0.9 * singles);
  CHECK(wrong <= 0.03 * singles);
  CHECK(covered >= 0.92 * singles);
  CHECK(in_sight >= 0.9 * pairs);
  CHECK(guessed <= 0.03 * pairs);
}

TEST_CASE("Indexes say why they can't be had", "[property][indexes]") {
  Bench bench(14);
  const Sound sound = bench.sound(Motor::Kind::series_ac);
  const Meters meters = bench.meters();
  const MotorFacts facts = facts_of(sound);
  CHECK(infer(facts, bench.visit(sound, {}, {12}, meters), nullptr).refused.find("second") != std::string::npos);
  CHECK(infer(facts, bench.visit(sound, {}, {12, 12.1}, meters), nullptr).refused.find("apart") != std::string::npos);
  const Baseline base{bench.visit(sound, {}, {12}, meters), true};
  CHECK(infer(facts, bench.visit(sound, {}, {6.5}, meters), &base).refused.find("slower") != std::string::npos);
  DriveRuns nothing_left = bench.visit(sound, {}, {12}, meters);
  nothing_left.neutral = UncertainValue{5, 0.1, 0};
  CHECK_THROWS_AS(infer(facts, nothing_left, &base), wheeltapper::input::DomainError);
}

TEST_CASE("Motor-only amps split the drag between drive and train", "[property][indexes]") {
  Bench bench(15);
  constexpr double kOwn = 0.4;  // of the torque, in the drive
  int drive_covered = 0;
  int train_covered = 0;
  constexpr int kRuns = 400;
  for (int i = 0; i < kRuns; ++i) {
    const Sound sound = bench.sound(i % 2 == 0 ? Motor::Kind::series_ac : Motor::Kind::permanent_magnet);
    const Meters meters = bench.meters();
    const double drive = bench.uniform(1, 2.5);
    const double train = bench.uniform(1, 2.5);
    // On the stand at the volts at which the neutral amps were read.
    const auto alone = [&](double times, double volts) {
      const double amps = amps_for_torque(sound.motor, torque_at(sound.motor, sound.amps) * kOwn * times);
      return bench.read_amps(amps + sound.neutral * std::pow(volts / 12, sound.parallel_power), meters);
    };
    Baseline base{bench.visit(sound, {}, {12, 8}, meters), true};
    base.runs.alone = alone(1, 12);
    const Fault fault{.drag = kOwn * drive + (1 - kOwn) * train};
    DriveRuns runs = bench.visit(sound, fault, two_volts(sound, fault), meters);
    runs.alone = alone(drive, *runs.neutral_volts);
    const DriveInference inferred = infer(facts_of(sound), runs, &base);
    REQUIRE(inferred.indexes);
    REQUIRE(inferred.indexes->drive_drag);
    drive_covered += covers(*inferred.indexes->drive_drag, drive) ? 1 : 0;
    train_covered += covers(*inferred.indexes->train_drag, train) ? 1 : 0;
  }
  INFO(drive_covered << " and " << train_covered << " of " << kRuns);
  CHECK(drive_covered >= 0.92 * kRuns);
  CHECK(train_covered >= 0.92 * kRuns);
}

}  // namespace
