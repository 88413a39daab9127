#pragma once
#include <string>
#include <string_view>

#include "engine/catalogue/catalogue.hpp"

namespace wheeltapper::catalogue {

/// Checked items as bytes, so that the program starts without parsing JSON. The bytes are made and read by one
/// build of one program on one machine; they are no file format and carry no version.
std::string pack(const Items& items);

/// The other way. \throws std::runtime_error  if the bytes end early or run over: a mistake of the build
Items unpack(std::string_view bytes);

}  // namespace wheeltapper::catalogue
