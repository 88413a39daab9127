// Any lines typed at a guided job are answers or are told why not; whatever was typed the job goes on, and no step that
// a standing rule forbids is offered.
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "engine/belief/trellis.hpp"
#include "engine/guide/position.hpp"
#include "engine/guide/replies.hpp"
#include "engine/input/problem.hpp"
#include "engine/job/hazards.hpp"
#include "knowledge/shipped.hpp"
#include "tests/fuzz/targets.hpp"
#include "tests/support/events.hpp"

namespace {

using namespace wheeltapper;

/// By the words of the rules, not by the plan's own function.
void demand_safe(const guide::Position& at) {
  bool live = false;
  bool strict = false;
  for (const auto& gate : at.diagnosis.advice.gates) {
    if (gate.cleared) continue;
    live = true;
    strict = strict || gate.rule->withhold != catalogue::Withhold::live;
  }
  const auto& next = at.diagnosis.advice.next;
  if (!live) return;
  if (next && next->check != nullptr && next->check->power != catalogue::Power::unplugged) std::abort();
  if (next && next->repair != nullptr && (strict || next->repair->power != catalogue::Power::unplugged)) std::abort();
  if (at.prompt && at.prompt->caution) std::abort();  // power would come on
}

}  // namespace

int fuzz_dialogue(const std::uint8_t* data, std::size_t size) {
  constexpr std::size_t kMostLines = 12;
  static const auto catalogue = knowledge::shipped();
  std::string_view text(reinterpret_cast<const char*>(data), size);
  std::vector<job::Event> events{
      tests::event(1, 1, job::EventKind::opened, {{"title", "Fuzz"}, {"locomotive", {{"family", "ac-series"}}}})};
  guide::Position at = guide::position_of(catalogue, events);
  for (std::size_t line = 0; line < kMostLines && !text.empty() && at.prompt; ++line) {
    const auto end = std::min(text.find('\n'), text.size());
    const guide::Reply reply = guide::interpret(at, *at.prompt, text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    if (reply.drafts.empty() == reply.trouble.empty()) std::abort();
    std::vector<job::Event> more = events;
    for (const auto& [kind, body] : reply.drafts)
      more.push_back(tests::event(more.size() + 1, 1, kind, body, "2026-11-28T10:00:00.000Z"));
    for (std::size_t i = events.size(); i < more.size(); ++i) more[i].number = static_cast<std::int64_t>(i + 1);
    try {
      at = guide::position_of(catalogue, more);
      events = std::move(more);
    } catch (const input::BadInput&) {
      continue;  // told to the person, and nothing is written
    } catch (const belief::ImpossibleEvidence&) {
      continue;
    }
    demand_safe(at);
  }
  return 0;
}
