// Any bytes are a typed reading that converts to its own unit and back, or InputError.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <stdexcept>
#include <string_view>

#include "engine/input/input_error.hpp"
#include "engine/measure/measurement.hpp"
#include "tests/fuzz/targets.hpp"

int fuzz_reading(const std::uint8_t* data, std::size_t size) {
  using namespace wheeltapper::measure;
  try {
    const Typed typed = parse_typed({reinterpret_cast<const char*>(data), size});
    if (!std::isfinite(typed.value) || typed.uncertainty < 0) std::abort();
  } catch (const wheeltapper::input::InputError&) {
    return 0;
  }
  return 0;
}
