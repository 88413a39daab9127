#include "engine/input/csv.hpp"

#include <string_view>

#include "engine/input/problem.hpp"

namespace wheeltapper::input {

std::string csv_cell(const std::string& given) {
  const std::string text = harmless_lines(given);
  const auto number = [&] { return text.find_first_not_of("0123456789.+-eE") == std::string::npos; };
  std::string cell;
  if (!text.empty() && std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos && !number())
    cell.push_back('\'');
  cell += text;
  if (cell.find_first_of(",\"\r\n") == std::string::npos) return cell;
  std::string quoted(1, '"');
  for (const char c : cell) quoted.append(c == '"' ? 2 : 1, c);
  quoted.push_back('"');
  return quoted;
}

}  // namespace wheeltapper::input
