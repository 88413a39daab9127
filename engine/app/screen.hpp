#pragma once
#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/guide/position.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::app {

/// What became of a line.
enum class Heard {
  nothing,     ///< nothing was said: the job was only looked at
  taken,       ///< it was an answer, and is written
  noted,       ///< a note was written
  refused,     ///< Screen::refused says why; nothing was written
  impossible,  ///< it contradicts what was said before; nothing was written
  wants_why,   ///< the person asks what this is good for
  wants_help,  ///< the person asks what can be said
  left         ///< the person stops; all is kept
};

/// An active hazard.
struct Stop {
  std::string rule, because, say;
};

/// A cause and its chance; `was` before what was just said.
struct Ranked {
  std::string cause, name;
  double chance = 0;
  std::optional<double> was;
};

/// How often that locomotive was here before.
struct Visits {
  std::string locomotive;
  std::size_t count = 0;
  std::string last;   ///< UTC; of the last one
  std::string alike;  ///< one that is written almost alike, where there is none of that name
};

/// All that a person may be shown at one moment of a job, as data. Whoever prints it says `stops` and `cautions` before
/// the steps or the question that they belong to.
struct Screen {
  std::string job;
  Heard heard = Heard::nothing;
  std::string refused;                   ///< a plain sentence
  std::vector<input::Problem> problems;  ///< the same as places and mends, where an event was not as its kind wants it
  std::optional<guide::Prompt> prompt;   ///< what is asked now; nothing once the job is closed
  bool asked_before = false;             ///< it stands on the screen before this one already, unchanged
  std::vector<Stop> stops;
  std::vector<std::string> cautions;  ///< ids: of the check or repair that is asked for
  std::vector<std::string> steps;     ///< of it
  std::vector<bench::LimitVerdict> verdicts;
  std::vector<Ranked> ranking;   ///< the first few, the likeliest first
  std::string advised;           ///< id of the check or repair that the plan advises; empty: none
  std::optional<Visits> visits;  ///< when the locomotive was just named
  /// Where it stands, and where it stood before what was taken (nothing where nothing was): for all else.
  std::shared_ptr<const guide::Position> at, before;

  bool closed() const { return at->job.closing.has_value(); }
};

}  // namespace wheeltapper::app
