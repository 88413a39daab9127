#include "engine/report/page.hpp"

#include <catch2/catch.hpp>

using namespace wheeltapper::report;

TEST_CASE("columns count what is seen, not bytes", "[report]") {
  CHECK(columns("abc") == 3);
  CHECK(columns("68 °C ±") == 7);
  CHECK(columns("e\xCC\x81") == 1);
}

TEST_CASE("no line is wider than the page, and no word is lost", "[report]") {
  Page page({.width = 40});
  page.paragraph(
      "Pull the supply's plug or unclip both leads before you touch wires, "
      "averyveryverylongwordthatdoesnotfitonasinglelineofthepage end.",
      2, 2);
  page.ends("a left part that is much too long for the line it stands on", "right", 2);
  std::string line;
  for (const char c : page.text()) {
    if (c != '\n') {
      line += c;
      continue;
    }
    CHECK(columns(line) <= 40);
    line.clear();
  }
  CHECK_THAT(page.text(), Catch::Contains("end."));
  CHECK_THAT(page.text(), Catch::Contains("right\n"));
}

TEST_CASE("colour only when wanted", "[report]") {
  Page plain({.width = 60, .colour = false});
  plain.heading("Title");
  CHECK(plain.text() == "Title\n");
  Page coloured({.width = 60, .colour = true});
  coloured.heading("Title");
  CHECK(coloured.text() == "\x1b[1mTitle\x1b[0m\n");
}

TEST_CASE("chances in words", "[report]") {
  CHECK(percent(0.41) == "41 %");
  CHECK(percent(0.001) == "<1 %");
  CHECK(percent(0.9999) == ">99 %");
  CHECK(bar(0.5, 4) == "##..");
}
