#include "engine/job/topic.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <vector>

namespace wheeltapper::job {
namespace {

using Kind = Topic::Kind;

/// In the order of Topic::Kind. Logs hold these words: none may change.
constexpr std::array<std::string_view, 27> kWords{
    "locomotive", "complaint",   "hazards", "heard",     "settled",       "cars",       "limit-amps",
    "limit-laps", "limit-asked", "runs",    "run-again", "reading",       "repeat",     "far",
    "finding",    "check",       "repair",  "context",   "skipped-steps", "retest-eye", "retest-missing",
    "no-fault",   "causes",      "close",   "not-over",  "outcome",       "salvaged"};
static_assert(kWords.size() == static_cast<std::size_t>(Kind::other));

std::vector<std::string_view> parts_of(std::string_view text) {
  std::vector<std::string_view> parts;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t to = std::min(text.find(':', from), text.size());
    parts.push_back(text.substr(from, to - from));
    from = to + 1;
  }
  return parts;
}

Topic read(std::string_view text) {
  const auto parts = parts_of(text);
  const auto word = std::ranges::find(kWords, parts[0]);
  if (word == kWords.end()) return {Kind::other, std::string(text)};
  Topic topic(static_cast<Kind>(word - kWords.begin()));
  if (parts.size() > 1) topic.id = parts[1];
  if (parts.size() > 2) topic.direction = bench::direction(parts[2]).value_or(bench::Direction::any);
  if (parts.size() > 3) std::from_chars(parts[3].data(), parts[3].data() + parts[3].size(), topic.turn);
  return topic;
}

}  // namespace

std::string text_of(const Topic& topic) {
  if (topic.kind == Kind::other) return topic.id;
  std::string text(kWords[static_cast<std::size_t>(topic.kind)]);
  if (!topic.id.empty()) text += ":" + topic.id;
  if (topic.kind == Kind::reading || topic.kind == Kind::repeat)
    text += fmt::format(":{}", bench::name(topic.direction));
  if (topic.kind == Kind::repeat) text += fmt::format(":{}", topic.turn);
  return text;
}

Topic topic_of(std::string_view text) {
  Topic topic = read(text);
  if (text_of(topic) != text) return {Kind::other, std::string(text)};
  return topic;
}

}  // namespace wheeltapper::job
