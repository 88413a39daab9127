#pragma once
#include <cstddef>
#include <vector>

#include "engine/job/event.hpp"

namespace wheeltapper::job {

/// Which events of a job were known to the writer of which others. Two benches that write apart see nothing of each
/// other until their logs are merged, whatever numbers and clocks say: an event knows what it names (Seen::after) and
/// all that these know. One without that, of an old log, knows all with a lower number.
class Lineage {
 public:
  Lineage() = default;
  /// \param events  all events of one job that count in their first form, in their order (before() in job.hpp)
  explicit Lineage(const std::vector<Event>& events);
  /// True if the writer of event `later` had event `earlier` before them; places in the list given.
  bool saw(std::size_t later, std::size_t earlier) const;

 private:
  // Most events know all before them: `all_before_` of these, and bits for the others.
  std::vector<std::size_t> all_before_;
  std::vector<std::vector<bool>> beyond_;
};

/// What an event written now, after reading these, has seen: of all forms.
Seen seen_of(const std::vector<Event>& events);

}  // namespace wheeltapper::job
