#pragma once
#include <unistd.h>

#include <filesystem>
#include <string>

namespace wheeltapper::tests {

/// A folder of its own, gone at the end.
class Scratch {
 public:
  Scratch() {
    std::string form = (std::filesystem::temp_directory_path() / "wheeltapper-XXXXXX").string();
    path_ = mkdtemp(form.data());
  }
  ~Scratch() {
    std::error_code wrong;
    std::filesystem::remove_all(path_, wrong);
  }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  Scratch(Scratch&&) = delete;
  Scratch& operator=(Scratch&&) = delete;

  std::string file(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace wheeltapper::tests
