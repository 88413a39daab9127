#pragma once
#include <string>
#include <string_view>

namespace wheeltapper::input {

/// Adds an item to a list in words: "a", then "a, b".
inline void join_to(std::string& list, std::string_view item, std::string_view separator = ", ") {
  if (!list.empty()) list += separator;
  list += item;
}

}  // namespace wheeltapper::input
