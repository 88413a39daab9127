#include "tests/support/small_catalogue.hpp"

#include "engine/catalogue/load.hpp"
#include "engine/files/files.hpp"

namespace wheeltapper::tests {

std::shared_ptr<const catalogue::Catalogue> small_catalogue() {
  static const auto once = catalogue::load(files::read_knowledge(WHEELTAPPER_SOURCE_DIR "/tests/support/small"));
  return once;
}

catalogue::Items small_items() { return small_catalogue()->items(); }

}  // namespace wheeltapper::tests
