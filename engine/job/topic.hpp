#pragma once
#include <compare>
#include <cstddef>
#include <string>
#include <string_view>

#include "engine/bench/session.hpp"

namespace wheeltapper::job {

/// What a question, or a mark in a job, is about: the same whenever it is asked.
struct Topic {
  enum class Kind {
    locomotive,
    complaint,
    hazards,  ///< the list of hazards
    heard,    ///< words that may mean a hazard (id: their fingerprint; none in the question)
    settled,  ///< what became of such words (id: the same)
    cars,
    limit_amps,
    limit_laps,
    limit_asked,  ///< the limits were asked for, not in a case file
    runs,         ///< whether it runs at all
    run_again,    ///< the bench run was asked for anew
    reading,      ///< id: the quantity; direction
    repeat,       ///< a run that is too close to call, once more (id: the quantity; direction, turn)
    far,          ///< a reading that lies very far from its limit
    finding,      ///< id
    check,        ///< id
    repair,       ///< id
    context,      ///< id
    skipped_steps,
    retest_eye,  ///< a retest judged by eye
    retest_missing,
    no_fault,
    causes,  ///< what it was
    close,   ///< how it is to be closed
    not_over,
    outcome,
    salvaged,  ///< the job came out of a damaged log
    other      ///< of a version that is not this one (id: its whole text)
  };
  Kind kind;
  std::string id;
  bench::Direction direction;
  std::size_t turn;  ///< of `repeat`: which run of its kind and direction, from 0

  Topic(Kind what = Kind::other, std::string of = {}, bench::Direction way = bench::Direction::any,
        std::size_t which = 0)
      : kind(what), id(std::move(of)), direction(way), turn(which) {}
  friend auto operator<=>(const Topic&, const Topic&) = default;
  friend bool operator==(const Topic&, const Topic&) = default;
};

/// As the log and JSON write it: "runs", "finding:squeal", "reading:amps:forward", "repeat:amps:forward:1".
std::string text_of(const Topic& topic);
/// text_of(topic_of(text)) == text, whatever the text.
Topic topic_of(std::string_view text);

}  // namespace wheeltapper::job
