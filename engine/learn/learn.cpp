#include "engine/learn/learn.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>
#include <unordered_map>

#include "engine/belief/belief.hpp"

namespace wheeltapper::learn {
namespace {

using belief::Network;
using catalogue::Catalogue;
using job::Summary;

constexpr std::array<std::string_view, kKinds.size()> kNames{"prior", "unlisted",    "link", "leak",
                                                             "shows", "false-alarm", "cure"};
constexpr double kTiny = 1e-9;

/// A number that is being learned.
struct Count {
  double mean = 0;     // now
  double shipped = 0;  // what the beta prior is centred on
  double strength = 0;
  double hits = 0, trials = 0, unsure = 0;
  void clear() { hits = trials = unsure = 0; }
  void update() { mean = std::clamp((strength * shipped + hits) / (strength + trials), kTiny, 1 - kTiny); }
  /// What sharing leaves uncertain, in trials.
  double lost() const { return std::min(unsure / (mean * (1 - mean)), trials); }
};

/// A finding or a check's own result as a noisy-OR a level: level s is reached when its leak or a present cause does.
struct Node {
  std::string id;
  bool finding = true;
  std::size_t top = 1;
  double false_yes = 0, false_no = 0;
  std::vector<Count> leak;                                    // by level - 1
  std::unordered_map<std::size_t, std::vector<Count>> links;  // by cause
  std::vector<std::size_t> blockers;
};

/// One thing that a job observed.
struct Seen {
  std::size_t node;
  std::optional<std::size_t> level;  // nothing: yes, without saying how much
  double false_yes, false_no;
};

/// Causes that may have been it, with the weight of this being so.
struct Weighted {
  std::vector<std::size_t> causes;
  double weight;
};

struct Sample {
  std::vector<Weighted> sets;
  double weight = 0;  // of them all
  bool unlisted = false;
  std::vector<Seen> seen;
  std::vector<double> exposure;  // by cause: the factor of what was known beforehand; empty: 1
};

class Learner {
 public:
  Learner(std::shared_ptr<const Catalogue> catalogue, const std::string& family, const LearnSettings& settings)
      : catalogue_(std::move(catalogue)),
        network_(std::make_shared<const Network>(catalogue_, family)),
        settings_(settings) {
    scale(settings_.strength, settings_.factor.value_or(1));
    for (const double p : network_->prior()) priors_.push_back(start(p, settings_.strength.prior));
    note_own_numbers();
    const double unlisted = catalogue_->family(family)->unlisted;
    unlisted_ = start(unlisted, settings_.strength.unlisted);
    for (const auto& finding : catalogue_->items().findings)
      if (network_->applies(finding)) add_node(finding);
    for (const auto& check : catalogue_->items().checks)
      if (network_->applies(check))
        for (const auto& result : check.results)
          if (result.finding.empty()) add_node(check, result);
  }

  void add(const Summary& summary) {
    Sample sample;
    sample.unlisted = summary.outcome == job::Outcome::cured && summary.unlisted;
    sample.sets = sets_of(summary);
    for (const Weighted& set : sample.sets) sample.weight += set.weight;
    if (sample.unlisted) sample.weight = summary.proven ? 1 : settings_.without_proof;
    if (sample.weight <= 0) return;
    const double scale = summary.technician ? 0.5 : 1;
    for (const auto& each : summary.findings) add_seen(each, scale, sample);
    for (const auto& each : summary.results)
      if (const auto node = index_.find(each.check + "/" + each.result); node != index_.end())
        sample.seen.push_back({node->second, each.seen ? 1U : 0U, 0, 0});
    add_exposure(summary, sample);
    samples_.push_back(std::move(sample));
    add_cures(summary);
  }

  void run() {
    for (std::size_t round = 0; round < settings_.rounds; ++round) {
      clear();
      unseen_ = unseen_share({});
      for (const Sample& sample : samples_) count(sample);
      update();
    }
  }

  void report(Learned& learned) const {
    const std::string& family = network_->family();
    for (std::size_t i = 0; i < priors_.size(); ++i)
      put(learned, Kind::prior, family, network_->causes()[i]->id, 1, priors_[i]);
    put(learned, Kind::unlisted, family, "", 1, unlisted_);
    for (const Node& node : nodes_) {
      for (std::size_t s = 0; s < node.top; ++s)
        put(learned, node.finding ? Kind::leak : Kind::false_alarm, node.id, "", s + 1, node.leak[s]);
      for (const auto& [cause, levels] : node.links)
        for (std::size_t s = 0; s < node.top; ++s)
          put(learned, node.finding ? Kind::link : Kind::shows, node.id, network_->causes()[cause]->id, s + 1,
              levels[s]);
    }
    for (const auto& [ids, cure] : cures_) put(learned, Kind::cure, ids.first, ids.second, 1, cure);
    for (const Sample& sample : samples_) learned.jobs += sample.weight;
  }

 private:
  static void scale(PriorStrength& strength, double factor) {
    for (double* each : {&strength.prior, &strength.unlisted, &strength.link, &strength.leak, &strength.shows,
                         &strength.false_alarm, &strength.cure})
      *each *= factor;
  }

  static Count start(double shipped, double strength) {
    const double mean = std::clamp(shipped, kTiny, 1 - kTiny);
    return {mean, mean, strength, 0, 0, 0};
  }

  void add_node(const catalogue::Finding& finding) {
    const belief::FindingNode finding_node = network_->node_of(finding);
    Node node = node_of(finding_node, true);
    node.false_yes = finding.false_yes;
    node.false_no = finding.false_no;
    keep(std::move(node));
  }
  void add_node(const catalogue::Check& check, const catalogue::Result& result) {
    keep(node_of(network_->node_of(check, result), false));
  }

  Node node_of(const belief::FindingNode& finding_node, bool finding) const {
    Node node{finding_node.id, finding, finding_node.top, 0, 0, {}, {}, {}};
    const PriorStrength& strength = settings_.strength;
    for (std::size_t s = 0; s < finding_node.top; ++s)
      node.leak.push_back(start(finding_node.leak[s], finding ? strength.leak : strength.false_alarm));
    for (const auto& link : finding_node.links) {
      auto& levels = node.links[link.cause];
      for (std::size_t s = 0; s < finding_node.top; ++s)
        levels.push_back(start(link.reach[s], finding ? strength.link : strength.shows));
    }
    for (const auto& block : finding_node.blocks) node.blockers.push_back(block.cause);
    return node;
  }

  void keep(Node node) {
    index_.emplace(node.id, nodes_.size());
    nodes_.push_back(std::move(node));
  }

  std::vector<Weighted> sets_of(const Summary& summary) const {
    if (summary.outcome != job::Outcome::cured || summary.unlisted) return {};
    const double weight = summary.proven ? 1 : settings_.without_proof;
    std::vector<std::size_t> named;
    for (const std::string& id : summary.causes)
      if (const auto at = network_->index(id)) named.push_back(*at);
    if (!named.empty()) return {{std::move(named), weight}};
    return guessed_sets(summary);
  }

  /// Nobody said what it was: of what the repair that passed removes, each cause alone, by its posterior.
  std::vector<Weighted> guessed_sets(const Summary& summary) const {
    if (!summary.proven) return {};
    const auto* repair = catalogue_->repair(summary.fixes.back().repair);
    if (repair == nullptr) return {};
    const auto posterior = posterior_of(summary);
    std::vector<Weighted> sets;
    double total = 0;
    for (const auto& cure : repair->cures)
      if (const auto at = network_->index(cure.cause); at && !posterior.empty()) {
        sets.push_back({{*at}, posterior[*at] * cure.chance.in(network_->family())});
        total += sets.back().weight;
      }
    if (total <= 0) return {};
    for (Weighted& set : sets) set.weight /= total;
    return sets;
  }

  std::vector<double> posterior_of(const Summary& summary) const {
    try {
      belief::BeliefSettings settings;
      settings.sets = 0;
      settings.explained = 0;
      return belief::infer(network_, belief::gather(*network_, observations_of(summary)), settings).posterior;
    } catch (const belief::ImpossibleEvidence&) {  // findings that contradict each other
      return {};
    } catch (const belief::NotInKnowledge&) {
      return {};
    } catch (const belief::FrontierTooWide&) {
      return {};
    }
  }

  void add_seen(const Summary::Seen& each, double scale, Sample& sample) const {
    const auto at = index_.find(each.finding);
    if (at == index_.end()) return;
    const Node& node = nodes_[at->second];
    if (each.level && *each.level > node.top) return;
    using By = Summary::Seen::By;
    if (each.by == By::reading)
      sample.seen.push_back({at->second, each.level, belief::kSlip, belief::kSlip});
    else
      sample.seen.push_back({at->second, each.level, node.false_yes * scale * (each.by == By::check ? 0.5 : 1),
                             node.false_no * scale * (each.by == By::check ? 0.5 : 1)});
  }

  /// How much likelier each cause was beforehand than in any session.
  void add_exposure(const Summary& summary, Sample& sample) const {
    if (summary.contexts.empty() && summary.contexts_not.empty()) return;
    belief::Background background;
    for (const auto& id : summary.contexts)
      if (catalogue_->context(id) != nullptr) background.contexts.push_back(id);
    for (const auto& id : summary.contexts_not)
      if (catalogue_->context(id) != nullptr) background.contexts_not.push_back(id);
    const Network known(catalogue_, network_->family(), background);
    for (std::size_t i = 0; i < known.prior().size(); ++i)
      sample.exposure.push_back(known.prior()[i] / network_->prior()[i]);
  }

  void add_cures(const Summary& summary) {
    if (summary.outcome != job::Outcome::cured || summary.causes.size() != 1 || summary.unlisted) return;
    for (const Summary::Fix& fix : summary.fixes) {
      const auto* repair = catalogue_->repair(fix.repair);
      if (repair == nullptr || fix.retest == job::Retest::open) continue;
      for (const auto& cure : repair->cures) {
        if (cure.cause != summary.causes.front()) continue;
        Count& count = cures_
                           .try_emplace({fix.repair, cure.cause},
                                        start(cure.chance.in(network_->family()), settings_.strength.cure))
                           .first->second;
        count.trials += 1;
        count.hits += fix.retest == job::Retest::passed ? 1 : 0;
        count.update();
      }
    }
  }

  void clear() {
    for (Count& each : priors_) each.clear();
    unlisted_.clear();
    for (Node& node : nodes_) {
      for (Count& each : node.leak) each.clear();
      for (auto& [cause, levels] : node.links)
        for (Count& each : levels) each.clear();
    }
  }

  void count(const Sample& sample) {
    unlisted_.trials += sample.weight;
    if (sample.unlisted) unlisted_.hits += sample.weight;
    const double sessions = sample.weight * (1 + (sample.exposure.empty() ? unseen_ : unseen_share(sample.exposure)));
    for (std::size_t i = 0; i < priors_.size(); ++i)
      priors_[i].trials += sessions * (sample.exposure.empty() ? 1 : sample.exposure[i]);
    for (const Weighted& set : sample.sets)
      for (const std::size_t cause : set.causes) priors_[cause].hits += set.weight;
    for (const Seen& seen : sample.seen) {
      if (sample.unlisted) count_seen(nodes_[seen.node], seen, {}, sample.weight);
      for (const Weighted& set : sample.sets) count_seen(nodes_[seen.node], seen, set.causes, set.weight);
    }
  }

  static void share(Count& count, double chance_true, double p, double weight) {
    const double made = chance_true * count.mean / p;  // that this one made it true
    count.hits += weight * made;
    count.trials += weight;
    count.unsure += weight * made * (1 - made);
  }

  /// The expected share of each present cause, and of the leak, in what was seen, level by level.
  static void count_seen(Node& node, const Seen& seen, const std::vector<std::size_t>& causes, double weight) {
    for (const std::size_t blocker : node.blockers)
      if (std::ranges::find(causes, blocker) != causes.end()) return;  // it says nothing of the links then
    double false_yes = 1;
    for (std::size_t s = 0; s < node.top; ++s) {
      if (!seen.level && s > 0) return;
      false_yes *= seen.false_yes;
      double silent = 1 - node.leak[s].mean;
      for (const std::size_t cause : causes)
        if (const auto link = node.links.find(cause); link != node.links.end()) silent *= 1 - link->second[s].mean;
      const double p = std::max(kTiny, 1 - silent);
      const bool yes = !seen.level || *seen.level > s;
      const double if_true = yes ? 1 - seen.false_no : seen.false_no;
      const double if_not = yes ? false_yes : 1 - false_yes;
      const double said = if_true * p + if_not * (1 - p);
      const double chance_true = said > 0 ? if_true * p / said : 0;
      share(node.leak[s], chance_true, p, weight);
      for (const std::size_t cause : causes)
        if (const auto link = node.links.find(cause); link != node.links.end())
          share(link->second[s], chance_true, p, weight);
    }
  }

  /// Sessions with no listed cause that ran well were never brought in: so many for each that was and of which the same
  /// was known beforehand. `exposure` is empty where nothing was.
  double unseen_share(const std::vector<double>& exposure) const {
    double none = 1;
    double none_beforehand = 1;
    for (std::size_t i = 0; i < priors_.size(); ++i) {
      none *= 1 - priors_[i].mean;
      none_beforehand *= 1 - std::min(0.999, priors_[i].mean * (exposure.empty() ? 1 : exposure[i]));
    }
    const double fails = std::min(1.0, unlisted_.mean * (1 - none) / (none * (1 - unlisted_.mean)));  // see Network
    const double unseen = none_beforehand * (1 - fails);
    return unseen / (1 - unseen);
  }

  void update() {
    for (Count& each : priors_) each.update();
    unlisted_.update();
    for (Node& node : nodes_) {
      for (Count& each : node.leak) each.update();
      for (auto& [cause, levels] : node.links)
        for (Count& each : levels) each.update();
    }
  }

  void put(Learned& learned, Kind kind, const std::string& first, const std::string& second, std::size_t level,
           const Count& count) const {
    if (count.trials <= 0 || own_.contains({kind, first, second})) return;
    const double size = count.strength + count.trials - count.lost();
    learned.parameters.push_back(
        {kind, first, second, level, count.shipped, count.mean * size, (1 - count.mean) * size, count.trials});
  }

  using Named = std::tuple<Kind, std::string, std::string>;

  /// A family's own numbers are not those that the others go by: apply() would give them to all.
  void note_own_numbers() {
    const auto note = [&](Kind kind, const std::string& first, const std::string& cause, const auto& number) {
      for (const auto& [family, unused] : number.own)
        if (family == network_->family()) own_.emplace(kind, first, cause);
    };
    const auto& items = catalogue_->items();
    for (const auto& finding : items.findings) {
      note(Kind::leak, finding.id, "", finding.leak);
      for (const auto& link : finding.links) note(Kind::link, finding.id, link.cause, link.strength);
    }
    for (const auto& check : items.checks)
      for (const auto& result : check.results)
        for (const auto& seen : result.causes) note(Kind::shows, check.id + "/" + result.id, seen.cause, seen.chance);
    for (const auto& repair : items.repairs)
      for (const auto& cure : repair.cures) note(Kind::cure, repair.id, cure.cause, cure.chance);
  }

  std::set<Named> own_;
  std::shared_ptr<const Catalogue> catalogue_;
  std::shared_ptr<const Network> network_;
  LearnSettings settings_;
  std::vector<Count> priors_;
  double unseen_ = 0;  // unseen_share() of sessions of which nothing was known
  Count unlisted_;
  std::vector<Node> nodes_;
  std::unordered_map<std::string, std::size_t> index_;
  std::map<std::pair<std::string, std::string>, Count> cures_;
  std::vector<Sample> samples_;
};

}  // namespace

std::string_view name(Kind kind) { return kNames[static_cast<std::size_t>(kind)]; }

std::optional<Kind> kind(std::string_view text) {
  const auto found = std::ranges::find(kNames, text);
  if (found == kNames.end()) return std::nullopt;
  return kKinds[static_cast<std::size_t>(found - kNames.begin())];
}

double strength_of(const PriorStrength& strength, Kind kind) {
  const double all[] = {strength.prior, strength.unlisted,    strength.link, strength.leak,
                        strength.shows, strength.false_alarm, strength.cure};
  return all[static_cast<std::size_t>(kind)];
}

belief::Observations observations_of(const Summary& summary) {
  belief::Observations observations;
  observations.observer = summary.technician ? belief::Observer::technician : belief::Observer::novice;
  for (const auto& each : summary.findings) observations.answers.push_back({each.finding, each.level});
  for (const auto& each : summary.results) observations.outcomes.push_back({each.check, each.result, each.seen});
  return observations;
}

namespace {

/// Families share findings, checks and repairs: what they say of one number is put together, and the shipped number
/// counts once.
void pool(Learned& learned, const LearnSettings& settings) {
  std::map<std::tuple<Kind, std::string, std::string, std::size_t>, Parameter> pooled;
  for (const Parameter& each : learned.parameters) {
    const auto [at, fresh] = pooled.try_emplace({each.kind, each.first, each.second, each.level}, each);
    if (fresh) continue;
    const double strength = strength_of(settings.strength, each.kind) * settings.factor.value_or(1);
    at->second.yes = std::max(kTiny, at->second.yes + each.yes - strength * each.shipped);
    at->second.no = std::max(kTiny, at->second.no + each.no - strength * (1 - each.shipped));
    at->second.trials += each.trials;
  }
  if (pooled.size() == learned.parameters.size()) return;
  learned.parameters.clear();
  for (auto& [key, each] : pooled) learned.parameters.push_back(std::move(each));
}

}  // namespace

Learned learn_with(const std::shared_ptr<const Catalogue>& catalogue, std::span<const Summary> jobs,
                   const LearnSettings& settings) {
  Learned learned;
  learned.factor = settings.factor.value_or(1);
  std::map<std::string, std::vector<const Summary*>> by_family;
  for (const Summary& each : jobs) by_family[each.family].push_back(&each);
  for (const auto& [family, summaries] : by_family) {
    if (catalogue->family(family) == nullptr) continue;
    Learner learner(catalogue, family, settings);
    for (const Summary* each : summaries) learner.add(*each);
    learner.run();
    learner.report(learned);
  }
  pool(learned, settings);
  return learned;
}

}  // namespace wheeltapper::learn
