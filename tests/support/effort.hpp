#pragma once

namespace wheeltapper::tests {

/// How often something is tried: `full` times, or `few` where sanitizers make each time many times as long. They look
/// at the ways that the code goes, not at how often. The build says which (tests/CMakeLists.txt).
#ifdef WHEELTAPPER_UNDER_SANITIZERS
template <typename Number>
constexpr Number times(Number /*full*/, Number few) {
  return few;
}
#else
template <typename Number>
constexpr Number times(Number full, Number /*few*/) {
  return full;
}
#endif

}  // namespace wheeltapper::tests
