// Any bytes are a case whose runs can be assessed and analysed, or BadInput; any other exception is a find.
#include <cstdint>

#include "engine/bench/analysis.hpp"
#include "engine/bench/assess.hpp"
#include "engine/cases/case.hpp"
#include "engine/input/problem.hpp"
#include "knowledge/shipped.hpp"
#include "tests/fuzz/targets.hpp"

int fuzz_case(const std::uint8_t* data, std::size_t size) {
  using namespace wheeltapper;
  static const auto catalogue = knowledge::shipped();
  try {
    const auto the_case = cases::read_case({reinterpret_cast<const char*>(data), size}, "fuzz.json", *catalogue);
    bench::assess(the_case.session);
    bench::analyse(the_case.session);
  } catch (const input::BadInput&) {
    return 0;
  }
  return 0;
}
