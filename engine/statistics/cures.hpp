#pragma once
#include <optional>
#include <string>
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/job/job.hpp"
#include "engine/measure/proportion.hpp"

namespace wheeltapper::statistics {

/// Of which jobs to count the repairs.
struct CuresOf {
  enum class By { everything, finding, cause, locomotive } by = By::everything;
  std::string id;  ///< of the finding or cause, or the locomotive's name
};

/// What the cure table is counted from: jobs by number instead of id.
struct PastJobs {
  struct Job {
    std::string locomotive;        ///< its name; may be empty
    std::string opened, closed;    ///< UTC
    bool open = false;             ///< of an open job only the name and its opening are known
    bool wanted = false;           ///< it has the finding, cause or name that is asked for
    std::vector<int> causes = {};  ///< by number: the same number, the same cause
  };
  struct Fix {
    std::size_t job;  ///< index into `jobs`
    std::string repair;
    std::optional<double> minutes;
    job::Retest retest = job::Retest::open;
  };
  std::vector<Job> jobs;  ///< the closed ones in the order of their closing, then the open ones that have a name
  std::vector<Fix> fixes;
};

/// How long cures lasted.
struct Lasting {
  std::size_t followed = 0;     ///< cures of locomotives with a name
  std::size_t came_back = 0;    ///< of them within kSoon days
  std::optional<double> holds;  ///< chance to hold longer than kSoon days (Kaplan-Meier), from kEnough followed
  std::optional<double> error;  ///< its standard error (Greenwood)
};
inline constexpr double kSoon = 90;
inline constexpr std::size_t kEnough = 5;

/// What one repair did.
struct CureRow {
  std::string repair;
  std::size_t done = 0;            ///< in closed jobs
  std::size_t tried = 0;           ///< with a retest that tells
  std::size_t cured = 0;           ///< the retest passed
  measure::Interval wilson{0, 1};  ///< of cured / tried, 95 %; 0 to 1 without any
  /// With what is known beforehand: for a cause the knowledge's chance, worth kKnownFor trials; else Jeffreys.
  measure::BetaPosterior beta{0.5, 0, 0.5, {0, 1}};
  std::optional<double> median_minutes;
  Lasting lasting;
};
inline constexpr double kKnownFor = 4;

/// The cure table, the repairs done most first. A cure came back when a later job of the same locomotive has the same
/// finding or cause (as asked), or, for everything and for a locomotive, any cause in common or no cause said.
/// \param until  UTC: how far the log was looked at
std::vector<CureRow> cures(const PastJobs& past, const catalogue::Catalogue& catalogue, const CuresOf& of,
                           const std::string& until);

}  // namespace wheeltapper::statistics
