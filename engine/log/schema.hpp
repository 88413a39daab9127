#pragma once
#include <string_view>

namespace wheeltapper::log {

/// Marks the file as one of ours in SQLite's header: "WhTp".
inline constexpr int kApplicationId = 0x57685470;
inline constexpr int kVersion = 2;

/// The SQL that leads from version `from` to the next; `from` is at least 0 (an empty file) and below kVersion.
/// Versions that were released never change.
std::string_view migration(int from);

}  // namespace wheeltapper::log
