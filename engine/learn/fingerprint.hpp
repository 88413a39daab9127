#pragma once
#include <string>

#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::learn {

/// A fingerprint of the knowledge (a UUID, RFC 9562 version 5) that learned numbers go on from: of ids and numbers, and
/// of which refers to which. Words, sources and the places of files are not in it, nor the order of the items, so that
/// a mended typo or another folder leaves what was learned in use.
std::string fingerprint(const catalogue::Items& items);

}  // namespace wheeltapper::learn
