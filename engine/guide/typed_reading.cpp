#include "engine/guide/typed_reading.hpp"

#include <fmt/format.h>

#include <boost/algorithm/string.hpp>
#include <charconv>
#include <optional>

#include "engine/bench/assess.hpp"
#include "engine/cases/reading.hpp"
#include "engine/input/input_error.hpp"

namespace wheeltapper::guide {

using nlohmann::json;

bool bare_number(std::string_view text) {
  return !text.empty() && text.find_first_not_of("0123456789.+-eE") == std::string_view::npos;
}

std::optional<std::string> far_from_limit(const catalogue::Catalogue& catalogue, const cases::Case& the_case,
                                          const json& body) {
  const auto& limits = the_case.session.limits;
  if (body.contains("laps")) {
    const auto rate = cases::make_lap_rate(*catalogue.quantity("lap-time"), body["laps"].get<int>(),
                                           {body["time"].get<std::string>()}, nullptr);
    return bench::far_from_limit(limits, "lap-rate", rate.value);
  }
  const auto id = body["quantity"].get<std::string>();
  const auto reading = cases::make_reading(*catalogue.quantity(id), {body["value"].get<std::string>()}, nullptr);
  return bench::far_from_limit(limits, id, reading.value);
}

namespace {

/// "5 laps in 35.3 s" as laps and their time; nothing where it is laps a minute, or no laps at all.
std::optional<json> timed_laps(const catalogue::Catalogue& catalogue, const std::string& text) {
  int laps = 0;
  const auto [end, wrong] = std::from_chars(text.data(), text.data() + text.size(), laps);
  std::string rest = boost::trim_copy(std::string(end, static_cast<std::size_t>(text.data() + text.size() - end)));
  for (const std::string_view word : {"laps", "lap", "in", ","})
    if (boost::istarts_with(rest, word)) rest = boost::trim_copy(rest.substr(word.size()));
  if (wrong != std::errc() || rest.empty() || *end == '.' ||
      std::isdigit(static_cast<unsigned char>(rest.front())) == 0)
    return std::nullopt;
  constexpr int kMostLaps = 10000;
  if (laps > kMostLaps) throw input::InputError("has more laps than 10000");
  if (bare_number(rest)) rest += " s";
  cases::make_lap_rate(*catalogue.quantity("lap-time"), laps, {rest}, nullptr);
  return json{{"laps", laps}, {"time", rest}};
}

}  // namespace

json reading_body(const catalogue::Catalogue& catalogue, const std::string& quantity, std::string_view typed) {
  const auto* item = catalogue.quantity(quantity);
  if (item == nullptr) throw input::InputError("is of no known quantity");
  std::string text = boost::trim_copy(std::string(typed));
  if (quantity == "lap-rate")
    if (auto timed = timed_laps(catalogue, text)) return *timed;
  if (bare_number(text)) text += " " + item->unit;
  try {
    cases::make_reading(*item, {text}, nullptr);
  } catch (const input::InputError&) {
    if (quantity != "lap-rate") throw;
    throw input::InputError("is neither laps and their time nor laps a minute");
  }
  return {{"quantity", quantity}, {"value", text}};
}

}  // namespace wheeltapper::guide
