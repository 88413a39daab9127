#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/cases/diagnose.hpp"
#include "engine/guide/prompt.hpp"
#include "engine/job/compare.hpp"
#include "engine/job/job_case.hpp"
#include "engine/plan/question.hpp"

namespace wheeltapper::guide {

/// A job with all that follows from its events.
struct Position {
  std::shared_ptr<const catalogue::Catalogue> catalogue;
  job::Job job;
  cases::Case the_case;
  cases::Diagnosis diagnosis;
  std::vector<plan::Question> questions;   ///< worth asking now
  std::vector<job::Compared> compared;     ///< the runs of this stage with those before the repair
  job::Retest retest = job::Retest::open;  ///< of this stage, when it is not the first
  /// Nothing when the job is closed.
  std::optional<Prompt> prompt;
};

/// Works out where a job stands and what to ask next. The order: intake, hazards, the bench run, what of the old signs
/// is still there after a repair, the questions that save most, then the step that the plan advises; after a repair
/// always the retest. \throws input::BadInput, belief::ImpossibleEvidence  as fold(),
/// case_of() and diagnose()
Position position_of(std::shared_ptr<const catalogue::Catalogue> catalogue, std::vector<job::Event> events,
                     const cases::DiagnoseSettings& settings = {});

/// The causes that may be said to have been it: what the repairs cure, the likeliest before the last of them first.
std::vector<std::string> suspects(const Position& position, std::size_t most = 6);

/// Hazards that the readings of this stage show and that do not stand yet, as an answer to be written with them: so
/// that they stand until somebody says no, whatever is read later. Empty if there is none.
std::vector<job::Draft> hazards_read(const Position& position);

/// The quantities that the limits ask for in a loaded run and that this stage has not read: what a retest wants.
struct Missing {
  std::string quantity;
  bench::Direction direction;
};
std::vector<Missing> missing_readings(const Position& position);

}  // namespace wheeltapper::guide
