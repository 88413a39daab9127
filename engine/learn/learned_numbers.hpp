#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "engine/learn/learn.hpp"

namespace wheeltapper::learn {

/// What was learned once, as a log keeps it.
struct LearnedNumbers {
  std::vector<Parameter> parameters;
  std::string at;         ///< UTC
  std::string knowledge;  ///< fingerprint() of what it goes on from
  std::size_t jobs = 0;   ///< that counted
  nlohmann::json report;  ///< of the scores (cli: learn)
};

}  // namespace wheeltapper::learn
