// What questions and marks are about, and how the log writes it.
#include "engine/job/topic.hpp"

#include <random>

namespace {

using namespace wheeltapper;
using job::text_of;
using job::Topic;
using Kind = Topic::Kind;

TEST_CASE("a topic is written as every log so far has it", "[topic]") {
  CHECK(text_of(Kind::runs) == "runs");
  CHECK(text_of({Kind::finding, "squeal"}) == "finding:squeal");
  CHECK(text_of({Kind::reading, "amps", bench::Direction::forward}) == "reading:amps:forward");
  CHECK(text_of({Kind::reading, "lap-rate"}) == "reading:lap-rate:any");
  CHECK(text_of({Kind::repeat, "amps", bench::Direction::reverse, 2}) == "repeat:amps:reverse:2");
  CHECK(text_of(Kind::retest_missing) == "retest-missing");
  CHECK(text_of(Kind::salvaged) == "salvaged");
}

TEST_CASE("a topic is read as what it was", "[topic]") {
  for (std::size_t kind = 0; kind < static_cast<std::size_t>(Kind::other); ++kind)
    for (const std::string id : {"", "squeal"})
      for (const auto way : {bench::Direction::any, bench::Direction::reverse}) {
        const bool read = static_cast<Kind>(kind) == Kind::reading || static_cast<Kind>(kind) == Kind::repeat;
        if (read && id.empty()) continue;  // a reading is always of something
        const Topic topic(static_cast<Kind>(kind), id, read ? way : bench::Direction::any);
        CHECK(job::topic_of(text_of(topic)) == topic);
      }
}

TEST_CASE("a text that is no topic stays as it is", "[topic]") {
  for (const std::string text : {"", ":", "runs:", "reading:amps", "reading:amps:up", "reading::forward",
                                 "repeat:amps:any:-1", "repeat:amps:any:01", "finding:a:b", "Runs", "later-kind:x"}) {
    CHECK(job::topic_of(text) == Topic(Kind::other, text));
    CHECK(text_of(job::topic_of(text)) == text);
  }
  std::mt19937 random(5);
  for (int i = 0; i < 2000; ++i) {
    std::string text;
    for (auto n = random() % 12; n > 0; --n) text += "runsepati:0-"[random() % 12];
    CHECK(text_of(job::topic_of(text)) == text);
  }
}

}  // namespace
