#pragma once
#include <string>
#include <string_view>

namespace wheeltapper::report {

/// How text is laid out.
struct Style {
  std::size_t width = 80;  ///< columns, at least kLeastWidth
  bool colour = false;     ///< escape sequences for a terminal
  bool all = false;        ///< everything, not one screen
};
inline constexpr std::size_t kLeastWidth = 40;

enum class Ink { plain, bold, alarm, care, dim };

/// Columns that UTF-8 text takes on a terminal: one a code point, none for combining marks.
std::size_t columns(std::string_view text);

/// Text that grows line by line, wrapped to the width. What is added is made harmless first: control characters from
/// a file never reach the terminal.
class Page {
 public:
  explicit Page(const Style& style);
  /// A line wrapped at spaces; lines after the first start with `indent` spaces more than the text itself begins with.
  void paragraph(std::string_view text, std::size_t first_indent = 0, std::size_t indent = 0, Ink ink = Ink::plain);
  /// `label`, padded to `label_width` columns, then the text wrapped beside it.
  void labelled(std::string_view label, std::string_view text, std::size_t indent, std::size_t label_width,
                Ink ink = Ink::plain);
  /// Left text and right text on one line, dots never; the left is cut with an ellipsis where both do not fit,
  /// or, where that takes too much or everything is wanted, stands on lines of its own above the right.
  void ends(std::string_view left, std::string_view right, std::size_t indent, Ink ink = Ink::plain);
  /// The same with a part behind the left text that is cut only when nothing of the left is left: an id to be typed.
  void ends_with(std::string_view left, std::string_view kept, std::string_view right, std::size_t indent,
                 Ink ink = Ink::plain);
  /// A line whose spaces count, cut to the width: for drawings.
  void verbatim(std::string_view text, std::size_t indent, Ink ink = Ink::plain);
  void blank();
  /// An empty line, also at the start.
  void line();
  void heading(std::string_view text);
  const Style& style() const noexcept { return style_; }
  const std::string& text() const noexcept { return text_; }

 private:
  void put(std::string_view line, Ink ink);
  Style style_;
  std::string text_;
};

/// "41 %", "<1 %", ">99 %".
std::string percent(double chance);
/// A bar of `columns` cells for a chance, in plain ASCII.
std::string bar(double chance, std::size_t columns);

}  // namespace wheeltapper::report
