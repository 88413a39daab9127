#include "engine/belief/evidence.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <stdexcept>

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
void add_outcome(const Network& network, const Outcome& outcome, double scale, Evidence& evidence) {
  const catalogue::Result& result = demand_result(network, outcome);
  FindingNode node;
  if (result.finding.empty()) {
    node = network.node_of(*network.catalogue().check(outcome.check), result);
    node.likelihood = {outcome.seen ? 0.0 : 1.0, outcome.seen ? 1.0 : 0.0};
    node.likelihood_blocked = node.likelihood[0];
  } else {
    const Finding& finding = demand_finding(network, result.finding);
    node = answered(network.node_of(finding), outcome.seen ? std::nullopt : std::optional<std::size_t>(0),
                    finding.false_yes * 0.5 * scale, finding.false_no * 0.5 * scale);
  }
  node.id = outcome.check + "/" + outcome.result;
  evidence.nodes.push_back(std::move(node));
  evidence.items.push_back(
      {outcome.check + "/" + outcome.result, result.shows, outcome.seen ? "seen" : "not seen", outcome.seen});
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
  Evidence evidence;
  std::map<std::string, Seen> seen = collect(network, observations, evidence);
  apply_drops(plain_drops(network, seen), seen, evidence);
  apply_drops(finer_drops(network, seen), seen, evidence);
  drop_echoes(seen, evidence);
  const double scale = error_scale(observations.observer);
  for (const auto& [id, each] : seen) {
    if (each.outcome != nullptr)
      add_outcome(network, *each.outcome, scale, evidence);
    else if (each.reading)
      add_reading(each, network.node_of(*each.finding), evidence);
    else
      add_answer(each, network.node_of(*each.finding), scale, evidence);
  }
  for (const Outcome& outcome : observations.outcomes)
    if (demand_result(network, outcome).finding.empty()) add_outcome(network, outcome, scale, evidence);
  return evidence;
}

}  // namespace wheeltapper::belief
