#include "engine/catalogue/cards.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <unordered_map>
#include <unordered_set>

#include "engine/input/json_reader.hpp"

namespace wheeltapper::catalogue {
namespace {

using Families = std::unordered_set<std::string_view>;

template <typename Item>
class ById {
 public:
  explicit ById(std::vector<Item>& list) {
    for (Item& item : list) at_.emplace(item.id, &item);
  }
  Item* find(std::string_view id) const {
    const auto found = at_.find(id);
    return found == at_.end() ? nullptr : found->second;
  }
  std::vector<std::string_view> ids() const {
    std::vector<std::string_view> all;
    for (const auto& [id, unused] : at_) all.push_back(id);
    std::ranges::sort(all);
    return all;
  }

 private:
  std::unordered_map<std::string_view, Item*> at_;
};

void take_back(Items& items) {
  for (Finding& finding : items.findings) finding.links.clear(), finding.inhibitors.clear();
  for (Check& check : items.checks)
    for (Result& result : check.results) result.causes.clear();
  for (Repair& repair : items.repairs) repair.cures.clear();
  for (Context& context : items.contexts) context.odds.clear();
}

std::string result_id(const Check& check, const Result& result) { return check.id + "/" + result.id; }

class Dealer {
 public:
  Dealer(Items& items, std::vector<input::Problem>& problems)
      : problems_(problems),
        families_(items.families),
        findings_(items.findings),
        repairs_(items.repairs),
        contexts_(items.contexts) {
    for (Check& check : items.checks)
      for (Result& result : check.results) results_.emplace(result_id(check, result), &result);
  }

  void deal(const Card& card) {
    card_ = &card;
    for (const Shown& each : card.shows) show(each);
    for (const Entry& each : card.found_by) find(each);
    for (const Entry& each : card.cured_by)
      if (Repair* repair = repairs_.find(each.id))
        give("cured-by", each.id, each.value, repair->cures.emplace_back(Cure{card.cause, {}}).chance);
      else
        unknown("cured-by", each.id, "repairs", repairs_.ids());
    for (const Entry& each : card.hides)
      if (Finding* finding = findings_.find(each.id))
        give("hides", each.id, each.value, finding->inhibitors.emplace_back(Inhibitor{card.cause, {}}).blocks);
      else
        unknown("hides", each.id, "findings", findings_.ids());
    for (const Entry& each : card.likelier_after) shift(each);
  }

 private:
  void show(const Shown& each) {
    Finding* finding = findings_.find(each.id);
    if (finding == nullptr) return unknown("shows", each.id, "findings", findings_.ids());
    const auto fits = [&](const Levels& levels) { return levels.size() == finding->top(); };
    if (!fits(each.strength.all) || !std::ranges::all_of(each.strength.own, fits, [](auto& own) { return own.second; }))
      return add("shows", each.id, fmt::format("has {} chances", each.strength.all.size()),
                 fmt::format("{}, one a level above 0", finding->top()));
    Link link{card_->cause, {}, each.basis.empty() ? finding->basis : each.basis, each.why};
    give("shows", each.id, each.strength, link.strength);
    finding->links.push_back(std::move(link));
  }

  void find(const Entry& each) {
    const auto found = results_.find(each.id);
    if (found == results_.end()) return unknown_result(each.id);
    Result& result = *found->second;
    if (!result.finding.empty())
      return add("found-by", each.id, "shows the finding " + result.finding,
                 "a result of its own; what shows as a finding stands under \"shows\"");
    const double alarms = 1 - result.specificity;
    for_each(each.value, [&](double chance) {
      if (chance <= alarms)
        add("found-by", each.id, fmt::format("is {}, no more than the false alarms of {:.3g}", chance, alarms),
            "a chance above 1 - specificity");
    });
    give("found-by", each.id, each.value, result.causes.emplace_back(Result::Seen{card_->cause, {}}).chance);
  }

  void shift(const Entry& each) {
    Context* context = contexts_.find(each.id);
    if (context == nullptr) return unknown("likelier-after", each.id, "contexts", contexts_.ids());
    for_each(each.value, [&](double factor) {
      if (factor * context->share >= 1)
        add("likelier-after", each.id, fmt::format("is {} at a share of {}", factor, context->share),
            "factor * share below 1, as a no must leave some odds");
    });
    give("likelier-after", each.id, each.value, context->odds.emplace_back(Context::Factor{card_->cause, {}}).factor);
  }

  template <typename F>
  static void for_each(const ByFamily<double>& value, F&& f) {
    f(value.all);
    for (const auto& [family, own] : value.own) f(own);
  }

  template <typename T>
  void give(std::string_view member, const std::string& id, const ByFamily<T>& value, ByFamily<T>& into) {
    for (const auto& [family, own] : value.own)
      if (families_.find(family) == nullptr)
        add(member, id, fmt::format("names \"{}\", which is not among the families", family),
            fmt::format("all, {}", fmt::join(families_.ids(), ", ")));
    into = value;
  }

  void unknown_result(const std::string& id) {
    std::vector<std::string_view> ids;
    for (const auto& [known, unused] : results_) ids.push_back(known);
    std::ranges::sort(ids);
    unknown("found-by", id, "results of checks", ids);
  }

  void unknown(std::string_view member, const std::string& id, std::string_view kind,
               const std::vector<std::string_view>& known) {
    const auto nearest = input::near_miss(id, known);
    add(member, id, fmt::format("names \"{}\", which is not among the {}", id, kind),
        nearest ? fmt::format("did you mean \"{}\"?", *nearest) : "");
  }

  void add(std::string_view member, std::string id, std::string wrong, std::string allowed) {
    for (std::size_t at = id.find('/'); at != std::string::npos; at = id.find('/', at + 2)) id.replace(at, 1, "~1");
    problems_.push_back({card_->origin.file, fmt::format("{}/{}/{}", card_->origin.pointer, member, id),
                         std::move(wrong), std::move(allowed)});
  }

  std::vector<input::Problem>& problems_;
  ById<Family> families_;
  ById<Finding> findings_;
  ById<Repair> repairs_;
  ById<Context> contexts_;
  std::unordered_map<std::string, Result*> results_;
  const Card* card_ = nullptr;
};

/// Which families things apply to, by the causes that they are about.
class Applicability {
 public:
  explicit Applicability(Items& items) : items_(items) {
    for (const Cause& cause : items.causes)
      for (const Rate& rate : cause.rates) of_cause_[cause.id].insert(rate.family);
    for (const Rule& rule : items.rules) {
      guarded_.insert(rule.any.begin(), rule.any.end());
      guarded_.insert(rule.until.begin(), rule.until.end());
      guarded_.insert(rule.hold.begin(), rule.hold.end());
    }
  }

  void work_out() {
    for (Finding& finding : items_.findings) finding.families = named(finding.id, of(finding));
    for (Check& check : items_.checks) {
      Families all;
      for (const Result& result : check.results) add_result(result, all);
      check.families = named(check.id, all);
    }
    for (Repair& repair : items_.repairs) {
      Families all;
      for (const Cure& cure : repair.cures) add_cause(cure.cause, all);
      repair.families = named(repair.id, all);
    }
  }

 private:
  void add_cause(const std::string& cause, Families& all) const {
    if (const auto found = of_cause_.find(cause); found != of_cause_.end())
      all.insert(found->second.begin(), found->second.end());
  }
  Families of(const Finding& finding) const {
    Families all;
    for (const Link& link : finding.links) add_cause(link.cause, all);
    return all;
  }
  void add_result(const Result& result, Families& all) const {
    for (const auto& seen : result.causes) add_cause(seen.cause, all);
    const auto finding = std::ranges::find(items_.findings, result.finding, &Finding::id);
    if (finding != items_.findings.end()) all.merge(of(*finding));
  }
  /// In the order of the families; what safety goes by applies to all of them.
  std::vector<std::string> named(const std::string& id, const Families& all) const {
    std::vector<std::string> ids;
    for (const Family& family : items_.families)
      if (all.contains(family.id) || guarded_.contains(id)) ids.push_back(family.id);
    return ids;
  }

  Items& items_;
  std::unordered_map<std::string_view, Families> of_cause_;
  std::unordered_set<std::string_view> guarded_;
};

}  // namespace

void deal(std::span<const Card> cards, Items& items, std::vector<input::Problem>& problems) {
  take_back(items);
  Dealer dealer(items, problems);
  for (const Card& card : cards) dealer.deal(card);
  Applicability(items).work_out();
}

std::vector<Card> cards_of(const Items& items) {
  std::vector<Card> cards;
  std::unordered_map<std::string_view, std::size_t> at;
  for (const Cause& cause : items.causes) {
    at.emplace(cause.id, cards.size());
    cards.push_back({cause.id, cause.origin, {}, {}, {}, {}, {}});
  }
  const auto card = [&](const std::string& cause) -> Card& {
    assert(at.contains(cause) && "links are dealt from cards");
    return cards[at.at(cause)];
  };
  for (const Finding& finding : items.findings) {
    for (const Link& link : finding.links)
      card(link.cause)
          .shows.push_back(
              {finding.id, link.strength, link.basis == finding.basis ? std::string() : link.basis, link.why});
    for (const Inhibitor& each : finding.inhibitors) card(each.cause).hides.push_back({finding.id, each.blocks});
  }
  for (const Check& check : items.checks)
    for (const Result& result : check.results)
      for (const auto& seen : result.causes)
        card(seen.cause).found_by.push_back({result_id(check, result), seen.chance});
  for (const Repair& repair : items.repairs)
    for (const Cure& cure : repair.cures) card(cure.cause).cured_by.push_back({repair.id, cure.chance});
  for (const Context& context : items.contexts)
    for (const auto& each : context.odds) card(each.cause).likelier_after.push_back({context.id, each.factor});
  return cards;
}

}  // namespace wheeltapper::catalogue
