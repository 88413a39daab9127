#pragma once
#include <functional>
#include <string>

namespace wheeltapper::input {

/// A file's text, wherever it came from.
struct TextFile {
  std::string file;  ///< name for messages
  std::string text;
};

/// Hands over the file of that plain name which stands beside the one that is read. \throws BadInput  if it can't
using Beside = std::function<TextFile(const std::string& name)>;

}  // namespace wheeltapper::input
