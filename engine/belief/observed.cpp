#include "engine/belief/observed.hpp"

namespace wheeltapper::belief {

Observed::Observed() : chances_(std::make_shared<const Chances>()) {}

Observed::Observed(const catalogue::Catalogue& catalogue, const bench::Session& session,
                   std::span<const bench::Figure> figures) {
  Chances chances;
  for (const catalogue::Finding& finding : catalogue.items().findings)
    if (finding.reading)
      if (auto levels = bench::level_chances(session, *finding.reading, figures))
        chances.emplace(finding.id, std::move(*levels));
  chances_ = std::make_shared<const Chances>(std::move(chances));
}

const bench::LevelChances* Observed::of(std::string_view finding) const {
  const auto found = chances_->find(finding);
  return found == chances_->end() ? nullptr : &found->second;
}

}  // namespace wheeltapper::belief
