#pragma once
#include <functional>
#include <optional>
#include <string>

#include "engine/guide/position.hpp"
#include "tests/exam/world.hpp"

namespace wheeltapper::exam {

/// What a rival does next: a check or a repair.
struct Choice {
  const catalogue::Check* check = nullptr;
  const catalogue::Repair* repair = nullptr;
};

/// What was done so far, for a rival that chooses by itself.
struct Done {
  std::vector<std::string> checks;   ///< whose results no repair since could have changed
  std::vector<std::string> repairs;  ///< in the whole job
};

/// A way of working. Without `choose` it does as the program says, question by question.
struct Policy {
  std::string name;
  std::function<std::optional<Choice>(const guide::Position&, const Done&, std::uint64_t seed)> choose = {};
};

/// One job as it was played.
struct Record {
  std::string policy, causes;
  std::uint64_t seed = 0;
  bool cured = false, handed_on = false;
  bool referred = false;  ///< for a hazard that is not for us
  bool empty = false;     ///< no step was advised though no hazard stood and the cause was there
  double minutes = 0;     ///< until it was cured or given up
  double forecast = 0;    ///< what the program expected when it named its first step, and ...
  double followed = 0;    ///< ... what followed
  std::size_t questions = 0, checks = 0, repairs = 0;
  std::size_t again = 0;         ///< checks and repairs that had been done in the job before
  std::size_t repeated = 0;      ///< those of them that nothing done since could have changed, and no hazard asks for
  std::size_t vain_repairs = 0;  ///< that removed nothing
  std::size_t vain_powered = 0;  ///< checks under power that showed nothing
  double vain_minutes = 0;       ///< of vain repairs
};

/// Minutes of work after which a job counts as not cured.
inline constexpr double kLongest = 600;

/// Plays one job at a desk from a failed load test on. The clock counts answers, the work of checks and repairs with
/// their parts, plugging in and out, opening what is closed (what is open stays so until power needs the motor back in
/// its place) and the retests.
/// \param trace  prints each step
Record play(World world, const Policy& policy, std::uint64_t seed, bool trace = false);

/// The findings of the load test itself, as answers of a case.
nlohmann::json load_test(const World& world);
/// One to three of the signs that what is wrong brings about, as the owner tells them with the complaint.
nlohmann::json told_unasked(const World& world, std::uint64_t seed);

}  // namespace wheeltapper::exam
