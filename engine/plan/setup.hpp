#pragma once
#include <array>

#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::plan {

/// How the bench stands: whether the plug is in, and what is open. A cover that is off stays off until the end; a motor
/// that is out goes back before power comes on.
struct Setup {
  bool plugged_in = false;
  catalogue::Opens open = catalogue::Opens::nothing;
  friend bool operator==(const Setup&, const Setup&) = default;
};

/// What a step wants of the bench.
struct Needs {
  catalogue::Power power = catalogue::Power::unplugged;
  catalogue::Opens opens = catalogue::Opens::nothing;
};

/// Minutes that a change of the bench costs.
struct SetupCosts {
  double power_change = 0;        ///< to plug in, or to unplug and make safe
  std::array<double, 4> opens{};  ///< to come to what must be open from nothing, closing up at the end included
};

/// Minutes from one step to the next. What is open already is not paid for again, and what lies deeper costs the
/// difference; a press is paid for each time, for the harm that it may do.
double minutes_to(const Setup& from, const Needs& needs, const SetupCosts& costs);
/// The bench after a check; after a repair, when the retest has been made: plugged in, and no motor out.
Setup after_check(const Setup& from, const Needs& needs);
Setup after_repair(const Setup& from, const Needs& needs);
/// Minutes to plug in for the retest after a repair.
double minutes_to_retest(const Needs& needs, const SetupCosts& costs);

}  // namespace wheeltapper::plan
