#include "engine/input/problem.hpp"

#include <algorithm>
#include <cstdint>
#include <string_view>

namespace wheeltapper::input {
namespace {

/// Length of the well-formed UTF-8 sequence that starts at `at`; 0 if there is none.
std::size_t sequence_length(std::string_view text, std::size_t at) noexcept {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(at);
  if (first < 0x80) return 1;
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || at + length > text.size()) return 0;
  const unsigned char low = first == 0xE0 ? 0xA0 : first == 0xF0 ? 0x90 : 0x80;
  const unsigned char high = first == 0xED ? 0x9F : first == 0xF4 ? 0x8F : 0xBF;
  if (byte(at + 1) < low || byte(at + 1) > high) return 0;
  for (std::size_t i = 2; i < length; ++i)
    if ((byte(at + i) & 0xC0U) != 0x80U) return 0;
  return length;
}

/// C0 and C1 controls, the marks that turn the direction of writing round, and Unicode's ends of line and paragraph.
bool is_control(std::string_view sequence) noexcept {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(sequence[i]); };
  if (sequence.size() == 1) return byte(0) < 0x20 || byte(0) == 0x7F;
  if (sequence.size() == 2) return (byte(0) == 0xC2 && byte(1) < 0xA0) || (byte(0) == 0xD8 && byte(1) == 0x9C);
  if (sequence.size() == 3 && byte(0) == 0xE2)
    return (byte(1) == 0x80 && ((byte(2) >= 0xA8 && byte(2) <= 0xAE) || byte(2) == 0x8E || byte(2) == 0x8F)) ||
           (byte(1) == 0x81 && byte(2) >= 0xA6 && byte(2) <= 0xA9);
  return false;
}

std::string all_lines(const std::vector<Problem>& problems) {
  std::string text;
  const std::size_t shown = std::min(problems.size(), BadInput::kMostShown);
  for (std::size_t i = 0; i < shown; ++i) {
    if (i > 0) text += '\n';
    text += to_line(problems[i]);
  }
  if (problems.size() > shown) text += "\nand " + std::to_string(problems.size() - shown) + " more";
  return text;
}

}  // namespace

bool is_utf8(std::string_view text) noexcept {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = sequence_length(text, at);
    if (length == 0) return false;
    at += length;
  }
  return true;
}

std::string harmless(std::string_view text) {
  std::string safe;
  safe.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = sequence_length(text, at);
    const std::string_view sequence = text.substr(at, std::max<std::size_t>(length, 1));
    safe += length == 0 ? std::string_view("\xEF\xBF\xBD") : is_control(sequence) ? std::string_view("?") : sequence;
    at += sequence.size();
  }
  return safe;
}

std::string escaped_controls(std::string_view json) {
  std::string safe;
  safe.reserve(json.size());
  for (std::size_t at = 0; at < json.size();) {
    const std::size_t length = std::max<std::size_t>(sequence_length(json, at), 1);
    const std::string_view sequence = json.substr(at, length);
    at += length;
    if (length < 2 || !is_control(sequence)) {
      safe += sequence;
      continue;
    }
    std::uint32_t value = static_cast<unsigned char>(sequence[0]) & (length == 2 ? 0x1FU : 0x0FU);
    for (const char c : sequence.substr(1)) value = value << 6U | (static_cast<unsigned char>(c) & 0x3FU);
    constexpr std::string_view kDigits = "0123456789abcdef";
    safe += "\\u";
    for (const unsigned shift : {12U, 8U, 4U, 0U}) safe += kDigits[(value >> shift) & 0xFU];
  }
  return safe;
}

std::string harmless_lines(std::string_view text) {
  std::string safe;
  for (std::size_t at = 0; at <= text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    safe += harmless(text.substr(at, end - at));
    if (end < text.size()) safe += '\n';
    at = end + 1;
  }
  return safe;
}

std::string to_line(const Problem& problem) {
  std::string line = problem.file;
  if (!problem.pointer.empty()) line += "#" + problem.pointer;
  line += ": " + problem.wrong;
  const bool question = problem.allowed.ends_with('?');  // "did you mean ..."
  if (!problem.allowed.empty()) line += (question ? "; " : "; allowed: ") + problem.allowed;
  return harmless(line);
}

BadInput::BadInput(std::vector<Problem> problems)
    : std::runtime_error(all_lines(problems)), problems_(std::move(problems)) {}

}  // namespace wheeltapper::input
