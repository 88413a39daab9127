#pragma once
#include <fmt/format.h>

#include <cstdint>
#include <string>

#include "engine/job/event.hpp"
#include "engine/log/log.hpp"

namespace wheeltapper::tests {

/// A UUID made of a number, so that tests say which is which.
inline std::string uuid(std::uint64_t number) {
  return fmt::format("{:08x}-{:04x}-4000-8000-{:012x}", number >> 32U, (number >> 16U) & 0xffffU, number);
}

inline job::Event event(std::uint64_t id, std::uint64_t job, job::EventKind kind, nlohmann::json body,
                        const std::string& at = "2026-11-28T10:00:00.000Z") {
  job::Event made;
  made.id = uuid(id);
  made.job = uuid(job);
  made.number = static_cast<std::int64_t>(id);
  made.at = at;
  made.writer = "bench one";
  made.kind = kind;
  made.body = std::move(body);
  return made;
}

inline log::Summarise by(std::shared_ptr<const catalogue::Catalogue> catalogue) {
  return [catalogue](const job::Job& job) { return job::summarise(job, *catalogue); };
}

}  // namespace wheeltapper::tests
