#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/job/job.hpp"

namespace wheeltapper::job {

/// What statistics and learning need of a closed job.
struct Summary {
  std::string job, locomotive, family, opened, closed;
  Outcome outcome = Outcome::cured;
  bool proven = false;            ///< cured, and a retest after the last repair shows it
  bool unlisted = false;          ///< it was something that is not in the knowledge
  bool technician = false;        ///< who answered
  std::optional<double> minutes;  ///< of checks and repairs, as far as they were told
  /// As it came, before the first repair: a finding that was answered, read or looked at by a check.
  struct Seen {
    std::string finding;
    std::optional<std::size_t> level;  ///< nothing: yes, no level said
    enum class By { answer, reading, check } by = By::answer;
    bool present() const noexcept { return !level || *level > 0; }
    friend bool operator==(const Seen&, const Seen&) = default;
  };
  std::vector<Seen> findings;
  struct Result {
    std::string check, result;  ///< of a check's own results, those that are no finding
    bool seen = false;
    friend bool operator==(const Result&, const Result&) = default;
  };
  std::vector<Result> results;
  struct Fix {
    std::string repair;
    std::optional<double> minutes;
    Retest retest = Retest::open;
    friend bool operator==(const Fix&, const Fix&) = default;
  };
  std::vector<Fix> fixes;           ///< in the order in which they were done
  std::vector<std::string> causes;  ///< found, as said on closing
  std::vector<std::string> contexts, contexts_not;
  friend bool operator==(const Summary&, const Summary&) = default;
};

/// Nothing for a job that is open.
std::optional<Summary> summarise(const Job& job, const catalogue::Catalogue& catalogue);

}  // namespace wheeltapper::job
