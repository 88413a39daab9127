// Any bytes load or raise BadInput; what loads comes back the same from its packed form.
#include <cstdint>
#include <cstdlib>

#include "engine/catalogue/load.hpp"
#include "engine/catalogue/pack.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace wheeltapper::catalogue;
  using namespace wheeltapper::input;
  const std::vector<TextFile> sources{{"fuzz.json", std::string(reinterpret_cast<const char*>(data), size)}};
  std::vector<Problem> problems;
  const Items items = parse_sources(sources, problems);
  if (problems.empty()) problems = check_together(items);
  const std::string once = pack(items);
  if (pack(unpack(once)) != once) std::abort();
  return 0;
}
