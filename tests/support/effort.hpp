#pragma once

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define WHEELTAPPER_UNDER_SANITIZERS 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__)
#define WHEELTAPPER_UNDER_SANITIZERS 1
#endif

namespace wheeltapper::tests {

/// How often something is tried: `full` times, or `few` where sanitizers make each time many times as long. They look
/// at the ways that the code goes, not at how often.
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
