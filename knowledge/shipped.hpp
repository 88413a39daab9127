#pragma once
#include <cstddef>
#include <cstdint>
#include <memory>

#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::knowledge {

/// The knowledge that the program was built with. It was checked while building.
catalogue::Items shipped_items();
/// The same, ready for use; made once.
std::shared_ptr<const catalogue::Catalogue> shipped();

extern const std::size_t kPackedSize;
extern const std::uint64_t kPackedWords[];

}  // namespace wheeltapper::knowledge
