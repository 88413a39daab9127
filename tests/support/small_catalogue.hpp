#pragma once
#include <memory>

#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::tests {

/// The catalogue that unit tests stand on: a few causes, findings, checks, repairs and rules (tests/support/small), so
/// that nobody who corrects the shipped knowledge has to touch a test of the engine. Its ids mean nothing outside the
/// tests.
catalogue::Items small_items();
/// The same, ready for use; made once.
std::shared_ptr<const catalogue::Catalogue> small_catalogue();

}  // namespace wheeltapper::tests
