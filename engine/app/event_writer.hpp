#pragma once
#include <functional>
#include <string>
#include <vector>

#include "engine/job/event.hpp"

namespace wheeltapper::app {

/// What is handed in of the world outside.
struct World {
  std::function<std::string()> now;     ///< UTC, as Event::at
  std::function<std::string()> new_id;  ///< a fresh UUID in lower case
  std::string writer;                   ///< the bench that writes
};

/// Events of drafts with new ids, the time now and the bench's name. One answer: all at one moment, each after the one
/// before it, the first after what was seen.
std::vector<job::Event> events_of(const World& world, const std::string& job, std::vector<job::Draft> drafts,
                                  const job::Seen& seen);

}  // namespace wheeltapper::app
