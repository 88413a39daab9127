#pragma once
#include <string>
#include <vector>

#include "engine/job/topic.hpp"

namespace wheeltapper::guide {

/// What is asked now. One question, which one line answers.
struct Prompt {
  enum class Ask {
    text,      ///< any words
    yes_no,    ///< yes, no, unsure
    level,     ///< one of the choices, or yes, no, unsure
    quantity,  ///< a number with its unit
    laps,      ///< "5 laps 35.3 s" or laps a minute
    count,     ///< a whole number
    some,      ///< numbers of the choices, or none
    check,     ///< numbers of what the check showed, or none
    repair,    ///< done, perhaps with its minutes
    outcome,   ///< number of one choice
  };
  job::Topic topic;  ///< what it is about
  Ask ask = Ask::text;
  std::string question;
  std::string hint;                  ///< how to see it, or how to answer
  std::vector<std::string> choices;  ///< shown with their numbers, from 1
  std::vector<std::string> ids;      ///< of the choices
  std::string unit;                  ///< that a bare number is in
  bool may_skip = true;
  bool caution = false;  ///< a retest: power comes on
};

}  // namespace wheeltapper::guide
