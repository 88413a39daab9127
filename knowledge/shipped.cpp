#include "knowledge/shipped.hpp"

#include "engine/catalogue/pack.hpp"

namespace wheeltapper::knowledge {

catalogue::Items shipped_items() {
  return catalogue::unpack({reinterpret_cast<const char*>(kPackedWords), kPackedSize});
}

std::shared_ptr<const catalogue::Catalogue> shipped() {
  static const auto once = std::make_shared<const catalogue::Catalogue>(shipped_items());
  return once;
}

}  // namespace wheeltapper::knowledge
