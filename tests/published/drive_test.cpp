// Motors in steady running against textbook examples (E8 to E12). Where a book rounds on the way, the test says so.
#include "engine/bench/drive.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using namespace wheeltapper::bench;

constexpr double kRpm = 2 * std::numbers::pi / 60;
constexpr double kFull = 1e-9;

/// A series-wound motor whose flux per amp makes it run at `rpm` with those volts and amps.
Motor series(double resistance, double volts, double amps, double rpm, double brush = 0) {
  Motor motor{.kind = Motor::Kind::series_dc, .resistance = resistance, .flux = 1, .brush_volts = brush};
  motor.flux = back_volts(motor, volts, amps) / (amps * rpm * kRpm);
  return motor;
}

Motor magnet(double resistance, double volts, double amps, double rpm) {
  Motor motor{.kind = Motor::Kind::permanent_magnet, .resistance = resistance, .flux = 1};
  motor.flux = back_volts(motor, volts, amps) / (rpm * kRpm);
  return motor;
}

TEST_CASE("E8 back EMF and power of a series-wound motor", "[published][drive]") {
  // OpenStax, University Physics vol. 2, 13.6, "A Series-Wound Motor in Operation".
  const Motor motor{.kind = Motor::Kind::series_dc, .resistance = 2.0, .flux = 1};
  for (const auto [amps, back, mechanical, loss, in] :
       {std::array{10.0, 100.0, 1.0e3, 2.0e2, 1.2e3}, std::array{20.0, 80.0, 1.6e3, 8.0e2, 2.4e3}}) {
    CHECK_THAT(back_volts(motor, 120, amps), WithinAbs(back, 1e-12));
    // Torque times speed is the mechanical power.
    CHECK_THAT(torque_at(motor, amps) * speed_for(motor, 120, amps), WithinAbs(mechanical, 1e-9));
    CHECK_THAT(amps * amps * motor.resistance, WithinAbs(loss, 1e-9));
    CHECK_THAT(120 * amps, WithinAbs(in, 1e-9));
  }
}

TEST_CASE("E9 starting and running amps", "[published][drive]") {
  // OpenStax, College Physics 23.6 and University Physics 13.6, text and exercises.
  const Motor a{.kind = Motor::Kind::series_dc, .resistance = 0.400, .flux = 1};
  CHECK_THAT(stall_amps(a, 48.0), WithinAbs(120, 0.5));
  CHECK_THAT(48.0 * stall_amps(a, 48.0), WithinAbs(5.76e3, 5));
  // Running at 20 A it generates the stated 40.0 V.
  CHECK_THAT(back_volts(a, 48.0, 20), WithinAbs(40.0, 1e-9));
  CHECK_THAT(20 * 20 * a.resistance, WithinAbs(160, 1e-9));
  // 120 V, starts at 10.0 A, so 12.00 Ohm; generating 100 V it takes 1.67 A.
  const Motor b{.kind = Motor::Kind::permanent_magnet, .resistance = 120 / 10.0, .flux = 1};
  CHECK_THAT(stall_amps(b, 120), WithinAbs(10.0, 1e-9));
  CHECK_THAT(amps_for(b, 120, 100), WithinAbs(1.67, 0.005));
  // 8.00 A running, 20.0 A starting: back EMF 72.0 V.
  const Motor c{.kind = Motor::Kind::series_dc, .resistance = 120 / 20.0, .flux = 1};
  CHECK_THAT(back_volts(c, 120, 8), WithinAbs(72.0, 1e-9));
  // A toy car: 6.00 V, 4.50 V generated at 3.00 A; four cells of 0.100 Ohm leave 0.100 Ohm for the motor.
  const double whole = (6.00 - 4.50) / 3.00;
  CHECK_THAT(back_volts({.kind = Motor::Kind::series_dc, .resistance = whole, .flux = 1}, 6, 3), WithinAbs(4.5, 1e-12));
  CHECK_THAT(whole - 4 * 0.100, WithinAbs(0.100, 1e-12));
  CHECK_THAT(stall_amps({.kind = Motor::Kind::series_dc, .resistance = whole, .flux = 1}, 6), WithinAbs(12.0, 1e-9));
  // 240 V, 180 V generated at 12.0 A: 5.00 Ohm, starts at 48.0 A.
  const Motor f{.kind = Motor::Kind::series_dc, .resistance = (240 - 180) / 12.0, .flux = 1};
  CHECK_THAT(f.resistance, WithinAbs(5.00, 1e-12));
  CHECK_THAT(stall_amps(f, 240), WithinAbs(48.0, 1e-9));
}

TEST_CASE("E10 series motor, speed and torque against load", "[published][drive]") {
  {  // Kulshreshtha, Basic Electrical Engineering, Ex. 16.16: flux 24 mWb at 110 A, 16 mWb at 50 A.
    Motor at_110 = series(0.15, 230, 110, 600);
    at_110.flux *= (16.0 / 50) / (24.0 / 110);  // flux per amp as measured at 50 A
    CHECK_THAT(speed_for(at_110, 230, 50) / kRpm, WithinRel(937.939110070, kFull));
  }
  {  // Ex. 16.20: at half the amps 60 % of the flux.
    Motor motor = series(0.3, 230, 40, 1000);
    motor.flux *= 0.60 / 0.5;
    CHECK_THAT(speed_for(motor, 230, 20) / kRpm, WithinRel(1712.538226300, kFull));
  }
  {  // Kosow, Electric Machinery and Transformers, Ex. 4-18: flux proportional to amps, 3 V of brush drop. The book
     // truncates 1311.7 to 1311.
    const Motor motor = series(0.15, 250, 85, 600, 3);
    CHECK_THAT(speed_for(motor, 250, 100) / kRpm, WithinRel(505.101387407, kFull));
    CHECK_THAT(speed_for(motor, 250, 40) / kRpm, WithinRel(1311.739594450, kFull));
    // The same with a diverter of 0.05 Ohm across the 0.05 Ohm field: half the amps in the field, 0.025 Ohm less.
    Motor diverted = motor;
    diverted.resistance = 0.125;
    diverted.flux /= 2;
    CHECK_THAT(speed_for(diverted, 250, 100) / kRpm, WithinRel(1021.088580576, kFull));
    CHECK_THAT(speed_for(diverted, 250, 40) / kRpm, WithinRel(2634.364994664, kFull));
  }
  {  // Salam, Fundamentals of Electrical Machines, Ex. 6.4: field regrouped to 0.15 Ohm, flux 80 % at 25 A.
    Motor motor = series(0.9 + 0.6, 220, 15, 1100);
    motor.resistance = 0.9 + 0.15;
    motor.flux *= 0.80 * 15 / 25;
    CHECK_THAT(speed_for(motor, 220, 25) / kRpm, WithinRel(1348.892405063, kFull));
  }
  CHECK_THAT((1810.0 - 1603) / 1603 * 100, WithinAbs(12.9, 0.05));  // Kosow, Ex. 4-19: speed regulation
  {  // Kosow, Ex. 4-14: torque with the square of the amps; 160 lb-ft at 140 A.
    Motor motor{.kind = Motor::Kind::series_dc, .resistance = 1, .flux = 160.0 / (140 * 140)};
    CHECK_THAT(torque_at(motor, 140), WithinAbs(160, 1e-9));
    CHECK_THAT(amps_for_torque(motor, 160), WithinAbs(140, 1e-9));
    CHECK_THAT((190.0 / 160 - 1) * 100, WithinAbs(18.75, 1e-9));  // more flux for 190 lb-ft at the same amps
    motor.flux = 190.0 / (140 * 140);
    CHECK_THAT(torque_at(motor, 154), WithinAbs(230, 0.5));  // and 10 % more flux again at 154 A: amps squared
    CHECK_THAT(torque_at(motor, 154), WithinAbs(229.9, 0.05));
  }
}

TEST_CASE("E11 constant flux", "[published][drive]") {
  {  // Kulshreshtha, Ex. 16.11: the shunt field is a parallel load.
    const Drive drive{.motor = {}, .mechanism = {}, .train = {}, .parallel = {{1.0, 250}}};
    const Motor motor{.kind = Motor::Kind::permanent_magnet, .resistance = 0.1, .flux = 1};
    CHECK_THAT(back_volts(motor, 250, 41 - parallel_amps(drive, 250)), WithinAbs(246.00, 0.005));
  }
  {  // Ex. 16.28
    const Motor motor = magnet(0.2, 250, 2 - 1, 1000);
    CHECK_THAT(back_volts(motor, 250, 1), WithinAbs(249.800, 0.0005));
    CHECK_THAT(back_volts(motor, 250, 50), WithinAbs(240.00, 0.005));
    const double loaded = speed_for(motor, 250, 50) / kRpm;
    CHECK_THAT(loaded, WithinRel(960.768614892, kFull));
    CHECK_THAT((1000 - loaded) / 1000 * 100, WithinRel(3.923138511, kFull));
  }
  {  // Ex. 16.19: the series resistance that slows 700 to 450 rpm at the same amps.
    const Motor motor = magnet(0.45, 220, 22, 700);
    const double added = (back_volts(motor, 220, 22) - motor.flux * 450 * kRpm) / 22;
    CHECK_THAT(added, WithinRel(3.410714286, kFull));
    Motor slowed = motor;
    slowed.resistance += added;
    CHECK_THAT(speed_for(slowed, 220, 22) / kRpm, WithinRel(450.0, kFull));
  }
  {  // Salam, Ex. 6.2: 1.0 Ohm added, full and half torque.
    Motor motor = magnet(0.4, 230, 15, 650);
    motor.resistance += 1.0;
    CHECK_THAT(speed_for(motor, 230, 15) / kRpm, WithinRel(606.473214286, kFull));
    CHECK_THAT(speed_for(motor, 230, amps_for_torque(motor, torque_at(motor, 15) / 2)) / kRpm,
               WithinRel(636.941964286, kFull));
  }
  {  // Kulshreshtha, Ex. 16.12 and 16.14: from the winding.
    Motor motor{
        .kind = Motor::Kind::permanent_magnet, .resistance = 0.28, .flux = linkage_of_winding(4, 2, 888, 0.023)};
    CHECK_THAT(speed_for(motor, 440, 50) / kRpm, WithinAbs(625.734, 0.0005));
    motor = {.kind = Motor::Kind::permanent_magnet, .resistance = 0.2, .flux = linkage_of_winding(6, 6, 864, 0.050)};
    CHECK_THAT(speed_for(motor, 480, 110) / kRpm, WithinAbs(636.111, 0.0005));
    CHECK_THAT(torque_at(motor, 110), WithinAbs(756.304, 0.0005));
  }
}

TEST_CASE("E12 a permanent-magnet motor, with the book's rounded constant and without", "[published][drive]") {
  // Fitzgerald, Kingsley & Umans, Electric Machinery, 6th ed., Example 7.9. The printed 275 W needs K rounded to 0.22.
  Motor motor = magnet(1.03, 50, 1.25, 2100);
  CHECK_THAT(back_volts(motor, 50, 1.25), WithinAbs(48.7125, 1e-9));
  CHECK_THAT(motor.flux, WithinRel(0.221509576153, kFull));
  const double rotational = back_volts(motor, 50, 1.25) * 1.25;
  CHECK_THAT(rotational, WithinAbs(60.890625, 1e-9));
  const auto shaft = [&](const Motor& m) {
    const double amps = amps_for(m, 48, 1700 * kRpm);
    return torque_at(m, amps) * 1700 * kRpm - rotational;
  };
  CHECK_THAT(shaft(motor), WithinRel(267.0645681, kFull));
  CHECK_THAT(amps_for(motor, 48, 1700 * kRpm), WithinRel(8.316574202, kFull));
  motor.flux = 0.22;
  CHECK_THAT(amps_for(motor, 48, 1700 * kRpm), WithinRel(8.577486976, kFull));
  CHECK_THAT(shaft(motor), WithinRel(275.0482686, 1e-9));
  CHECK_THAT(torque_at(motor, amps_for(motor, 48, 1700 * kRpm)) * 1700 * kRpm, WithinAbs(335.9388939, 5e-7));
}

}  // namespace
