#pragma once
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "engine/catalogue/catalogue.hpp"
#include "engine/input/problem.hpp"
#include "engine/input/text_file.hpp"

namespace wheeltapper::catalogue {

/// Parses files into items. Adds every mistake of form to `problems`; files that are not JSON are left out.
Items parse_sources(std::span<const input::TextFile> sources, std::vector<input::Problem>& problems);

/// Lays `over` on `base`: an item whose id is in the base replaces it in its place, another one is added at the end.
Items overlay(Items base, Items over);

/// Everything that a schema cannot ask: ids that stand twice in one kind, references that do not resolve, a plainer
/// finding that refines a finer one in turn. All problems in one pass; empty when the items fit together.
std::vector<input::Problem> check_together(const Items& items);

/// Files -> catalogue, or BadInput with every problem of form and of fit at once.
std::shared_ptr<const Catalogue> load(std::span<const input::TextFile> sources);
/// The same over knowledge that was loaded already (the shipped one), whose safety is a floor: see floor.hpp.
std::shared_ptr<const Catalogue> load_over(const Items& base, std::span<const input::TextFile> sources);

}  // namespace wheeltapper::catalogue
