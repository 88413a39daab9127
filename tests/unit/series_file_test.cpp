#include "engine/cases/series_file.hpp"

#include <catch2/catch.hpp>

#include "engine/input/problem.hpp"

using namespace wheeltapper;

namespace {

std::string refusal(const std::string& text) {
  try {
    cases::read_series(text, "meter.csv");
  } catch (const input::BadInput& bad) {
    return bad.what();
  }
  return {};
}

std::string rows(const std::string& head, const std::string& separator, int count) {
  std::string text = head + "\n";
  for (int i = 0; i < count; ++i) text += std::to_string(i) + separator + "2.1\n";
  return text;
}

}  // namespace

TEST_CASE("a series is read with its marks, units and separators", "[series]") {
  const auto series = cases::read_series(
      "# by hand\r\ntime;lap;amps (mA);volts\r\n0:58.5;1;2100;12\r\n0:59;;2110;12\r\n1:00;0;2120;12\r\n61;x;2130;12\r\n"
      "62;;2140;12\r\n63;;2150;12\r\n64;;2160;12\r\n65;;2170;11.5\r\n\r\n",
      "meter.csv");
  REQUIRE(series.size() == 8);
  CHECK(series.time[0] == Approx(58.5));
  CHECK(series.time[2] == Approx(60));
  CHECK(series.amps[3] == Approx(2.13));
  CHECK(series.volts[7] == Approx(11.5));
  CHECK(series.lap_marks == std::vector<double>{58.5, 61});
}

TEST_CASE("a series that can't be used says where and why", "[series]") {
  CHECK(refusal(rows("time,amps", ",", 8)).empty());
  CHECK(refusal(rows("time,amps", ",", 7)).find("at least 8") != std::string::npos);
  CHECK(refusal(rows("time,ampz", ",", 8)).find("ampz") != std::string::npos);
  CHECK(refusal(rows("amps", ",", 8)).find("\"time\"") != std::string::npos);
  CHECK(refusal(rows("time,amps (V)", ",", 8)).find("A, mA") != std::string::npos);
  const std::string back = refusal(rows("time,amps", ",", 8) + "3,2\n");
  CHECK(back.find("line 10") != std::string::npos);
  CHECK(back.find("rise") != std::string::npos);
  CHECK(refusal(rows("time,amps", ",", 8) + "9,-2\n").find("line 10") != std::string::npos);
  CHECK(refusal("\xff").find("UTF-8") != std::string::npos);
  // All lines that can't be used are named, not only the first.
  const std::string all = refusal(rows("time,amps", ",", 8) + "9,x\n10,y\n");
  CHECK(all.find("line 10") != std::string::npos);
  CHECK(all.find("line 11") != std::string::npos);
}

TEST_CASE("a series as spreadsheets and loggers write it", "[series]") {
  const auto series = cases::read_series(
      "\xEF\xBB\xBFTime,AMPS,Lap\n0,2,1\n1,2,1\n2,2,1\n3,2,2\n4,2,2\n5,2,2\n6,2,3\n7,2,3\n", "meter.csv");
  CHECK(series.size() == 8);
  CHECK(series.lap_marks == std::vector<double>{3, 6});  // the number of the lap: each change is a passing
  CHECK(refusal("time,amps\n0,2,15\n").find("point") != std::string::npos);
  CHECK(refusal(rows("time,amps,amps", ",", 8)).find("twice") != std::string::npos);
  CHECK(refusal(rows("time,amps", ",", 8) + "1e9,2\n").find("line 10") != std::string::npos);
}
