#include "engine/job/store.hpp"

#include <algorithm>

#include "engine/job/job.hpp"

namespace wheeltapper::job {

std::vector<Event> MemoryStore::append(std::vector<Event> drafts) {
  for (Event& draft : drafts) {
    std::vector<Event>& events = jobs_[draft.job];
    draft.number = events.empty() ? 1 : events.back().number + 1;
    if (!draft.seen) draft.seen = seen_of(events);
    events.push_back(draft);
  }
  return drafts;
}

std::vector<Event> MemoryStore::events(const std::string& job) {
  const auto found = jobs_.find(job);
  return found == jobs_.end() ? std::vector<Event>() : found->second;
}

std::vector<JobLine> MemoryStore::jobs() {
  std::vector<JobLine> lines;
  for (const auto& [id, events] : jobs_) {
    const Job job = fold(events);
    JobLine line{id, events.front().at, events.front().at, job.head.value("title", ""), job.locomotive(), events.size(),
                 {}};
    for (const Event& event : events) {
      line.opened = std::min(line.opened, event.at);
      line.last = std::max(line.last, event.at);
    }
    if (job.closing) line.outcome = std::string(name(job.closing->outcome));
    lines.push_back(std::move(line));
  }
  std::ranges::stable_sort(lines, std::greater<>(), &JobLine::last);
  return lines;
}

}  // namespace wheeltapper::job
