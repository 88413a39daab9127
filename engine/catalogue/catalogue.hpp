#pragma once
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "engine/bench/level_rule.hpp"

namespace wheeltapper::catalogue {

/// Where an item was written, for messages.
struct Origin {
  std::string file;
  std::string pointer;
  std::string over = {};  ///< the file of the item that this one was laid over; mostly empty
};

/// A kind of drive.
struct Family {
  std::string id, name;
  std::string description;  ///< by what a person knows it
  bench::Motor::Kind motor = bench::Motor::Kind::series_ac;
  double brush_volts = 0;            ///< V, both brushes together ...
  double brush_volts_u = 0;          ///< ... and its standard uncertainty
  std::vector<bench::RunKind> runs;  ///< that it can make
  std::string neutral;               ///< how it stands with power and no motor running; empty: it can't
  /// Share of failed sessions with two or more causes that matter; the rates of the causes count mild ones too and are
  /// scaled together until this holds.
  double two_or_more = 0.25;
  double unlisted = 0.03;  ///< share of failed sessions with none of the listed causes
  std::string basis;
  Origin origin;
};

/// A group of causes that one look or one cleaning would find or cure together.
struct Place {
  std::string id, name;
  std::string go;    ///< what to open or look at
  std::string side;  ///< rig, cars, procedure or locomotive
  Origin origin;
};

/// Something that can be measured on a run.
struct Quantity {
  std::string id, name, unit, ask, uncertainty_basis;
  double uncertainty_percent = 0;  ///< usual standard uncertainty: percent of the reading ...
  double uncertainty_fixed = 0;    ///< ... plus this, in the unit
  Origin origin;
};

/// A number of the knowledge: one for every family but those that have their own.
template <typename T>
struct ByFamily {
  T all{};
  std::vector<std::pair<std::string, T>> own;  ///< by family id
  const T& in(std::string_view family) const {
    for (const auto& [id, value] : own)
      if (id == family) return value;
    return all;
  }
};

/// Times that a cause is present per 1000 failed sessions of a family.
struct Rate {
  std::string family;
  double per_1000 = 0;
};

/// What can be wrong. Where it shows, what finds and cures it and what makes it likelier stands on its card in the
/// files (cards.hpp), and in memory with the finding, check, repair and context that it is about.
struct Cause {
  std::string id, name, place, looks, why, skill, basis;
  std::vector<Rate> rates;  ///< of the families that can have it
  Origin origin;
};

/// Chances per level above 0: entry s-1 is the chance of level s or more; never rising.
using Levels = std::vector<double>;

struct Link {
  std::string cause;
  ByFamily<Levels> strength;  ///< that the cause alone brings the finding to that level or beyond
  std::string basis, why;
};

struct Inhibitor {
  std::string cause;
  ByFamily<double> blocks;  ///< chance that the cause, present, keeps the finding from showing at all
};

struct Finding {
  std::string id, name, question, observe, basis;
  std::vector<std::string> families;   ///< with a cause that shows in it; all for a hazard
  std::vector<std::string> levels;     ///< names, level 0 first; at least two
  double false_yes = 0, false_no = 0;  ///< of a novice
  ByFamily<Levels> leak;               ///< that it shows with no listed cause behind it
  std::vector<std::string> refines;
  std::vector<std::string>
      implies_no;  ///< findings that cannot hold beside this one; a yes to this one rules checks for them out
  std::vector<std::string>
      echoes;  ///< findings that, present as well, say the same thing: this one then does not count
  std::vector<std::string> not_when;  ///< findings with which it makes no sense to ask (most need it to run)
  std::vector<std::string> words;     ///< how people say it unasked, in small letters: a hazard is heard by them
  bool strikes =
      false;  ///< who is there notices it without looking: not named in a list that was read, it was not there
  std::optional<bench::LevelRule> reading;
  std::vector<Link> links;
  std::vector<Inhibitor> inhibitors;
  Origin origin;
  std::size_t top() const noexcept { return levels.size() - 1; }
};

/// What a check can show: a finding, or something of its own with its causes.
struct Result {
  std::string id, shows;  ///< its short id; what is seen, as a short sentence
  std::string finding;    ///< empty when it has causes of its own
  struct Seen {
    std::string cause;
    ByFamily<double> chance;  ///< of this result when the cause is present and no other
  };
  std::vector<Seen> causes;
  double specificity = 1;  ///< chance that it stays away when none of its causes is present
};

enum class Power { unplugged, live, unplugged_then_live };
enum class Opens { nothing, cover, motor, press };
enum class Skill { novice, intermediate, expert };

struct Check {
  std::string id, name, tools, expect, basis;
  std::vector<std::string> families;  ///< with a cause that it can find; all for one that a rule waits for
  Power power = Power::unplugged;
  double minutes = 0;
  Skill skill = Skill::novice;
  Opens opens = Opens::nothing;
  std::vector<std::string> steps;
  std::vector<Result> results;  ///< in the order in which they are looked for
  std::vector<std::string>
      only_when;                      ///< findings without which it makes no sense: one known to be absent rules it out
  std::vector<std::string> not_when;  ///< findings with which it can't be done: most need a locomotive that runs
  std::vector<std::string> cautions;
  Origin origin;
};

struct Cure {
  std::string cause;
  ByFamily<double> chance;  ///< that the repair, done once, removes the cause
};

struct Repair {
  std::string id, name, parts, risks, basis;
  std::vector<std::string> families;  ///< with a cause that it cures
  std::vector<Cure> cures;
  double minutes = 0;
  double parts_least = 0, parts_most = 0;  ///< US dollars
  Power power = Power::unplugged;          ///< of the work itself, without the retest after it
  Skill skill = Skill::novice;
  Opens opens = Opens::nothing;
  std::vector<std::string> steps;
  std::vector<std::string> verify;  ///< checks that prove it
  std::vector<std::string> cautions;
  Origin origin;
};

enum class Signal { danger, warning, caution, notice };  ///< signal words of ANSI Z535.6

struct Caution {
  std::string id, hazard, text, source;
  Signal signal = Signal::caution;
  Origin origin;
};

/// Something known beforehand that shifts the odds of causes.
struct Context {
  std::string id, name, question, basis;
  double share = 0;  ///< of sessions of which it is true
  struct Factor {
    std::string cause;
    ByFamily<double> factor;  ///< on the odds, when known to be true
  };
  std::vector<Factor> odds;
  Origin origin;
};

/// What a safety rule forbids while it stands, the mildest first.
enum class Withhold {
  live,        ///< nothing under power
  everything,  ///< nothing but the unpowered checks that would clear this very rule
  touch        ///< nothing at all: no step, and no word that sends hands to the bench
};

/// A hazard and what it forbids.
struct Rule {
  std::string id, name, say;
  std::vector<std::string> any;  ///< findings; one yes fires it
  Withhold withhold = Withhold::live;
  std::vector<std::string> until;  ///< checks that clear it when they come out clean
  std::vector<std::string> hold;  ///< further checks: one of them that came out bad keeps it standing until it is clean
  bool refer = false;             ///< the advice is a qualified person and local codes
  std::vector<std::string> cautions;
  Origin origin;
};

/// What the files hold, in order, before it is known to fit together.
struct Items {
  std::vector<Family> families;
  std::vector<Place> places;
  std::vector<Quantity> quantities;
  std::vector<Cause> causes;
  std::vector<Finding> findings;
  std::vector<Check> checks;
  std::vector<Repair> repairs;
  std::vector<Caution> cautions;
  std::vector<Context> contexts;
  std::vector<Rule> rules;
};

/// The knowledge: typed, checked, immutable. Every id that stands in an item resolves; levels fit; see load.hpp.
/// Lookups are by id; what is not there is a nullptr.
class Catalogue {
 public:
  /// Takes items that were checked (load.hpp does); use load.hpp to make one from files.
  explicit Catalogue(Items items);
  Catalogue(const Catalogue&) = delete;
  Catalogue& operator=(const Catalogue&) = delete;
  Catalogue(Catalogue&&) = delete;
  Catalogue& operator=(Catalogue&&) = delete;
  ~Catalogue() = default;

  const Items& items() const noexcept { return items_; }
  const Family* family(std::string_view id) const { return find(items_.families, families_, id); }
  const Place* place(std::string_view id) const { return find(items_.places, places_, id); }
  const Quantity* quantity(std::string_view id) const { return find(items_.quantities, quantities_, id); }
  const Cause* cause(std::string_view id) const { return find(items_.causes, causes_, id); }
  const Finding* finding(std::string_view id) const { return find(items_.findings, findings_, id); }
  const Check* check(std::string_view id) const { return find(items_.checks, checks_, id); }
  const Repair* repair(std::string_view id) const { return find(items_.repairs, repairs_, id); }
  const Caution* caution(std::string_view id) const { return find(items_.cautions, cautions_, id); }
  const Context* context(std::string_view id) const { return find(items_.contexts, contexts_, id); }
  const Rule* rule(std::string_view id) const { return find(items_.rules, rules_, id); }

  /// The families for which there is knowledge: those with a cause, in their order.
  std::vector<const Family*> usable_families() const;

 private:
  using Index = std::unordered_map<std::string_view, std::size_t>;
  template <typename Item>
  const Item* find(const std::vector<Item>& list, const Index& index, std::string_view id) const {
    const auto found = index.find(id);
    return found == index.end() ? nullptr : &list[found->second];
  }

  Items items_;  // never changed: the indexes point into its ids
  Index families_, places_, quantities_, causes_, findings_, checks_, repairs_, cautions_, contexts_, rules_;
};

/// The words of the files for each value of an enumeration, in its order.
inline constexpr std::array<std::string_view, 3> kPowerWords{"unplugged", "live", "unplugged-then-live"};
inline constexpr std::array<std::string_view, 4> kOpensWords{"nothing", "cover", "motor", "press"};
inline constexpr std::array<std::string_view, 3> kSkillWords{"novice", "intermediate", "expert"};
inline constexpr std::array<std::string_view, 4> kSignalWords{"danger", "warning", "caution", "notice"};
inline constexpr std::array<std::string_view, 3> kWithholdWords{"live", "everything", "touch"};

constexpr std::string_view name(Power power) { return kPowerWords[static_cast<std::size_t>(power)]; }
constexpr std::string_view name(Opens opens) { return kOpensWords[static_cast<std::size_t>(opens)]; }
constexpr std::string_view name(Skill skill) { return kSkillWords[static_cast<std::size_t>(skill)]; }
constexpr std::string_view name(Signal signal) { return kSignalWords[static_cast<std::size_t>(signal)]; }
constexpr std::string_view name(Withhold withhold) { return kWithholdWords[static_cast<std::size_t>(withhold)]; }

}  // namespace wheeltapper::catalogue
