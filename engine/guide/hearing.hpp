#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "engine/guide/position.hpp"

namespace wheeltapper::guide {

/// Words that were written may mean a hazard: the mark that has it asked before anything else (Prompt key "heard").
/// kWholeList in place of words asks with the list of all hazards.
inline constexpr std::string_view kWholeList = "hazard";
std::vector<job::Draft> hear(const Position& position, std::string_view text);
/// Words that were heard and that nobody who had them before them has confirmed or denied.
std::vector<std::string> unsettled(const job::Job& job);
/// Key of the mark that settles such words.
job::Topic settling(const std::string& words);

}  // namespace wheeltapper::guide
