// Feeds every file below the given folders to the fuzz target, whole and cut at a few places.
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>

extern "C" int LLVMFuzzerInitialize(int* argc, char*** argv);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int main(int argc, char** argv) {
  LLVMFuzzerInitialize(&argc, &argv);
  std::size_t runs = 0;
  for (int i = 1; i < argc; ++i)
    for (const auto& entry : std::filesystem::recursive_directory_iterator(argv[i])) {
      if (!entry.is_regular_file()) continue;
      std::ifstream in(entry.path(), std::ios::binary);
      const std::string text((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
      for (const std::size_t part : {text.size(), text.size() / 2, text.size() / 3}) {
        LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(text.data()), part);
        ++runs;
      }
    }
  std::cout << runs << " inputs replayed\n";
  return runs > 0 ? 0 : 1;
}
