#include "engine/belief/evidence.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <stdexcept>

#include "engine/belief/past.hpp"

namespace wheeltapper::belief {
namespace {

using catalogue::Catalogue;
using catalogue::Finding;

double error_scale(Observer observer) { return observer == Observer::technician ? 0.5 : 1.0; }

/// A finding that was observed in one way or another.
struct Seen {
  const Finding* finding = nullptr;
  std::optional<bench::LevelChances> reading;
  std::optional<Answer> answer;
  const Outcome* outcome = nullptr;  ///< of a check that looked at it properly
  bool present() const {
    if (outcome != nullptr) return outcome->seen;
    if (reading) return reading->present();
    return answer->present();
  }
};

const Finding& demand_finding(const Network& network, const std::string& id) {
  const Finding* finding = network.catalogue().finding(id);
  if (finding == nullptr) throw NotInKnowledge("there is no finding \"" + id + "\"");
  if (!network.applies(*finding))
    throw NotInKnowledge("the finding \"" + id + "\" is not asked in the family " + network.family());
  return *finding;
}

const catalogue::Result& demand_result(const Network& network, const Outcome& outcome) {
  const auto* check = network.catalogue().check(outcome.check);
  if (check == nullptr) throw NotInKnowledge("there is no check \"" + outcome.check + "\"");
  const auto found = std::ranges::find(check->results, outcome.result, &catalogue::Result::id);
  if (found == check->results.end())
    throw NotInKnowledge("the check \"" + outcome.check + "\" has no result \"" + outcome.result + "\"");
  return *found;
}

std::map<std::string, Seen> collect(const Network& network, const Observations& observations, Evidence& evidence) {
  std::map<std::string, Seen> seen;
  for (const auto& [id, chances] : observations.readings.all()) {
    const Finding& finding = *network.catalogue().finding(id);
    if (network.applies(finding)) seen[id] = {&finding, chances, {}};
  }
  for (const Answer& answer : observations.answers) {
    const Finding& finding = demand_finding(network, answer.finding);
    if (answer.level && *answer.level > finding.top())
      throw NotInKnowledge("the finding \"" + answer.finding + "\" has no such level");
    Seen& at = seen[finding.id];
    at.finding = &finding;
    at.answer = answer;
    if (at.reading) evidence.dropped.push_back({finding.id, "the reading counts instead of the answer"});
  }
  for (const Outcome& outcome : observations.outcomes) {
    const std::string& id = demand_result(network, outcome).finding;
    if (id.empty()) continue;
    Seen& at = seen[id];
    at.finding = &demand_finding(network, id);
    if (at.reading || at.answer)
      evidence.dropped.push_back({id, "the check " + outcome.check + " looked at it properly"});
    at.reading.reset();
    at.answer.reset();
    if (at.outcome != nullptr) evidence.dropped.push_back({id, "two checks looked at it"});
    if (at.outcome == nullptr || outcome.seen) at.outcome = &outcome;
  }
  return seen;
}

/// All plainer forms of a finding, however far up.
void plainer(const Catalogue& catalogue, const Finding& finding, std::set<std::string>& all) {
  for (const std::string& id : finding.refines)
    if (all.insert(id).second) plainer(catalogue, *catalogue.finding(id), all);
}

using Drop = std::map<std::string, std::string>;  // id -> reason

/// Plain forms that a finer one stands for.
Drop plain_drops(const Network& network, const std::map<std::string, Seen>& seen) {
  Drop drop;
  for (const auto& [id, finer] : seen) {
    std::set<std::string> above;
    plainer(network.catalogue(), *finer.finding, above);
    for (const std::string& plain_id : above) {
      const auto plain = seen.find(plain_id);
      if (plain == seen.end()) continue;
      const std::string& name = finer.finding->name;
      if (finer.present() && plain->second.present())
        drop[plain_id] = "its finer form \"" + name + "\" counts";
      else if (finer.present())
        drop[plain_id] = "it was answered no, but its finer form \"" + name + "\" yes: the finer one counts";
      else if (!plain->second.present() && finer.reading)
        drop[plain_id] = "its finer form \"" + name + "\" was measured";
    }
  }
  return drop;
}

/// Finer forms denied together with a plain form that counts.
Drop finer_drops(const Network& network, const std::map<std::string, Seen>& seen) {
  Drop drop;
  for (const auto& [id, finer] : seen) {
    if (finer.present() || finer.reading) continue;
    std::set<std::string> above;
    plainer(network.catalogue(), *finer.finding, above);
    for (const std::string& plain_id : above) {
      const auto plain = seen.find(plain_id);
      if (plain != seen.end() && !plain->second.present())
        drop[id] = "the no to \"" + plain->second.finding->name + "\" answers it";
    }
  }
  return drop;
}

void apply_drops(const Drop& drop, std::map<std::string, Seen>& seen, Evidence& evidence) {
  for (const auto& [id, reason] : drop) {
    seen.erase(id);
    evidence.dropped.push_back({id, reason});
  }
}

/// Slow forward and slow in reverse are one thing seen twice; counted as two they would convict too soon.
void drop_echoes(std::map<std::string, Seen>& seen, Evidence& evidence) {
  Drop drop;
  for (const auto& [id, echo] : seen)
    for (const std::string& first : echo.finding->echoes) {
      const auto found = seen.find(first);
      if (found != seen.end() && !drop.contains(first) && found->second.present() == echo.present())
        drop[id] = "it says the same as \"" + found->second.finding->name + "\"";
    }
  apply_drops(drop, seen, evidence);
}

void observe_level(FindingNode& node, std::optional<std::size_t> level, double false_yes, double false_no) {
  node = answered(std::move(node), level, false_yes, false_no);
}

void add_reading(const Seen& seen, FindingNode node, Evidence& evidence) {
  const auto& chances = seen.reading->chances;
  const auto likeliest = static_cast<std::size_t>(std::ranges::max_element(chances) - chances.begin());
  if (1 - chances[likeliest] < kClear) {
    observe_level(node, likeliest, kSlip, kSlip);
    // A clear reading over its limit was not hidden: the slip that could feign it is too rare to keep a state for.
    if (likeliest > 0) node.likelihood_blocked = 0;
  } else {
    std::ranges::copy(chances, node.likelihood.begin());
    node.likelihood_blocked = chances.front();
  }
  evidence.nodes.push_back(std::move(node));
  evidence.items.push_back({seen.finding->id, seen.finding->name, seen.reading->said, seen.present()});
}

void add_answer(const Seen& seen, FindingNode node, double scale, Evidence& evidence) {
  const Finding& finding = *seen.finding;
  observe_level(node, seen.answer->level, finding.false_yes * scale, finding.false_no * scale);
  evidence.nodes.push_back(std::move(node));
  const auto& level = seen.answer->level;
  evidence.items.push_back({finding.id, finding.name, level ? finding.levels[*level] : "yes", seen.present()});
}

/// A check looks twice as carefully as an answer.
constexpr double kCareful = 0.5;

FindingNode base_of(const Network& network, const Outcome& outcome) {
  const catalogue::Result& result = demand_result(network, outcome);
  if (result.finding.empty()) return network.node_of(*network.catalogue().check(outcome.check), result);
  return network.node_of(demand_finding(network, result.finding));
}

void add_outcome(const Network& network, const Outcome& outcome, FindingNode node, double scale, Evidence& evidence) {
  const catalogue::Result& result = demand_result(network, outcome);
  if (result.finding.empty()) {
    node.likelihood = {outcome.seen ? 0.0 : 1.0, outcome.seen ? 1.0 : 0.0};
    node.likelihood_blocked = node.likelihood[0];
  } else {
    const Finding& finding = demand_finding(network, result.finding);
    node = answered(std::move(node), outcome.seen ? std::nullopt : std::optional<std::size_t>(0),
                    finding.false_yes * kCareful * scale, finding.false_no * kCareful * scale);
  }
  node.id = outcome.check + "/" + outcome.result;
  evidence.nodes.push_back(std::move(node));
  evidence.items.push_back(
      {outcome.check + "/" + outcome.result, result.shows, outcome.seen ? "seen" : "not seen", outcome.seen});
}

/// What one stage said of one sign.
struct Word {
  std::size_t stage;
  Seen seen;
};
using Words = std::map<std::string, std::vector<Word>>;  // by finding, or "check/result" of a result of its own

/// The signs of one stage, with what others of them stand for left out.
void add_words(const Network& network, const Observations& observations, std::size_t stage, Evidence& evidence,
               Words& words) {
  std::map<std::string, Seen> seen = collect(network, observations, evidence);
  apply_drops(plain_drops(network, seen), seen, evidence);
  apply_drops(finer_drops(network, seen), seen, evidence);
  drop_echoes(seen, evidence);
  for (const auto& [id, each] : seen) words[id].push_back({stage, each});
  for (const Outcome& outcome : observations.outcomes) {
    if (!demand_result(network, outcome).finding.empty()) continue;
    auto& of_result = words["/" + outcome.check + "/" + outcome.result];
    Seen own;
    own.outcome = &outcome;
    of_result.push_back({stage, own});
  }
}

/// Makes nodes of words, with what was there when they were said.
class Writer {
 public:
  Writer(const Network& network, const Observations& observations, const Fates& fates, Evidence& evidence)
      : network_(network),
        scale_(error_scale(observations.observer)),
        now_(observations.past.size()),
        fates_(fates),
        evidence_(evidence) {}

  void write(const std::vector<Word>& words) {
    write_last(words.back());
    for (std::size_t k = words.size() - 1; k-- > 0;) write_gone(words[k], words[k + 1]);
  }

 private:
  std::size_t causes() const { return network_.causes().size(); }
  FindingNode base(const Seen& seen) const {
    return seen.outcome != nullptr ? base_of(network_, *seen.outcome) : network_.node_of(*seen.finding);
  }

  void write_last(const Word& word) {
    const Seen& seen = word.seen;
    FindingNode node = at_stage(base(seen), fates_, word.stage, causes());
    const bool changed = word.stage < now_ && node.links.size() != base(seen).links.size();
    if (seen.outcome != nullptr)
      add_outcome(network_, *seen.outcome, std::move(node), scale_, evidence_);
    else if (seen.reading)
      add_reading(seen, std::move(node), evidence_);
    else
      add_answer(seen, std::move(node), scale_, evidence_);
    if (changed) evidence_.items.back().said += ", before a repair";
  }

  void write_gone(const Word& earlier, const Word& later) {
    const bool was = earlier.seen.present();
    if (later.seen.present()) return;
    FindingNode node = gone_between(base(earlier.seen), fates_, earlier.stage, later.stage, causes());
    if (node.links.empty()) return;
    const auto [false_yes, false_no] = errors(earlier.seen);
    node = answered(std::move(node), was ? std::nullopt : std::optional<std::size_t>(0), false_yes, false_no);
    evidence_.nodes.push_back(std::move(node));
    const std::string& name = earlier.seen.finding != nullptr ? earlier.seen.finding->name
                                                              : demand_result(network_, *earlier.seen.outcome).shows;
    const std::string id = earlier.seen.finding != nullptr
                               ? earlier.seen.finding->id
                               : earlier.seen.outcome->check + "/" + earlier.seen.outcome->result;
    evidence_.items.push_back({id, name, was ? "gone with a repair" : "no, before a repair", false});
  }

  /// Chances that the word was a false yes, and a false no.
  std::pair<double, double> errors(const Seen& seen) const {
    if (seen.finding == nullptr) return {1 - demand_result(network_, *seen.outcome).specificity, kSlip};
    if (seen.reading && seen.outcome == nullptr) return {kSlip, kSlip};
    const double scale = scale_ * (seen.outcome != nullptr ? kCareful : 1);
    return {seen.finding->false_yes * scale, seen.finding->false_no * scale};
  }

  const Network& network_;
  double scale_;
  std::size_t now_;
  const Fates& fates_;
  Evidence& evidence_;
};

Observations of_past(const Observations& now, const Past& past) {
  Observations then;
  then.observer = now.observer;
  then.answers = past.answers;
  then.outcomes = past.outcomes;
  then.readings = past.readings;
  return then;
}

}  // namespace

FindingNode answered(FindingNode node, std::optional<std::size_t> level, double false_yes, double false_no) {
  Reach rate{};  // a(s)
  for (std::size_t s = 0; s < node.top; ++s) rate[s] = s == 0 ? false_yes : rate[s - 1] * false_yes;
  Reach leak{};
  for (std::size_t s = 0; s < node.top; ++s) leak[s] = rate[s] + (1 - rate[s] - false_no) * node.leak[s];
  for (FindingNode::Link& link : node.links) {
    double before = 1;
    for (std::size_t s = 0; s < node.top; ++s) {
      // P(answer < s+1 | this cause alone), written so that nothing near 1 is taken from 1
      const double shows = 1 - (1 - node.leak[s]) * (1 - link.reach[s]);
      const double silent = (1 - rate[s]) * (1 - shows) + false_no * shows;
      link.reach[s] = std::clamp(1 - silent / (1 - leak[s]), 0.0, before);
      before = link.reach[s];
    }
  }
  node.leak = leak;
  node.likelihood.fill(0);
  if (level) {
    node.likelihood[*level] = 1;
    const double reached = *level == 0 ? 1.0 : rate[*level - 1];
    node.likelihood_blocked = reached - (*level == node.top ? 0.0 : rate[*level]);
  } else {
    for (std::size_t s = 1; s <= node.top; ++s) node.likelihood[s] = 1;
    node.likelihood_blocked = false_yes;
  }
  return node;
}

Evidence gather(const Network& network, const Observations& observations) {
  const Fates fates = fates_of(network, observations.past);
  Evidence evidence;
  evidence.prior = fates.prior;
  evidence.instead_of = fates.instead_of;
  evidence.still_failing = !observations.past.empty();
  std::vector<Observations> stages;  // the words point into them
  stages.reserve(observations.past.size());
  Words words;
  for (std::size_t stage = 0; stage < observations.past.size(); ++stage) {
    stages.push_back(of_past(observations, observations.past[stage]));
    Evidence unsaid;  // what does not count of an earlier stage was said then
    add_words(network, stages.back(), stage, unsaid, words);
  }
  add_words(network, observations, observations.past.size(), evidence, words);
  Writer writer(network, observations, fates, evidence);
  for (const bool own : {false, true})  // results of their own behind the findings
    for (const auto& [id, of_sign] : words)
      if (id.starts_with('/') == own) writer.write(of_sign);
  return evidence;
}

}  // namespace wheeltapper::belief
