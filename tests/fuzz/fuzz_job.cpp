// Any lines are events or are refused in words; any events fold into a job or are refused; any words are an answer or
// are refused, whatever is asked.
#include <cstdint>
#include <cstdlib>
#include <stdexcept>
#include <vector>

#include "engine/guide/position.hpp"
#include "engine/guide/replies.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"
#include "engine/job/job_case.hpp"
#include "engine/job/summary.hpp"
#include "knowledge/shipped.hpp"
#include "tests/fuzz/targets.hpp"

namespace {

using namespace wheeltapper;

const guide::Position& some_position() {
  static const guide::Position position = [] {
    job::Event opened;
    opened.id = "00000001-0000-4000-8000-000000000000";
    opened.job = opened.id;
    opened.number = 1;
    opened.at = "2026-11-28T10:00:00.000Z";
    opened.kind = job::EventKind::opened;
    opened.body = {{"title", "Fuzz"}, {"locomotive", {{"family", "ac-series"}, {"name", "Fernhill No. 1"}}}};
    return guide::position_of(knowledge::shipped(), {opened});
  }();
  return position;
}

void answer_everything(std::string_view line) {
  using Ask = guide::Prompt::Ask;
  const std::pair<const char*, Ask> prompts[] = {{"locomotive", Ask::text},
                                                 {"finding:squeal", Ask::yes_no},
                                                 {"finding:slow-or-weak", Ask::level},
                                                 {"limit-amps", Ask::quantity},
                                                 {"reading:lap-rate:forward", Ask::laps},
                                                 {"repeat:amps:reverse:1", Ask::quantity},
                                                 {"cars", Ask::count},
                                                 {"hazards", Ask::some},
                                                 {"check:check-roll-by-hand", Ask::check},
                                                 {"repair:repair-oil-bearings", Ask::repair},
                                                 {"outcome", Ask::outcome}};
  for (const auto& [key, ask] : prompts) {
    guide::Prompt prompt{job::topic_of(key), ask, "?", "Such as 1.", {"one", "two"}, {"squeal", "grinding"}, "A"};
    const guide::Reply reply = guide::interpret(some_position(), prompt, line);
    if (reply.drafts.empty() == reply.trouble.empty()) std::abort();
  }
}

}  // namespace

int fuzz_job(const std::uint8_t* data, std::size_t size) {
  static const auto catalogue = knowledge::shipped();
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  std::vector<job::Event> events;
  for (std::size_t at = 0; at < text.size();) {
    const auto end = std::min(text.find('\n', at), text.size());
    const std::string_view line = text.substr(at, end - at);
    at = end + 1;
    if (line.size() < 200) answer_everything(line);
    try {
      job::Event event = job::from_line(line);
      if (!(job::from_line(job::to_line(event)) == event)) std::abort();
      if (events.empty() || events.front().job == event.job) events.push_back(std::move(event));
    } catch (const wheeltapper::input::InputError&) {
      continue;
    }
  }
  if (events.empty()) return 0;
  try {
    const job::Job job = job::fold(std::move(events));
    job::summarise(job, *catalogue);
    job::case_of(job, *catalogue);
  } catch (const wheeltapper::input::InputError&) {
    return 0;
  } catch (const input::BadInput&) {
    return 0;
  }
  return 0;
}
