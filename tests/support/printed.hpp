#pragma once
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <catch2/catch.hpp>
#include <concepts>
#include <string>
#include <string_view>
#include <type_traits>

#include "engine/input/problem.hpp"
#include "engine/job/compare.hpp"
#include "engine/job/event.hpp"
#include "engine/job/summary.hpp"
#include "engine/measure/measurement.hpp"

// How our types look in a check that fails: every test program includes this (tests/CMakeLists.txt).

namespace wheeltapper::tests {

template <typename T>
concept Named = std::is_enum_v<T> && requires(T value) {
  { name(value) } -> std::convertible_to<std::string_view>;
};

template <typename T>
std::string printed(const std::optional<T>& value) {
  return value ? fmt::format("{}", *value) : "nothing";
}

}  // namespace wheeltapper::tests

namespace Catch {

/// An enumeration that has names prints the name.
template <wheeltapper::tests::Named T>
struct StringMaker<T> {
  static std::string convert(T value) { return std::string(name(value)); }
};

template <>
struct StringMaker<wheeltapper::measure::Unit> {
  static std::string convert(const wheeltapper::measure::Unit& unit) { return std::string(unit.code); }
};

template <>
struct StringMaker<wheeltapper::measure::Measurement> {
  static std::string convert(const wheeltapper::measure::Measurement& what) { return show_with_uncertainty(what); }
};

template <>
struct StringMaker<wheeltapper::input::Problem> {
  static std::string convert(const wheeltapper::input::Problem& problem) { return to_line(problem); }
};

template <>
struct StringMaker<wheeltapper::job::Event> {
  static std::string convert(const wheeltapper::job::Event& event) { return to_line(event); }
};

template <>
struct StringMaker<wheeltapper::job::Summary::Seen> {
  static std::string convert(const wheeltapper::job::Summary::Seen& seen) {
    return fmt::format("{} at level {}", seen.finding, wheeltapper::tests::printed(seen.level));
  }
};

template <>
struct StringMaker<wheeltapper::job::Summary::Result> {
  static std::string convert(const wheeltapper::job::Summary::Result& result) {
    return fmt::format("{}/{} {}", result.check, result.result, result.seen ? "seen" : "not seen");
  }
};

template <>
struct StringMaker<wheeltapper::job::Summary::Fix> {
  static std::string convert(const wheeltapper::job::Summary::Fix& fix) {
    return fmt::format("{} in {} min", fix.repair, wheeltapper::tests::printed(fix.minutes));
  }
};

template <>
struct StringMaker<wheeltapper::job::Summary> {
  static std::string convert(const wheeltapper::job::Summary& job) {
    return fmt::format("findings {}, results {}, fixes {}, causes {}", Detail::stringify(job.findings),
                       Detail::stringify(job.results), Detail::stringify(job.fixes), job.causes);
  }
};

}  // namespace Catch
