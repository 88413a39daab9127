#include "tests/exam/play.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <random>

#include "engine/app/desk.hpp"
#include "engine/plan/advice.hpp"
#include "engine/plan/question.hpp"

namespace wheeltapper::exam {
namespace {

using catalogue::Opens;
using catalogue::Power;
using Kind = job::Topic::Kind;
using nlohmann::json;

constexpr double kListMinutes = 1;    // to read out the list of hazards
constexpr double kRetestMinutes = 2;  // elicited judgement
constexpr std::size_t kMostLines = 250;

/// Minutes, with what is open and whether the plug is in.
class Clock {
 public:
  double minutes = 0;

  void work(double own, Power power, Opens opens) {
    if (power == Power::live) {
      plug(true);
      reach(opens);
    } else {
      plug(false);
      reach(opens);
      if (power == Power::unplugged_then_live) plug(true);
    }
    minutes += own;
  }
  void retest() {
    plug(true);
    minutes += kRetestMinutes;
  }

 private:
  void plug(bool in) {
    if (plugged_ != in) minutes += costs_.setup.power_change;
    plugged_ = in;
    if (in && open_ >= Opens::motor) open_ = Opens::cover;  // it can't run in pieces
  }
  void reach(Opens opens) {
    if (opens <= open_) return;
    minutes += costs_.setup.opens[static_cast<std::size_t>(opens)];
    open_ = opens == Opens::press ? Opens::motor : opens;
  }

  plan::Costs costs_;
  bool plugged_ = false;
  Opens open_ = Opens::nothing;
};

/// One job at a desk.
class Table {
 public:
  Table(World world, const Policy& policy, std::uint64_t seed, bool trace)
      : world_(std::move(world)),
        policy_(policy),
        catalogue_(world_.network().shared_catalogue()),
        seed_(seed),
        trace_(trace) {
    record_.policy = policy.name;
    record_.seed = seed;
    std::vector<std::string> ids;
    for (const std::size_t cause : world_.left()) ids.push_back(world_.network().causes()[cause]->id);
    record_.causes = fmt::format("{}", fmt::join(ids, "+"));
    if (trace_) fmt::print("{}: {}\n", seed, record_.causes);
  }

  Record play() {
    job::MemoryStore store;
    int count = 0;
    const app::World outside{[&] {
                               ++count;
                               return fmt::format("2026-11-29T{:02}:{:02}:{:02}.000Z", count / 3600, count / 60 % 60,
                                                  count % 60);
                             },
                             [&] { return fmt::format("00000000-0000-4000-8000-{:012x}", ++count); }, "exam"};
    cases::DiagnoseSettings settings;
    settings.belief.sets = 0;
    settings.belief.explained = 0;
    app::Desk desk(catalogue_, store, outside, settings);
    const json head{{"title", "Examination"}, {"locomotive", {{"family", world_.network().family()}}}};
    json intake = load_test(world_);
    intake.update(told_unasked(world_, seed_));
    desk.open({{job::EventKind::opened, head}, {job::EventKind::answers, intake}});
    for (std::size_t line = 0; line < kMostLines && !over_; ++line) {
      const app::Screen screen = desk.look();
      if (trace_ && line < 3)
        for (const auto& each : screen.ranking) fmt::print("       {} {:.3f}\n", each.cause, each.chance);
      if (!screen.prompt || clock_.minutes > kLongest) break;
      answer(desk, *screen.at, *screen.prompt);
    }
    record_.minutes = clock_.minutes;
    record_.followed = clock_.minutes - began_;
    return record_;
  }

 private:
  void say(app::Desk& desk, const std::string& line) {
    const app::Screen screen = desk.say(line);
    if (screen.refused.empty()) return;
    throw std::runtime_error(fmt::format("seed {}: \"{}\" was not taken: {}", seed_, line, screen.refused));
  }

  const catalogue::Finding& finding(const std::string& id) const { return *catalogue_->finding(id); }

  /// A step of its own, or a question that is weighed like one: a rival makes up its own mind there.
  bool is_choice(const guide::Position& at, const guide::Prompt& prompt) const {
    const Kind kind = prompt.topic.kind;
    if (kind == Kind::check || kind == Kind::repair || kind == Kind::outcome || kind == Kind::skipped_steps ||
        kind == Kind::context)
      return true;
    return kind == Kind::finding && !at.questions.empty() && at.questions.front().finding != nullptr &&
           at.questions.front().finding->id == prompt.topic.id && prompt.may_skip;
  }

  void answer(app::Desk& desk, const guide::Position& at, const guide::Prompt& prompt) {
    if (policy_.choose && is_choice(at, prompt)) {
      const auto choice = policy_.choose(at, done_, seed_);
      if (!choice)
        give_up(at);
      else if (choice->check != nullptr)
        desk.enter({checked(at, *choice->check)});
      else
        desk.enter({repaired(at, *choice->repair)});
      return;
    }
    switch (prompt.topic.kind) {
      case Kind::locomotive:
        return say(desk, "Fernhill No. 9");
      case Kind::hazards:
        return say(desk, hazards(prompt));
      case Kind::heard:
        return say(desk, "none");
      case Kind::runs:
        return say(desk, world_.level(finding("does-not-move")) > 0 ? "no" : "yes");
      case Kind::finding:
        return say(desk, said(prompt));
      case Kind::context:
        return say(desk, context(prompt));
      case Kind::check:
        return do_check(desk, at, prompt);
      case Kind::repair:
        first_step(at);
        return void(desk.enter({repaired(at, *catalogue_->repair(prompt.topic.id))}));
      case Kind::retest_eye:
        return retest(desk);
      case Kind::no_fault:
        return say(desk, "no");
      case Kind::skipped_steps:
        return say(desk, taken_up_++ < 2 ? "yes" : "no");
      case Kind::causes:
        over_ = true;
        return;
      case Kind::outcome:
        return give_up(at);
      default:
        return say(desk, "skip");
    }
  }

  void give_up(const guide::Position& at) {
    over_ = true;
    record_.handed_on = true;
    record_.empty = plan::withheld(at.diagnosis.advice.gates) == plan::Withheld::no;
    const auto refers = [](const plan::Gate& gate) { return !gate.cleared && gate.rule->refer; };
    record_.referred = std::ranges::any_of(at.diagnosis.advice.gates, refers);
  }

  std::string hazards(const guide::Prompt& prompt) {
    clock_.minutes += kListMinutes;
    std::string named;
    for (std::size_t i = 0; i < prompt.ids.size(); ++i)
      if (world_.named_in_list(finding(prompt.ids[i]))) named += fmt::format("{} ", i + 1);
    return named.empty() ? "none" : named;
  }

  std::string said(const guide::Prompt& prompt) {
    clock_.minutes += plan::kAnswerMinutes;
    ++record_.questions;
    const std::size_t level = world_.said(finding(prompt.topic.id));
    if (trace_) fmt::print("{:6.1f} {} {}\n", clock_.minutes, prompt.question, level);
    if (prompt.ask == guide::Prompt::Ask::level) return std::to_string(level + 1);
    return level > 0 ? "yes" : "no";
  }

  std::string context(const guide::Prompt& prompt) {
    clock_.minutes += plan::kAnswerMinutes;
    ++record_.questions;
    return world_.holds(*catalogue_->context(prompt.topic.id)) ? "yes" : "no";
  }

  void first_step(const guide::Position& at) {
    if (began_ > 0) return;
    began_ = clock_.minutes;
    record_.forecast = at.diagnosis.advice.expected_minutes;
  }

  void do_check(app::Desk& desk, const guide::Position& at, const guide::Prompt& prompt) {
    first_step(at);
    const auto& check = *catalogue_->check(prompt.topic.id);
    if (!world_.can_be_done(check)) {
      clock_.minutes += plan::kAnswerMinutes;
      return say(desk, "skip");
    }
    desk.enter({checked(at, check)});
  }

  job::Draft checked(const guide::Position& at, const catalogue::Check& check) {
    clock_.work(check.minutes, check.power, check.opens);
    json results = json::object();
    std::string shown;
    for (const auto& result : check.results) {
      const bool seen = world_.shows(check, result);
      results[result.id] = seen ? "seen" : "not seen";
      shown += seen ? '1' : '0';
    }
    ++record_.checks;
    if (trace_) fmt::print("{:6.1f} check {} {}\n", clock_.minutes, check.id, shown);
    if (check.power != Power::unplugged && shown.find('1') == std::string::npos) ++record_.vain_powered;
    if (const auto before = at_repair_.find(check.id); before != at_repair_.end()) {
      ++record_.again;
      const bool demanded = plan::waits_for(at.diagnosis.advice.gates, check.id);  // a hazard wants it clean
      const bool nothing_new = !demanded && !touched_since(check, before->second);
      if (nothing_new) ++record_.repeated;
      if (trace_) fmt::print("       done before{}\n", nothing_new ? ", with nothing new" : "");
    }
    at_repair_[check.id] = done_.repairs.size();
    done_.checks.push_back(check.id);
    return {job::EventKind::checked, {{"check", check.id}, {"results", std::move(results)}}};
  }

  /// Whether a repair since could have changed what the check looks at.
  bool touched_since(const catalogue::Check& check, std::size_t repairs) const {
    const auto looks_at = [&](const std::string& cause) {
      return std::ranges::any_of(check.results, [&](const catalogue::Result& result) {
        const auto names = [&](const auto& each) { return each.cause == cause; };
        return result.finding.empty() ? std::ranges::any_of(result.causes, names)
                                      : std::ranges::any_of(finding(result.finding).links, names);
      });
    };
    for (std::size_t r = repairs; r < done_.repairs.size(); ++r)
      for (const auto& cure : catalogue_->repair(done_.repairs[r])->cures)
        if (looks_at(cure.cause)) return true;
    return false;
  }

  job::Draft repaired(const guide::Position&, const catalogue::Repair& repair) {
    const double before = clock_.minutes;
    const std::size_t left = world_.left().size();
    const plan::Costs costs;
    clock_.work(repair.minutes, repair.power, repair.opens);
    clock_.minutes += (repair.parts_least + repair.parts_most) / 2 * costs.minutes_per_dollar;
    world_.repair(repair);
    ++record_.repairs;
    if (trace_) fmt::print("{:6.1f} repair {} -> {} left\n", clock_.minutes, repair.id, world_.left().size());
    if (world_.left().size() == left) {
      ++record_.vain_repairs;
      record_.vain_minutes += clock_.minutes - before;
    }
    if (std::ranges::find(done_.repairs, repair.id) != done_.repairs.end()) {
      ++record_.again;
      ++record_.repeated;
    }
    done_.repairs.push_back(repair.id);
    std::erase_if(done_.checks, [&](const std::string& id) {
      return touched_since(*catalogue_->check(id), done_.repairs.size() - 1);
    });
    return {job::EventKind::repaired, {{"repair", repair.id}, {"by", "technician"}}};
  }

  void retest(app::Desk& desk) {
    clock_.retest();
    if (!world_.cured()) return say(desk, "no");
    record_.cured = true;
    over_ = true;
  }

  World world_;
  const Policy& policy_;
  std::shared_ptr<const catalogue::Catalogue> catalogue_;
  std::uint64_t seed_;
  Record record_;
  Clock clock_;
  Done done_;
  std::map<std::string, std::size_t> at_repair_;  // by check: repairs done before it
  double began_ = 0;
  int taken_up_ = 0;
  bool over_ = false;
  bool trace_;
};

}  // namespace

json load_test(const World& world) {
  json answers = json::object();
  const auto tell = [&](const char* id) {
    const auto* finding = world.network().catalogue().finding(id);
    if (finding == nullptr || !world.network().applies(*finding)) return;
    answers[id] = finding->levels[world.said(*finding)];
  };
  tell("does-not-move");
  if (answers.value("does-not-move", "no") != "no") return answers;
  for (const char* id : {"slow-forward", "slow-reverse", "high-draw-loaded", "one-direction-only"}) tell(id);
  return answers;
}

json told_unasked(const World& world, std::uint64_t seed) {
  std::vector<const catalogue::Finding*> strikes;
  for (const auto& finding : world.network().catalogue().items().findings)
    if (world.network().applies(finding) && !finding.reading && world.caused_level(finding) > 0)
      strikes.push_back(&finding);
  std::mt19937_64 random(seed);
  std::ranges::shuffle(strikes, random);
  constexpr std::size_t kMostTold = 3;
  json answers = json::object();
  for (std::size_t i = 0; i < std::min(strikes.size(), 1 + seed % kMostTold); ++i)
    answers[strikes[i]->id] = strikes[i]->levels[world.level(*strikes[i])];
  return answers;
}

Record play(World world, const Policy& policy, std::uint64_t seed, bool trace) {
  return Table(std::move(world), policy, seed, trace).play();
}

}  // namespace wheeltapper::exam
