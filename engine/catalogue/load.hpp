#pragma once
#include <memory>
#include <span>

#include "engine/catalogue/catalogue.hpp"
#include "engine/input/problem.hpp"
#include "engine/input/text_file.hpp"

namespace wheeltapper::catalogue {

/// Knowledge files -> catalogue. A file holds lists of items, each under its kind ("causes", "findings", ...).
/// \throws input::BadInput  with every problem of all files at once, of form and of fit
std::shared_ptr<const Catalogue> load(std::span<const input::TextFile> sources);

/// The same over knowledge that was loaded already (the shipped one). An item whose id is there is a merge patch of it
/// (RFC 7396): members that it has take the place of those below, null takes one away, a cause's card grows by the
/// entries that it has; lists are replaced whole. Another id is a new item. The safety below is a floor: see floor.hpp.
std::shared_ptr<const Catalogue> load_over(const Items& base, std::span<const input::TextFile> sources);

}  // namespace wheeltapper::catalogue
