// All targets in one program, so that one is linked and not eight: its name, by a link to it, says which it is.
#include <algorithm>
#include <array>
#include <cstdlib>
#include <iostream>
#include <string_view>

#include "tests/fuzz/targets.hpp"

namespace {

struct Target {
  std::string_view name;
  int (*run)(const std::uint8_t*, std::size_t);
};

constexpr std::array kTargets{Target{"fuzz_case", fuzz_case},       Target{"fuzz_dialogue", fuzz_dialogue},
                              Target{"fuzz_job", fuzz_job},         Target{"fuzz_knowledge", fuzz_knowledge},
                              Target{"fuzz_lines", fuzz_lines},     Target{"fuzz_pages", fuzz_pages},
                              Target{"fuzz_reading", fuzz_reading}, Target{"fuzz_series", fuzz_series}};

const Target* chosen = nullptr;

}  // namespace

extern "C" int LLVMFuzzerInitialize(int* /*argc*/, char*** argv) {
  const std::string_view path = (*argv)[0];
  const auto found = std::ranges::find(kTargets, path.substr(path.rfind('/') + 1), &Target::name);
  if (found == kTargets.end()) {
    std::cerr << "run it by the name of a target, such as fuzz_case\n";
    std::exit(2);
  }
  chosen = &*found;
  return 0;
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) { return chosen->run(data, size); }
