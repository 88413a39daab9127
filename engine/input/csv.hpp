#pragma once
#include <string>

namespace wheeltapper::input {

/// One cell of CSV (RFC 4180), quoted where it must be. A text that a spreadsheet would take for a formula gets an
/// apostrophe in front.
std::string csv_cell(const std::string& text);

}  // namespace wheeltapper::input
