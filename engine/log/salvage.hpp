#pragma once
#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "engine/log/log.hpp"

namespace wheeltapper::log {

/// What could be taken out of a damaged log.
struct Salvaged {
  std::size_t entries = 0;
  /// Entries that could be read but are not as they were written, or that no job can be read with: their lines, and
  /// why.
  std::vector<SetAside> doubtful;
  std::vector<std::string> lost;  ///< sentences: what is known to have been there and could not be read
  std::vector<job::Event>
      added;  ///< written to jobs with gaps: that there is one, and a head where the opening is gone
};

/// Takes every entry that can be read out of a damaged log into a new one: row by row as SQLite finds them, from both
/// ends, then page by page from the bytes. The damaged file is only read. Persons that were taken out stay out; closed
/// jobs' rows are made anew; what was learned is left behind. A job that is not whole gets an entry that says so: its
/// hazards are asked anew. A wrong mark or version in the file's head is no
/// hindrance. \throws LogError  if `to` exists or can't be written, or a newer program wrote the log
/// \param stamp  a new event for a job, with id, time and bench
/// \param head   stands in for the head of a job whose opening entry is gone
Salvaged salvage(const std::string& damaged, const std::string& to, const Settings& settings, Summarise summarise,
                 const std::function<job::Event(const std::string& job)>& stamp, const nlohmann::json& head);

}  // namespace wheeltapper::log
