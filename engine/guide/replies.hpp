#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "engine/guide/position.hpp"

namespace wheeltapper::guide {

/// What a line of answer comes to: events to append, or a plain sentence why it can't be taken. "skip" is an answer
/// too.
struct Reply {
  std::vector<job::Draft> drafts;
  std::string trouble;
};
Reply interpret(const Position& position, const Prompt& prompt, std::string_view line);

}  // namespace wheeltapper::guide
