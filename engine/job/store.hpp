#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/job/event.hpp"

namespace wheeltapper::job {

/// A line of the list of jobs.
struct JobLine {
  std::string job, opened, last, title, locomotive;
  std::size_t events = 0;
  std::optional<std::string> outcome;  ///< of a closed one
};

/// Where the events of all jobs are kept: a log's file (log/log.hpp), or memory.
class Store {
 public:
  Store() = default;
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;
  Store(Store&&) = delete;
  Store& operator=(Store&&) = delete;
  virtual ~Store() = default;

  /// Appends to a job, all or none. `number` of the drafts is not read: they get the next ones. Returns them as
  /// written.
  virtual std::vector<Event> append(std::vector<Event> drafts) = 0;
  /// The events of one job in their order, then second forms of some, marked as such; empty if it is not there.
  virtual std::vector<Event> events(const std::string& job) = 0;
  /// All jobs, the last touched first.
  virtual std::vector<JobLine> jobs() = 0;
};

/// Jobs that last as long as this object.
class MemoryStore final : public Store {
 public:
  std::vector<Event> append(std::vector<Event> drafts) override;
  std::vector<Event> events(const std::string& job) override;
  std::vector<JobLine> jobs() override;

 private:
  std::map<std::string, std::vector<Event>> jobs_;
};

}  // namespace wheeltapper::job
