#pragma once
#include <array>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/job/summary.hpp"

namespace wheeltapper::learn {

/// The numbers of the knowledge that closed jobs say something of.
enum class Kind {
  prior,        ///< chance of a cause in a failed session (first: family, second: cause)
  unlisted,     ///< chance that it is none of the listed causes (first: family)
  link,         ///< that a cause alone brings a finding to a level (first: finding, second: cause)
  leak,         ///< that a finding reaches a level with no listed cause (first: finding)
  shows,        ///< that a check's result shows a cause, false alarms aside (first: check/result, second: cause)
  false_alarm,  ///< that the result is there without a cause (first: check/result)
  cure,         ///< that a repair removes a cause (first: repair, second: cause)
};
inline constexpr std::array kKinds{Kind::prior, Kind::unlisted,    Kind::link, Kind::leak,
                                   Kind::shows, Kind::false_alarm, Kind::cure};
std::string_view name(Kind kind);
std::optional<Kind> kind(std::string_view text);

/// One number as a beta distribution.
struct Parameter {
  Kind kind;
  std::string first, second;
  std::size_t level = 1;  ///< of a graded finding, from 1
  double shipped = 0;     ///< what the knowledge says
  double yes = 0;         ///< the beta distribution's parameters after learning; the prior's share counts in them
  double no = 0;
  double trials = 0;  ///< how often it could have shown, in expected counts

  double mean() const noexcept { return yes / (yes + no); }
};

/// What the shipped numbers are worth, in trials, at the least (elicited judgement: a technician's guess of a frequency
/// is worth about a dozen cases, a false alarm that he meets daily a few dozen, a base rate some hundred).
struct PriorStrength {
  double prior = 250;
  double unlisted = 100;
  double link = 12;
  double leak = 40;
  double shows = 12;
  double false_alarm = 40;
  double cure = 8;
};
double strength_of(const PriorStrength& strength, Kind kind);

/// The largest factor on PriorStrength.
inline constexpr double kMostFactor = 64;
inline constexpr double kFactorOfFew = 8;

struct LearnSettings {
  PriorStrength strength;
  /// How often what a job without a retest was closed with is true (elicited judgement): such a job counts as this part
  /// of one.
  double without_proof = 0.6;
  std::size_t rounds = 12;            ///< of expected counts
  std::optional<double> factor = {};  ///< on `strength`; nothing: chosen by learn()
};

/// What closed jobs taught.
struct Learned {
  double factor = 1;                  ///< on PriorStrength, as chosen
  std::vector<Parameter> parameters;  ///< those that the jobs say something of
  double jobs = 0;                    ///< that counted, in whole jobs
};

/// Expected counts (A. P. Dempster, N. M. Laird, D. B. Rubin, J. R. Statist. Soc. B 39 (1977) 1-38) of how often each
/// number came true. Of a job that was cured and names its causes these are taken as present and all others as absent;
/// of one that names none, each cause that the repair which passed its retest removes, by its posterior. A finding with
/// several causes present shares its yes among them by their chance to have made it (noisy-OR); an answer counts by its
/// observer's errors. Sessions without a listed cause that did not fail were never seen: their number follows from the
/// rates. What sharing leaves uncertain is taken off the trials (T. A. Louis, J. R. Statist. Soc. B 44 (1982) 226-233).
/// Jobs that were not cured, or of another family than the catalogue knows, don't count.
/// How far the shop's world is from the shipped numbers is looked at too: the factor on PriorStrength is the largest of
/// 64, 8 and 1 which is not clearly beaten (by one standard error) by a smaller one at foreseeing one half of the jobs
/// from the other. So a shop to which the shipped numbers fit is not led astray by chance. With fewer than 40 jobs,
/// which can't tell, it is kFactorOfFew.
Learned learn(std::shared_ptr<const catalogue::Catalogue> catalogue, std::span<const job::Summary> jobs,
              const LearnSettings& settings = {});

/// The same with the factor that the settings give (1 if none).
Learned learn_with(const std::shared_ptr<const catalogue::Catalogue>& catalogue, std::span<const job::Summary> jobs,
                   const LearnSettings& settings);

/// The observations that a summary keeps.
belief::Observations observations_of(const job::Summary& summary);

}  // namespace wheeltapper::learn
