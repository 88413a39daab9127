#pragma once
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/belief/network.hpp"

namespace wheeltapper::exam {

/// A locomotive with something wrong, and its honest owner. What shows follows from the causes that are left by the
/// knowledge's own numbers; each draw hangs on the seed and on what it is for alone, so that the same question gets the
/// same answer, whoever asks and in whatever order, until a repair changes what is there.
class World {
 public:
  /// \param wrong  indices of the network's causes; empty: something that the knowledge does not list
  World(std::shared_ptr<const belief::Network> network, std::vector<std::size_t> wrong, std::uint64_t seed);

  /// The level that a finding is at. A hazard shows only for what is wrong: one that came of nothing here would rightly
  /// end the job.
  std::size_t level(const catalogue::Finding& finding) const;
  /// The level that what is wrong brings it to, without what shows for no listed reason.
  std::size_t caused_level(const catalogue::Finding& finding) const;
  /// What the owner says when asked: errors as the knowledge has them.
  std::size_t said(const catalogue::Finding& finding) const;
  /// Whether the owner names it from a list that is read out: what is not there is named far less often than it would
  /// be granted to a question of its own.
  bool named_in_list(const catalogue::Finding& finding) const;
  /// Whether a check shows one of its results. One that clears a hazard shows only what is wrong: what it showed for
  /// nothing would rightly keep the power off.
  bool shows(const catalogue::Check& check, const catalogue::Result& result) const;
  /// Whether what rules the check out is so.
  bool can_be_done(const catalogue::Check& check) const;
  bool holds(const catalogue::Context& context) const;

  /// Each cause that the repair treats goes with its chance.
  void repair(const catalogue::Repair& repair);
  bool cured() const { return !unlisted_ && left_.empty(); }
  const std::vector<std::size_t>& left() const { return left_; }
  const belief::Network& network() const { return *network_; }

 private:
  bool is_hazard(const catalogue::Finding& finding) const;
  bool clears(const catalogue::Check& check) const;
  double draw(std::string_view what, std::string_view which, std::string_view whom = {}) const;
  bool is_left(std::size_t cause) const;
  std::size_t level(const belief::FindingNode& node, std::string_view what) const;

  std::shared_ptr<const belief::Network> network_;
  std::vector<std::size_t> left_;
  bool unlisted_;
  std::uint64_t seed_;
  std::size_t done_ = 0;  ///< repairs
};

/// Causes drawn from the rates of failed sessions. \param listed  at least one of them is in the knowledge
std::vector<std::size_t> draw_causes(const belief::Network& network, std::uint64_t seed, bool listed = true);

}  // namespace wheeltapper::exam
