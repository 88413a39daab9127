#include "engine/files/files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "engine/input/json_reader.hpp"

namespace wheeltapper::files {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void refuse(const std::string& path, std::string wrong, std::string allowed = {}) {
  throw input::BadInput({{path, {}, std::move(wrong), std::move(allowed)}});
}

}  // namespace

std::string read_file(const std::string& path) {
  std::error_code trouble;
  const auto status = std::filesystem::status(path, trouble);
  if (status.type() == std::filesystem::file_type::not_found) refuse(path, "does not exist", "a file that can be read");
  if (std::filesystem::is_directory(status)) refuse(path, "is a folder", "a file");
  // A pipe could keep us waiting, a device fill the memory.
  if (std::filesystem::exists(status) && !std::filesystem::is_regular_file(status))
    refuse(path, "is no plain file", "a plain file; save the text in one first");
  std::ifstream in(path, std::ios::binary);
  if (!in) refuse(path, "cannot be opened", "a file that can be read");
  std::string text;
  std::vector<char> block(1U << 16U);
  while (in.read(block.data(), static_cast<std::streamsize>(block.size())), in.gcount() > 0) {
    text.append(block.data(), static_cast<std::size_t>(in.gcount()));
    if (text.size() > input::InputLimits::kBytes)
      refuse(path, "is too large", fmt::format("at most {} bytes", input::InputLimits::kBytes));
  }
  if (in.bad()) refuse(path, "cannot be read to its end");
  return text;
}

std::vector<input::TextFile> read_knowledge(const std::string& directory) {
  std::error_code error;
  std::vector<fs::path> paths;
  const fs::recursive_directory_iterator end;
  for (fs::recursive_directory_iterator at(directory, error); !error && at != end; at.increment(error)) {
    std::error_code no_folder;
    if (at->is_directory(no_folder) && at->path().filename() == "schema") at.disable_recursion_pending();
    std::error_code unreadable;  // a link that leads to itself is no file
    if (at->is_regular_file(unreadable) && at->path().extension() == ".json") paths.push_back(at->path());
  }
  if (error) refuse(directory, "cannot be read: " + error.message(), "a folder with knowledge files");
  if (paths.empty()) refuse(directory, "holds no .json file", "a folder with knowledge files");
  std::ranges::sort(paths);
  std::vector<input::TextFile> sources;
  sources.reserve(paths.size());
  for (const fs::path& path : paths) sources.push_back({path.string(), read_file(path.string())});
  return sources;
}

input::Beside beside(const std::string& path) {
  return [folder = fs::path(path).parent_path()](const std::string& name) -> input::TextFile {
    const std::string file = (folder / name).string();
    std::error_code trouble;
    const auto status = fs::symlink_status(file, trouble);
    if (fs::exists(status) && !fs::is_regular_file(status))
      refuse(file, "is no plain file", "a file of readings, no link, pipe or folder");
    return {file, read_file(file)};
  };
}

cases::Case load_case(const std::string& path, const catalogue::Catalogue& catalogue) {
  return cases::read_case(read_file(path), path, catalogue, beside(path));
}

}  // namespace wheeltapper::files
