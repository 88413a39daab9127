#pragma once
#include <stdexcept>
#include <string>
#include <vector>

namespace wheeltapper::input {

/// One thing wrong in one file, told to the person who wrote the file. On a line:
/// causes/gears.json#/causes/3/families/ac-series: is 1200; allowed: a number above 0, below 1000
struct Problem {
  std::string file;     ///< as the user named it
  std::string pointer;  ///< JSON Pointer (RFC 6901); empty for the whole file
  std::string wrong;    ///< what stands there
  std::string allowed;  ///< what may stand there; empty where `wrong` says it all
  friend bool operator==(const Problem&, const Problem&) = default;
};

/// The line above, with control characters from the file made harmless.
std::string to_line(const Problem& problem);

/// Input that cannot be used, with everything that is wrong in it. what() has one line a problem, cut after
/// kMostShown of them with a count of the rest.
class BadInput : public std::runtime_error {
 public:
  static constexpr std::size_t kMostShown = 40;
  explicit BadInput(std::vector<Problem> problems);
  const std::vector<Problem>& problems() const noexcept { return problems_; }

 private:
  std::vector<Problem> problems_;
};

/// Text safe for a terminal: control characters become '?', bytes that are not UTF-8 become U+FFFD.
std::string harmless(std::string_view text);
/// The same for a text of several lines, which keeps them.
std::string harmless_lines(std::string_view text);
/// JSON with such characters as \\uXXXX, which any reader turns back: the text of a value is then safe to look at.
std::string escaped_controls(std::string_view json);

/// True when the bytes are well-formed UTF-8 (no overlong forms, no surrogates).
bool is_utf8(std::string_view text) noexcept;

}  // namespace wheeltapper::input
