#include "engine/catalogue/catalogue.hpp"

#include <algorithm>
#include <cassert>
#include <utility>

namespace wheeltapper::catalogue {
namespace {

template <typename Item>
void fill(std::unordered_map<std::string_view, std::size_t>& index, const std::vector<Item>& list) {
  index.reserve(list.size());
  for (std::size_t i = 0; i < list.size(); ++i) {
    [[maybe_unused]] const bool fresh = index.emplace(list[i].id, i).second;
    assert(fresh && "ids were seen to stand once");
  }
}

}  // namespace

Catalogue::Catalogue(Items items) : items_(std::move(items)) {
  fill(families_, items_.families);
  fill(places_, items_.places);
  fill(quantities_, items_.quantities);
  fill(causes_, items_.causes);
  fill(findings_, items_.findings);
  fill(checks_, items_.checks);
  fill(repairs_, items_.repairs);
  fill(cautions_, items_.cautions);
  fill(contexts_, items_.contexts);
  fill(rules_, items_.rules);
}

std::vector<const Family*> Catalogue::usable_families() const {
  std::vector<const Family*> usable;
  for (const Family& family : items_.families) {
    const auto has_it = [&](const Cause& cause) {
      return std::ranges::any_of(cause.rates, [&](const Rate& rate) { return rate.family == family.id; });
    };
    if (std::ranges::any_of(items_.causes, has_it)) usable.push_back(&family);
  }
  return usable;
}

}  // namespace wheeltapper::catalogue
