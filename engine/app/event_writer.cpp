#include "engine/app/event_writer.hpp"

#include <cassert>

namespace wheeltapper::app {

std::vector<job::Event> events_of(const World& world, const std::string& job, std::vector<job::Draft> drafts,
                                  const job::Seen& seen) {
  assert(world.now && world.new_id && !world.writer.empty());
  std::vector<job::Event> events;
  const std::string at = world.now();
  for (auto& [kind, body] : drafts) {
    job::Event event;
    event.id = world.new_id();
    event.job = job;
    event.at = at;
    event.writer = world.writer;
    event.kind = kind;
    event.body = std::move(body);
    event.seen = seen;
    if (!events.empty()) {
      event.seen->after = {events.back().id};
      event.seen->with = events.front().id;
    }
    events.push_back(std::move(event));
  }
  return events;
}

}  // namespace wheeltapper::app
