#pragma once
#include <functional>
#include <map>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "engine/bench/level_rule.hpp"
#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::belief {

/// What the readings of a session say of each finding that is read off them. Worked out once for a diagnosis: evidence,
/// plan, remarks and hazards go by the same. Copies share it.
class Observed {
 public:
  using Chances = std::map<std::string, bench::LevelChances, std::less<>>;

  /// Without readings.
  Observed();
  /// \param figures  what the readings say together (bench::analyse())
  Observed(const catalogue::Catalogue& catalogue, const bench::Session& session,
           std::span<const bench::Figure> figures);

  /// Nothing where the finding is not read off readings, or these do not say.
  const bench::LevelChances* of(std::string_view finding) const;
  /// By finding, of all families.
  const Chances& all() const noexcept { return *chances_; }

 private:
  std::shared_ptr<const Chances> chances_;
};

}  // namespace wheeltapper::belief
