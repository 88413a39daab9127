#include "engine/report/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "engine/input/problem.hpp"
#include "engine/input/words.hpp"

namespace wheeltapper::report {
namespace {

std::string_view escape(Ink ink) {
  switch (ink) {
    case Ink::plain:
      return "";
    case Ink::bold:
      return "\x1b[1m";
    case Ink::alarm:
      return "\x1b[1;31m";
    case Ink::care:
      return "\x1b[33m";
    case Ink::dim:
      return "\x1b[2m";
  }
  return "";
}

bool starts_code_point(char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }

/// The longest head of `text` that takes at most `width` columns.
std::string_view head(std::string_view text, std::size_t width) {
  std::size_t used = 0;
  for (std::size_t i = 0; i < text.size(); ++i)
    if (starts_code_point(text[i]) && used++ == width) return text.substr(0, i);
  return text;
}

std::vector<std::string> wrap(std::string_view text, std::size_t first, std::size_t rest) {
  std::vector<std::string> lines{""};
  std::size_t room = first;
  while (!text.empty()) {
    const auto space = text.find(' ');
    std::string_view word = text.substr(0, space);
    text = space == std::string_view::npos ? std::string_view() : text.substr(space + 1);
    if (word.empty()) continue;
    std::string& line = lines.back();
    const std::size_t used = columns(line) + (line.empty() ? 0 : 1);
    if (!line.empty() && used + columns(word) > room) {
      lines.emplace_back();
      room = rest;
    }
    while (columns(word) > room && lines.back().empty()) {  // longer than a whole line: broken
      const auto part = head(word, room);
      lines.back() = std::string(part);
      word.remove_prefix(part.size());
      lines.emplace_back();
      room = rest;
    }
    if (!word.empty()) input::join_to(lines.back(), word, " ");
  }
  if (lines.size() > 1 && lines.back().empty()) lines.pop_back();
  return lines;
}

}  // namespace

std::size_t columns(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const bool combining =
        byte == 0xCC || (byte == 0xCD && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) < 0xB0);
    if (starts_code_point(text[i]) && !combining) ++count;
  }
  return count;
}

Page::Page(const Style& style) : style_(style) { style_.width = std::max(style_.width, kLeastWidth); }

void Page::put(std::string_view line, Ink ink) {
  const bool coloured = style_.colour && ink != Ink::plain && !line.empty();
  if (coloured) text_ += escape(ink);
  text_ += line;
  if (coloured) text_ += "\x1b[0m";
  text_ += '\n';
}

void Page::paragraph(std::string_view text, std::size_t first_indent, std::size_t indent, Ink ink) {
  const std::string safe = input::harmless(text);
  const std::size_t hang = first_indent + indent;
  const auto room = [&](std::size_t used) { return style_.width > used + 10 ? style_.width - used : 10; };
  bool first = true;
  for (const std::string& line : wrap(safe, room(first_indent), room(hang))) {
    put(std::string(first ? first_indent : hang, ' ') + line, ink);
    first = false;
  }
}

void Page::labelled(std::string_view label, std::string_view text, std::size_t indent, std::size_t label_width,
                    Ink ink) {
  const std::string safe_label = input::harmless(label);
  const std::string safe = input::harmless(text);
  const std::size_t used = indent + label_width;
  const std::size_t room = style_.width > used + 10 ? style_.width - used : 10;
  bool first = true;
  for (const std::string& line : wrap(safe, room, room)) {
    std::string start(indent, ' ');
    if (first) start += safe_label;
    start.append(used > columns(start) ? used - columns(start) : first ? 1 : 0, ' ');
    put(start + line, ink);
    first = false;
  }
}

void Page::ends(std::string_view left, std::string_view right, std::size_t indent, Ink ink) {
  ends_with(left, "", right, indent, ink);
}

void Page::ends_with(std::string_view left, std::string_view kept, std::string_view right, std::size_t indent,
                     Ink ink) {
  const auto shortened = [](const std::string& text, std::size_t room) {
    return columns(text) > room ? std::string(head(text, room > 1 ? room - 1 : 0)) + "…" : text;
  };
  const std::string r = input::harmless(right);
  const std::string tail = input::harmless(kept);
  const std::size_t room = style_.width - std::min(style_.width, indent + columns(r) + 1);
  // What loses more than half, or anything where everything is wanted, takes two lines.
  const std::size_t whole = columns(input::harmless(left)) + columns(tail);
  if (whole > room && (style_.all || room < whole - columns(input::harmless(left)) / 2)) {
    paragraph(std::string(left) + tail, indent, 4, ink);
    const std::size_t gap = style_.width - std::min(style_.width, columns(r));
    put(std::string(gap, ' ') + r, ink);
    return;
  }
  std::string l = shortened(input::harmless(left), room - std::min(room, columns(tail))) + tail;
  l = shortened(l, room);
  const std::size_t gap = style_.width - std::min(style_.width, indent + columns(l) + columns(r));
  put(std::string(indent, ' ') + l + std::string(std::max<std::size_t>(gap, 1), ' ') + r, ink);
}

void Page::verbatim(std::string_view text, std::size_t indent, Ink ink) {
  const std::string line = std::string(indent, ' ') + input::harmless(text);
  put(std::string_view(line).substr(0, style_.width), ink);
}

void Page::blank() {
  if (!text_.empty() && !text_.ends_with("\n\n")) text_ += '\n';
}

void Page::line() { text_ += '\n'; }

void Page::heading(std::string_view text) {
  blank();
  paragraph(text, 0, 0, Ink::bold);
}

std::string percent(double chance) {
  if (chance > 0.995) return ">99 %";
  if (chance < 0.005) return "<1 %";
  return fmt::format("{:.0f} %", chance * 100);
}

std::string bar(double chance, std::size_t columns) {
  const auto cells = static_cast<std::size_t>(std::lround(chance * static_cast<double>(columns)));
  return std::string(cells, '#') + std::string(columns - cells, '.');
}

}  // namespace wheeltapper::report
