#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/guide/position.hpp"

namespace wheeltapper::guide {

/// What to ask at this position, whose diagnosis and questions are there already; nothing when the job is closed.
std::optional<Prompt> next_prompt(const Position& position);

/// The question how to close the job, whatever its stage.
Prompt closing_prompt(const Position& position);

/// Checks and repairs that were skipped in this stage and not taken up again.
std::vector<std::string> declined_steps(const job::Job& job);

/// Findings and contexts that need no question any more in this stage.
std::vector<std::string> asked_ids(const job::Job& job);

}  // namespace wheeltapper::guide
