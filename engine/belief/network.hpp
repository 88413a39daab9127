#pragma once
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/belief/finding_node.hpp"
#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::belief {

/// An id that the knowledge does not have, or not for the family: old jobs may name one.
class NotInKnowledge : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// A repair that was done before and how the locomotive was afterwards.
struct Tried {
  std::string repair;    ///< id
  bool by_owner = true;  ///< done at home: trusted less than a technician's work
};

/// What was known before any test.
struct Background {
  std::vector<std::string> contexts;      ///< ids told to be true
  std::vector<std::string> contexts_not;  ///< ids told to be untrue
  std::vector<Tried> tried;               ///< repairs that changed nothing
};

/// Share of a technician's reliability that an owner's own attempt at a repair has (elicited judgement).
inline constexpr double kOwnerWork = 0.8;
/// The factors of all contexts on one cause, multiplied, stay within these: they overlap (trade notes: the cap of the
/// prior adjusters, elicited judgement).
inline constexpr double kMostContext = 12;
inline constexpr double kLeastContext = 0.1;

/// The catalogue's part for one family, compiled for inference: its causes with their probabilities given the
/// background, and nodes to observe. Immutable.
///
/// The rates per 1000 failed sessions count every cause present, mild ones too. What an inference must know is which
/// causes matter, so their odds are scaled by one factor, the same for all, until two or more are present in the share
/// of failed sessions that the family states; none_weight() follows from the share that no listed cause explains.
/// The prior odds of a cause are those of its scaled rate, times for each context told to be true its
/// factor f, for each told to be untrue (1 - share f) / (1 - share): then a context that was not told counts with its
/// average odds, which are those of the rate. A repair tried in vain multiplies the odds by 1 - its chance to cure.
class Network {
 public:
  /// \throws NotInKnowledge  if the family, a context or a repair is not in the catalogue (the id is named)
  Network(std::shared_ptr<const catalogue::Catalogue> catalogue, std::string_view family,
          const Background& background = {});

  const catalogue::Catalogue& catalogue() const noexcept { return *catalogue_; }
  std::shared_ptr<const catalogue::Catalogue> shared_catalogue() const noexcept { return catalogue_; }
  const std::string& family() const noexcept { return family_; }
  const std::vector<const catalogue::Cause*>& causes() const noexcept { return causes_; }
  const std::vector<double>& prior() const noexcept { return prior_; }
  /// Chance that a session without any listed cause fails, for Trellis.
  double none_weight() const noexcept { return none_weight_; }
  /// Index of a cause among causes(); nothing if it does not belong to the family.
  std::optional<std::size_t> index(std::string_view cause) const;

  /// True if the item can be asked or done in this family.
  template <typename Item>
  bool applies(const Item& item) const {
    for (const std::string& each : item.families)
      if (each == family_) return true;
    return false;
  }

  /// The finding as a node of this family's causes, observed by nobody: all likelihoods 1.
  FindingNode node_of(const catalogue::Finding& finding) const;
  /// A check's own result as a yes/no node: the leak is its false alarms, a link such that the chance of the result
  /// with that cause alone is the one stated.
  FindingNode node_of(const catalogue::Check& check, const catalogue::Result& result) const;

 private:
  std::shared_ptr<const catalogue::Catalogue> catalogue_;
  std::string family_;
  std::vector<const catalogue::Cause*> causes_;
  std::unordered_map<std::string_view, std::size_t> index_;
  std::vector<double> prior_;
  double none_weight_ = 1;
};

}  // namespace wheeltapper::belief
