#include "engine/input/json_reader.hpp"

#include <catch2/catch.hpp>

#include "engine/catalogue/load.hpp"

using namespace wheeltapper::catalogue;
using namespace wheeltapper::input;

TEST_CASE("a syntax error has its line and column", "[catalogue]") {
  try {
    parse_json("{\n  \"a\": 1,\n  oops\n}", "x.json");
    FAIL("not refused");
  } catch (const BadInput& bad) {
    CHECK_THAT(bad.what(), Catch::Contains("x.json: is not JSON at line 3"));
  }
}

TEST_CASE("a key that stands twice is refused, in any depth", "[catalogue]") {
  CHECK_THROWS_AS(parse_json(R"({"a": {"b": 1, "b": 2}})", "x.json"), BadInput);
  CHECK_NOTHROW(parse_json(R"({"a": {"b": 1}, "c": {"b": 2}, "d": [{"b": 1}, {"b": 2}]})", "x.json"));
}

TEST_CASE("all mistakes come in one pass, with their places", "[catalogue]") {
  const std::vector<TextFile> sources{{"c.json", R"({"causes": [
    {"id": "a", "name": "n", "place": "p", "rate": {"f": 1200}, "basis": "b", "looks": "l", "why": "w"},
    {"id": "b", "place": "p", "rate": {"f": 3}, "basis": 7, "looks": "l", "why": "w"}]})"}};
  try {
    load(sources);
    FAIL("not refused");
  } catch (const BadInput& bad) {
    const std::string text = bad.what();
    CHECK_THAT(text, Catch::Contains("c.json#/causes/0/rate/f: is 1200; allowed: a number above 0, below 1000"));
    CHECK_THAT(text, Catch::Contains("c.json#/causes/1/name: is missing"));
    CHECK_THAT(text, Catch::Contains("c.json#/causes/1/basis: is 7"));
    CHECK_THAT(text, Catch::Contains("names \"p\", which is not among the places"));
  }
}

TEST_CASE("near misses", "[catalogue]") {
  CHECK(near_miss("bearing-drie", {"bearing-dry", "brush-stuck"}) == "bearing-dry");
  CHECK_FALSE(near_miss("zzzz", {"bearing-dry", "brush-stuck"}).has_value());
}

TEST_CASE("ids", "[catalogue]") {
  CHECK(is_id("bearing-dry"));
  for (const char* wrong : {"", "-a", "a-", "a--b", "A", "a b", "ä"}) CHECK_FALSE(is_id(wrong));
}

TEST_CASE("text from files is harmless on a terminal", "[catalogue]") {
  CHECK(harmless("a\x1b[31mb\n") == "a?[31mb?");
  CHECK(harmless("\xff") == "\xEF\xBF\xBD");
  CHECK(harmless("Grüße °C") == "Grüße °C");
  CHECK(harmless("a\xE2\x80\xAE"
                 "b") == "a?b");  // right-to-left override
  CHECK_FALSE(is_utf8("\xC0\xAF"));
  CHECK_FALSE(is_utf8("\xED\xA0\x80"));
}
