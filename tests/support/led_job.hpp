#pragma once
#include <fmt/format.h>

#include <catch2/catch.hpp>

#include "engine/app/desk.hpp"
#include "tests/support/small_catalogue.hpp"

namespace wheeltapper::tests {

/// A clock that goes a second at a time, and ids that count.
inline app::World counted_world(std::string bench = "bench", int first = 0) {
  auto count = std::make_shared<int>(first);
  return {[count] { return fmt::format("2026-11-28T10:{:02}:{:02}.000Z", *count / 60 % 60, *count % 60); },
          [count] { return fmt::format("00000000-0000-4000-8000-{:012x}", ++*count); }, std::move(bench)};
}

/// A job that is led by lines, as at the terminal.
class Led {
 public:
  explicit Led(std::shared_ptr<const catalogue::Catalogue> catalogue = small_catalogue())
      : desk_(std::move(catalogue), store_, counted_world()), screen_(desk_.open("ac-series")) {}
  Led(const Led&) = delete;
  Led& operator=(const Led&) = delete;

  const guide::Position& at() const { return *screen_.at; }
  std::string key() const { return screen_.prompt ? text_of(screen_.prompt->topic) : "closed"; }
  /// Returns why the line was not taken.
  std::string say(const std::string& line) {
    screen_ = desk_.say(line);
    return screen_.refused;
  }
  void append(const std::vector<job::Draft>& drafts) { screen_ = desk_.enter(drafts); }
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
  job::MemoryStore store_;
  app::Desk desk_;
  app::Screen screen_;
};

}  // namespace wheeltapper::tests
