#include "knowledge/shipped.hpp"

#include "engine/catalogue/pack.hpp"

namespace wheeltapper::knowledge {

catalogue::Items shipped_items() {
  return catalogue::unpack({reinterpret_cast<const char*>(kPackedWords), kPackedSize});
}

std::shared_ptr<const catalogue::Catalogue> shipped() {
  return std::make_shared<const catalogue::Catalogue>(shipped_items());
}

}  // namespace wheeltapper::knowledge
