#pragma once
#include <catch2/catch.hpp>

#include "engine/guide/position.hpp"
#include "engine/guide/replies.hpp"
#include "tests/support/events.hpp"

namespace wheeltapper::tests {

/// A job that is led by lines, as at the terminal.
class Led {
 public:
  Led() { append({{job::EventKind::opened, {{"title", "Repair job"}, {"locomotive", {{"family", "ac-series"}}}}}}); }
  guide::Position at() const { return guide::position_of(catalogue_, events_); }
  std::string key() const {
    const guide::Position now = at();
    return now.prompt ? now.prompt->key : "closed";
  }
  std::string say(const std::string& line) {
    const guide::Position now = at();
    const guide::Reply reply = guide::interpret(now, *now.prompt, line);
    append(reply.drafts);
    return reply.trouble;
  }
  void append(const std::vector<job::Draft>& drafts) {
    ++moment_;
    for (const auto& [kind, body] : drafts) {
      const auto n = static_cast<std::uint64_t>(events_.size() + 1);
      events_.push_back(
          tests::event(n, 3, kind, body, fmt::format("2026-11-28T10:{:02}:{:02}.000Z", moment_ / 60, moment_ % 60)));
    }
  }
  void until_run() {
    for (const char* line : {"Fernhill No. 9", "slow", "none", "4", "2.0", "9"}) REQUIRE(say(line).empty());
    REQUIRE(key() == "runs");
  }
  void run(const std::string& amps, const std::string& laps) {
    REQUIRE(say("yes").empty());
    for (int way = 0; way < 2; ++way) {
      REQUIRE(say(amps).empty());
      REQUIRE(say(laps).empty());
    }
  }

 private:
  std::shared_ptr<const catalogue::Catalogue> catalogue_ = knowledge::shipped();
  std::vector<job::Event> events_;
  int moment_ = 0;
};

}  // namespace wheeltapper::tests
