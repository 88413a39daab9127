#pragma once
#include <string>
#include <vector>

#include "engine/guide/position.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// All that a job's record shows, before it is laid out as text or as a page.
struct Record {
  struct Verdict {
    std::string what, allowed, before, after, change;  ///< empty where there is none
    std::string call_before, call_after;
    std::optional<measure::Measurement> reading_before, reading_after;
    measure::Limits limits;
  };
  struct Rank {
    std::string name, id;
    double then = 0, now = 0;  ///< chance before the first repair, and at the end
  };
  struct Done {
    std::string when, what, id, result, minutes;
    std::vector<std::pair<std::string, std::string>> cautions;  ///< signal word, text
    bool repair = false;
  };
  std::string job, title, locomotive, owner, complaint, opened, closed, outcome;
  std::vector<std::string> causes;  ///< names, with their ids in brackets
  std::vector<Verdict> verdicts;
  std::vector<std::pair<std::string, std::string>> answers;  ///< question, answer
  std::vector<Rank> ranking;
  std::vector<Done> done;
  std::string retest;               ///< a sentence
  std::vector<std::string> doubts;  ///< what speaks against the way it was closed, hazards that stand
  std::vector<std::string> notes;
};

/// \param position  of the job in its last stage
Record record_of(const guide::Position& position);

std::string record_text(const Record& record, const Style& style);

/// One page of HTML that needs nothing beside it: no script, style and charts inside, every text escaped. Made for A4
/// and Letter paper in black and white, and for a narrow screen.
std::string record_html(const Record& record);

}  // namespace wheeltapper::report
