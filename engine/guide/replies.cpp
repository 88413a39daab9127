#include "engine/guide/replies.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>
#include <charconv>
#include <set>

#include "engine/cases/reading.hpp"
#include "engine/guide/hearing.hpp"
#include "engine/guide/typed_reading.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"

namespace wheeltapper::guide {

using job::Topic;
using Kind = job::Topic::Kind;
namespace {

using nlohmann::json;
using Ask = Prompt::Ask;

std::string tidy(std::string_view line) {
  std::string text(line);
  boost::trim(text);
  return text;
}

bool is(const std::string& text, std::initializer_list<std::string_view> words) {
  return std::ranges::any_of(words, [&](std::string_view word) { return boost::iequals(text, word); });
}
bool is_yes(const std::string& text) { return is(text, {"yes", "y", "ja", "yep"}); }
bool is_no(const std::string& text) { return is(text, {"no", "n", "nope"}); }
bool is_unsure(const std::string& text) {
  return is(text, {"unsure", "u", "?", "don't know", "dont know", "not sure"});
}
bool is_skip(const std::string& text) { return is(text, {"skip", "s", "not seen"}); }
bool is_none(const std::string& text) { return is(text, {"none", "no", "n", "nothing", "0"}); }

/// "1 3", "1,3", "1 and 3": numbers from 1 to `most`; nothing if anything else stands there.
std::optional<std::set<std::size_t>> numbers(const std::string& text, std::size_t most) {
  std::vector<std::string> parts;
  boost::split(parts, text, boost::is_any_of(" ,;+&"), boost::token_compress_on);
  std::set<std::size_t> all;
  for (const std::string& part : parts) {
    if (part.empty() || is(part, {"and"})) continue;
    std::size_t value = 0;
    const auto [end, wrong] = std::from_chars(part.data(), part.data() + part.size(), value);
    if (wrong != std::errc() || end != part.data() + part.size() || value < 1 || value > most) return std::nullopt;
    all.insert(value);
  }
  if (all.empty()) return std::nullopt;
  return all;
}

Reply trouble(std::string what) { return {{}, std::move(what)}; }
Reply event(job::EventKind kind, json body) { return {{{kind, std::move(body)}}, {}}; }
job::Draft marked(const Topic& topic, std::string_view word) {
  return {job::EventKind::marked, json{{"key", text_of(topic)}, {"word", word}}};
}
Reply mark(const Topic& topic, std::string_view word) { return {{marked(topic, word)}, {}}; }

Reply reply_text(const Prompt& prompt, const std::string& text) {
  if (text.empty()) return trouble("Some words, or skip.");
  if (std::ranges::any_of(text, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }))
    return trouble("Plain words, without tabs and control keys.");
  if (text.size() > (prompt.topic.kind == Kind::locomotive ? 100U : 2000U))
    return trouble("That is too long; say it in fewer words.");
  if (prompt.topic.kind == Kind::locomotive) return event(job::EventKind::told, {{"locomotive", {{"name", text}}}});
  return event(job::EventKind::told, {{text_of(prompt.topic), text}});
}

Reply reply_yes_no(const Position& at, const Prompt& prompt, const std::string& text) {
  const bool yes = is_yes(text);
  if (!yes && !is_no(text) && !is_unsure(text)) return trouble("Please answer yes, no, unsure or skip.");
  const std::string word = yes ? "yes" : is_no(text) ? "no" : "unsure";
  if (prompt.topic.kind == Kind::context) {
    if (word == "unsure") return mark(prompt.topic, "unsure");
    return event(job::EventKind::known, {{prompt.topic.id, yes}});
  }
  if (prompt.topic.kind == Kind::finding) return event(job::EventKind::answers, {{prompt.topic.id, word}});
  if (word == "unsure") return trouble("Yes or no, please; or stop, and look first.");
  if (prompt.topic.kind == Kind::no_fault) {
    if (yes) return event(job::EventKind::closed, {{"outcome", "no-fault"}, {"causes", json::array()}});
    return mark(prompt.topic, "no");
  }
  if (prompt.topic.kind == Kind::retest_eye) return event(job::EventKind::retested, {{"passed", yes}});
  Reply reply = mark(prompt.topic, word);  // "runs"
  if (prompt.topic.kind == Kind::runs && !yes && at.job.stage() > 0)
    reply.drafts.emplace_back(job::EventKind::retested, json{{"passed", false}});
  return reply;
}

Reply reply_level(const Prompt& prompt, const std::string& text) {
  if (is_yes(text) || is_no(text) || is_unsure(text))
    return event(job::EventKind::answers, {{prompt.topic.id, is_yes(text) ? "yes" : is_no(text) ? "no" : "unsure"}});
  const auto chosen = numbers(text, prompt.choices.size());
  if (chosen && chosen->size() == 1)
    return event(job::EventKind::answers, {{prompt.topic.id, prompt.choices[*chosen->begin() - 1]}});
  const auto named = std::ranges::find_if(prompt.choices, [&](const auto& each) { return boost::iequals(each, text); });
  if (named != prompt.choices.end()) return event(job::EventKind::answers, {{prompt.topic.id, *named}});
  return trouble(fmt::format("A number from 1 to {}, or yes, no, unsure, skip.", prompt.choices.size()));
}

int cars_of(const Position& at) {
  const auto cars = at.job.marks.find(Kind::cars);
  int count = -1;
  if (cars != at.job.marks.end())
    std::from_chars(cars->second.word.data(), cars->second.word.data() + cars->second.word.size(), count);
  if (count >= 0) return count;
  for (const bench::Limit& limit : at.the_case.session.limits)  // the test as it is set up
    if (limit.holds_for.cars) return *limit.holds_for.cars;
  return -1;
}

Reply reply_limit(const Position& at, const Prompt& prompt, const std::string& text) {
  const bool amps = prompt.topic.kind == Kind::limit_amps;
  const std::string typed = bare_number(text) ? text + " " + prompt.unit : text;
  const auto* quantity = at.catalogue->quantity(amps ? "amps" : "lap-rate");
  try {
    cases::make_reading(*quantity, {typed}, nullptr);
    if (measure::parse_typed(typed).uncertainty > 0)
      throw input::InputError("has an uncertainty, which a limit does not have");
  } catch (const input::InputError& wrong) {
    return trouble(fmt::format("\"{}\" {}. Such as {}.", text, wrong.what(), amps ? "2.0 A" : "9 /min"));
  }
  json limits = at.job.head.contains("limits") ? at.job.head["limits"] : json::array();
  json limit{{"quantity", quantity->id}, {"run", "loaded"}, {amps ? "at-most" : "at-least", typed}};
  if (cars_of(at) >= 0) limit["cars"] = cars_of(at);
  limits.push_back(std::move(limit));
  Reply reply = event(job::EventKind::told, {{"limits", std::move(limits)}});
  reply.drafts.push_back(marked(prompt.topic, "told"));
  reply.drafts.push_back(marked(Kind::limit_asked, "yes"));
  return reply;
}

/// Repeats of a timing are of the same laps; of a rate, rates.
void demand_same_form(const Position& at, const json& body) {
  std::size_t passed = 0;
  for (const job::Job::StageRun& each : at.job.runs) {
    const bool same = each.stage == at.job.stage() && each.run.value("kind", "loaded") == body["kind"] &&
                      each.run.value("direction", "any") == body["direction"];
    if (!same || passed++ != body["turn"].get<std::size_t>()) continue;
    const bool timed = each.run.contains("laps");
    if (timed && (!body.contains("laps") || body["laps"] != each.run["laps"]))
      throw input::InputError(fmt::format("must be the time of {} laps again", each.run["laps"].dump()));
    if (!timed && body.contains("laps")) throw input::InputError("must be laps a minute again");
  }
}

/// So far from its limit that a unit or a point may have slipped: it is asked for once more before it is taken.
bool is_far(const Position& at, const json& body) {
  return far_from_limit(*at.catalogue, at.the_case, body).has_value();
}

/// The same reading typed again.
bool was_confirmed(const Position& at, const Prompt& prompt, const std::string& text) {
  const auto far = at.job.marks.find(Kind::far);
  return far != at.job.marks.end() && far->second.stage == at.job.stage() &&
         far->second.word == text_of(prompt.topic) + " " + text;
}

Reply reply_reading(const Position& at, const Prompt& prompt, const std::string& text) {
  const std::string& quantity = prompt.topic.id;
  try {
    json body = reading_body(*at.catalogue, quantity, text);
    body["kind"] = "loaded";
    body["direction"] = bench::name(prompt.topic.direction);
    if (const int cars = cars_of(at); cars >= 0) body["cars"] = cars;
    if (prompt.topic.kind == Kind::repeat) {
      body["more"] = true;
      body["turn"] = static_cast<std::uint64_t>(prompt.topic.turn);
      if (quantity == "lap-rate") demand_same_form(at, body);
    }
    if (is_far(at, body) && !was_confirmed(at, prompt, text))
      return mark(Kind::far, text_of(prompt.topic) + " " + text);
    return event(job::EventKind::reading, std::move(body));
  } catch (const input::InputError& wrong) {
    return trouble(fmt::format("\"{}\" {}. {}", text, wrong.what(), prompt.hint));
  }
}

/// Those that were chosen are so. Of the others those are not that strike whoever is there; the rest was not noticed:
/// nobody looked for it, and some want hands or a meter.
Reply reply_hazards(const Position& at, const Prompt& prompt, const std::string& text) {
  const auto chosen = numbers(text, prompt.choices.size());
  if (!is_none(text) && !chosen)
    return trouble(fmt::format("Numbers from 1 to {}, such as 2 5, or none.", prompt.choices.size()));
  json answers = json::object();
  for (std::size_t i = 0; i < prompt.ids.size(); ++i) {
    const bool yes = chosen && chosen->contains(i + 1);
    const auto& finding = *at.catalogue->finding(prompt.ids[i]);
    if (yes || !finding.reading)
      answers[finding.id] = yes ? "yes" : finding.strikes ? "no" : std::string(cases::kNotNoticed);
  }
  Reply reply = event(job::EventKind::answers, std::move(answers));
  reply.drafts.push_back(marked(Kind::hazards, "asked"));
  return reply;
}

/// A no to what was heard denies nothing: it may have been meant of something that stands.
Reply reply_heard(const Position& at, const Prompt& prompt, const std::string& text) {
  const bool only_one = is_yes(text) && prompt.ids.size() == 1;
  const auto chosen = only_one ? std::set<std::size_t>{1} : numbers(text, prompt.choices.size());
  if (!is_none(text) && !chosen)
    return trouble(fmt::format("Numbers from 1 to {}, or none. In doubt, the number.", prompt.choices.size()));
  Reply reply;
  for (const std::string& words : unsettled(at.job))
    reply.drafts.push_back(marked(settling(words), chosen ? "yes" : "none"));
  if (!chosen) return reply;
  json answers = json::object();
  for (const std::size_t number : *chosen) answers[prompt.ids[number - 1]] = "yes";
  reply.drafts.emplace_back(job::EventKind::answers, std::move(answers));
  return reply;
}

Reply reply_some(const Position& at, const Prompt& prompt, const std::string& text) {
  const auto chosen = numbers(text, prompt.choices.size());
  const bool none = is_none(text);
  if (prompt.topic.kind == Kind::hazards) return reply_hazards(at, prompt, text);
  if (prompt.topic.kind == Kind::heard) return reply_heard(at, prompt, text);
  // what it was, on closing
  if (!none && !chosen && !is_unsure(text) && !is_skip(text))
    return trouble(fmt::format("Numbers from 1 to {}, unsure, or none.", prompt.choices.size()));
  json causes = json::array();
  if (chosen)
    for (const std::size_t number : *chosen) causes.push_back(prompt.ids[number - 1]);
  json body{{"outcome", "cured"}, {"causes", std::move(causes)}};
  if (none) body["unlisted"] = true;
  return event(job::EventKind::closed, std::move(body));
}

Reply reply_check(const Prompt& prompt, const std::string& text) {
  const bool single_yes = is_yes(text) && prompt.ids.size() == 1;
  const auto chosen = numbers(text, prompt.choices.size());
  if (!is_none(text) && !chosen && !single_yes)
    return trouble(fmt::format("Numbers from 1 to {} of what you saw, none, unsure, or skip.", prompt.choices.size()));
  json results = json::object();
  for (std::size_t i = 0; i < prompt.ids.size(); ++i)
    results[prompt.ids[i]] = single_yes || (chosen && chosen->contains(i + 1)) ? "seen" : "not seen";
  return event(job::EventKind::checked, {{"check", prompt.topic.id}, {"results", std::move(results)}});
}

Reply reply_repair(const Prompt& prompt, const std::string& text) {
  json body{{"repair", prompt.topic.id}, {"by", "technician"}};
  if (is_yes(text) || is(text, {"done"})) return event(job::EventKind::repaired, std::move(body));
  try {
    const measure::Typed typed = measure::parse_typed(bare_number(text) ? text + " min" : text);
    const double minutes = measure::convert(typed.value, typed.unit, measure::unit("min"));
    if (minutes < 0 || minutes > 10000) return trouble("That can't be its minutes.");
    body["minutes"] = minutes;
    return event(job::EventKind::repaired, std::move(body));
  } catch (const input::InputError&) {
    return trouble("When it is done: yes, or the minutes it took, such as 20 min. Otherwise skip or stop.");
  }
}

Reply reply_outcome(const Prompt& prompt, const std::string& text) {
  const auto chosen = numbers(text, prompt.choices.size());
  std::size_t at = prompt.ids.size();
  if (chosen && chosen->size() == 1) at = *chosen->begin() - 1;
  for (std::size_t i = 0; i < prompt.ids.size(); ++i)
    if (boost::iequals(text, prompt.ids[i]) || boost::iequals(text, prompt.choices[i])) at = i;
  if (at == prompt.ids.size()) return trouble(fmt::format("A number from 1 to {}, or stop.", prompt.choices.size()));
  if (prompt.topic.kind == Kind::retest_missing) return mark(Kind::run_again, "yes");
  if (prompt.ids[at] == "cured") return mark(Kind::close, "cured");
  return event(job::EventKind::closed, {{"outcome", prompt.ids[at]}, {"causes", json::array()}});
}

Reply reply_skip(const Prompt& prompt) {
  if (!prompt.may_skip) return trouble("This one can't be skipped; stop keeps the job as it is.");
  if (prompt.topic.kind == Kind::finding) return event(job::EventKind::answers, {{prompt.topic.id, "skipped"}});
  return mark(prompt.topic, "skip");
}

Reply interpret_answer(const Position& position, const Prompt& prompt, const std::string& text) {
  if (is_skip(text) && prompt.topic.kind != Kind::causes) return reply_skip(prompt);
  switch (prompt.ask) {
    case Ask::text:
      return reply_text(prompt, text);
    case Ask::yes_no:
      return reply_yes_no(position, prompt, text);
    case Ask::level:
      return reply_level(prompt, text);
    case Ask::quantity:
      if (prompt.topic.kind == Kind::limit_amps || prompt.topic.kind == Kind::limit_laps)
        return reply_limit(position, prompt, text);
      return reply_reading(position, prompt, text);
    case Ask::laps:
      return reply_reading(position, prompt, text);
    case Ask::count: {
      const auto count = bare_number(text) ? numbers(text, 1000) : std::nullopt;
      if ((!count || count->size() != 1) && text != "0") return trouble("A whole number, such as 4.");
      return mark(prompt.topic, text);
    }
    case Ask::some:
      return reply_some(position, prompt, text);
    case Ask::check:
      if (is_unsure(text)) return reply_skip(prompt);
      return reply_check(prompt, text);
    case Ask::repair:
      return reply_repair(prompt, text);
    case Ask::outcome:
      return reply_outcome(prompt, text);
  }
  return trouble("That can't be taken.");
}

}  // namespace

Reply interpret(const Position& position, const Prompt& prompt, std::string_view line) {
  const std::string text = tidy(line);
  if (!input::is_utf8(text)) return trouble("That is no readable text (UTF-8).");
  if (text.empty()) return trouble(prompt.hint.empty() ? "yes, no, unsure, skip, why, back or stop." : prompt.hint);
  Reply reply = interpret_answer(position, prompt, text);
  if (prompt.ask != Ask::text && reply.trouble.empty()) return reply;
  const auto heard = hear(position, text);
  if (heard.empty()) return reply;
  const bool asks = heard.front().second["word"] == kWholeList;
  if (asks || text.size() > 2000) reply.drafts.clear();
  if (!asks && !reply.trouble.empty() && text.size() <= 2000)
    reply = event(job::EventKind::note, {{"text", text}});  // it is no answer, but what was said is kept
  reply.trouble.clear();
  reply.drafts.insert(reply.drafts.end(), heard.begin(), heard.end());
  return reply;
}

}  // namespace wheeltapper::guide
