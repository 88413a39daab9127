#pragma once
#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/bench/figure.hpp"
#include "engine/bench/session.hpp"

namespace wheeltapper::bench {

/// The words of the knowledge for LevelRule::Kind, in its order.
inline constexpr std::array<std::string_view, 12> kLevelRuleWords{
    "over-limit", "under-limit", "above",       "below",       "all-below",    "difference",
    "apart",      "spread",      "above-usual", "below-usual", "figure-above", "figure-below"};

/// How measured values become the level of a finding. Level s (1, 2, ...) is reached when the compared value
/// passes edge s.
struct LevelRule {
  enum class Kind {
    over_limit,    ///< reading / upper limit, at or above the edge
    under_limit,   ///< reading / lower limit, at or below the edge
    above,         ///< reading, at or above the edge, in the quantity's unit
    below,         ///< reading, at or below the edge
    all_below,     ///< the same, of every run of the kind
    difference,    ///< reading - minus, of one run, at or above the edge
    apart,         ///< |forward - reverse| / their mean, at or above the edge
    spread,        ///< (largest - smallest) / mean of at least three repeats, at or above the edge
    above_usual,   ///< reading / usual value, at or above the edge
    below_usual,   ///< reading / usual value, at or below the edge
    figure_above,  ///< a figure (figure.hpp), at or above the edge
    figure_below   ///< a figure, at or below the edge
  };
  Kind kind = Kind::above;
  std::string reading;  ///< quantity id; for the figure kinds the figure's
  std::string minus;    ///< quantity id, for `difference`
  RunKind run = RunKind::loaded;
  Direction direction = Direction::any;
  std::vector<double> edges;  ///< one a level; rising, for the "below" kinds falling
  friend bool operator==(const LevelRule&, const LevelRule&) = default;
  /// Less shows more: its edges fall.
  bool falls() const {
    return kind == Kind::under_limit || kind == Kind::below || kind == Kind::all_below || kind == Kind::below_usual ||
           kind == Kind::figure_below;
  }
  bool of_figure() const { return kind == Kind::figure_above || kind == Kind::figure_below; }
};

/// What a session's readings say about a finding.
struct LevelChances {
  std::vector<double> chances;  ///< that the true level is 0, 1, ...; they sum to 1
  std::string said;             ///< what was compared, for a person: "2.40 A against at most 2.00 A"
  bool present() const { return chances.front() < 0.5; }  ///< rather there than not
};

/// The chance of each level, from the normal (or Student's t) distribution of the true value about the reading;
/// nothing when the session has no such reading or no such limit. Where several runs qualify (both directions),
/// the one that shows the finding most is taken; for all_below the one that shows it least.
/// \param figures  what the readings say together, for the figure kinds (analysis.hpp)
std::optional<LevelChances> level_chances(const Session& session, const LevelRule& test,
                                          std::span<const Figure> figures = {});

}  // namespace wheeltapper::bench
