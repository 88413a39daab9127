// Checks the knowledge files and writes them as words that the program is linked with.
#include <cstdint>
#include <cstring>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iostream>

#include "engine/catalogue/load.hpp"
#include "engine/catalogue/pack.hpp"
#include "engine/files/files.hpp"

namespace {

void write_source(const std::string& path, std::string bytes, std::size_t size) {
  bytes.resize((size + 7) / 8 * 8);
  std::ofstream out(path);
  out << "#include \"knowledge/shipped.hpp\"\n\nnamespace wheeltapper::knowledge {\n\nextern const std::size_t "
         "kPackedSize = "
      << size << ";\nextern const std::uint64_t kPackedWords[] = {";
  for (std::size_t at = 0; at < bytes.size(); at += 8) {
    std::uint64_t word = 0;
    std::memcpy(&word, bytes.data() + at, sizeof word);
    out << (at % 64 == 0 ? "\n" : "") << "0x" << std::hex << word << std::dec << ",";
  }
  out << "};\n\n}  // namespace wheeltapper::knowledge\n";
  if (!out.flush()) throw std::runtime_error("cannot write " + path);
}

}  // namespace

int main(int argc, char** argv) {
  using namespace wheeltapper::catalogue;
  try {
    if (argc != 3) throw std::runtime_error("usage: wheeltapper_pack KNOWLEDGE_DIR OUT.cpp");
    auto sources = wheeltapper::files::read_knowledge(argv[1]);
    for (auto& source : sources)  // no path of this machine stands in the program
      source.file = "knowledge/" + std::filesystem::relative(source.file, argv[1]).generic_string();
    const auto catalogue = load(sources);
    std::string bytes = pack(catalogue->items());
    const std::size_t size = bytes.size();
    write_source(argv[2], std::move(bytes), size);
    return 0;
  } catch (const std::exception& wrong) {
    std::cerr << wrong.what() << "\n";
    return 1;
  }
}
