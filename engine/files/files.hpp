#pragma once
#include <string>
#include <vector>

#include "engine/cases/case.hpp"
#include "engine/input/text_file.hpp"

// The one room of the engine that reads files: all others are handed what stands in them.

namespace wheeltapper::files {

/// Reads a whole plain file. \throws input::BadInput  if it can't be read or is too large
std::string read_file(const std::string& path);

/// All *.json files below a directory except those in a folder called "schema", in the order of their paths.
/// \throws input::BadInput  if the directory is not there, can't be read or holds no such file
std::vector<input::TextFile> read_knowledge(const std::string& directory);

/// Reads files that stand in the same folder as this one, and nothing but plain files.
input::Beside beside(const std::string& path);

/// A case file with the series that stand beside it. \throws input::BadInput  as cases::read_case()
cases::Case load_case(const std::string& path, const catalogue::Catalogue& catalogue);

}  // namespace wheeltapper::files
