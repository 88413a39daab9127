#include "engine/cases/series_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <vector>

#include "engine/input/problem.hpp"
#include "engine/measure/unit.hpp"

namespace wheeltapper::cases {
namespace {

using input::Problem;

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r\"";
  const auto first = text.find_first_not_of(kBlank);
  return first == std::string_view::npos ? std::string_view{}
                                         : text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

std::optional<double> number(std::string_view text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

/// Seconds, or minutes:seconds.
std::optional<double> seconds(std::string_view text) {
  const auto colon = text.find(':');
  if (colon == std::string_view::npos) return number(text);
  const auto minutes = number(text.substr(0, colon));
  const auto rest = number(text.substr(colon + 1));
  return minutes && rest && *rest >= 0 && *rest < 60 ? std::optional(60 * *minutes + *rest) : std::nullopt;
}

class SeriesReader {
 public:
  explicit SeriesReader(const std::string& file) : file_(file) {}

  bench::Series read(std::string_view text) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);  // as spreadsheets write it
    std::size_t line = 0;
    for (std::size_t at = 0; at <= text.size() && problems_.size() < kMostProblems;) {
      const auto end = std::min(text.find('\n', at), text.size());
      ++line;
      take_line(line, trimmed(text.substr(at, end - at)));
      at = end + 1;
    }
    constexpr std::size_t kLeast = 8;
    if (problems_.empty() && series_.size() < kLeast)
      problem(line, fmt::format("ends after {} readings", series_.size()), "at least 8 lines of readings");
    if (!problems_.empty()) throw input::BadInput(std::move(problems_));
    mark_laps();
    return std::move(series_);
  }

 private:
  static constexpr std::size_t kMostProblems = 40;
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  void problem(std::size_t line, std::string wrong, std::string allowed) {
    problems_.push_back({file_, fmt::format("line {}", line), std::move(wrong), std::move(allowed)});
  }

  std::vector<std::string_view> fields(std::string_view line) const {
    std::vector<std::string_view> all;
    for (std::size_t at = 0; at <= line.size();) {
      const auto end = std::min(line.find(separator_, at), line.size());
      all.push_back(trimmed(line.substr(at, end - at)));
      at = end + 1;
    }
    return all;
  }

  void take_line(std::size_t line, std::string_view text) {
    if (text.empty() || text.starts_with('#')) return;
    if (!headed_)
      take_head(line, text);
    else if (series_.size() >= kMostRows)
      problem(line, "is one reading too many", fmt::format("at most {}", kMostRows));
    else
      take_row(line, fields(text));
  }

  void take_head(std::size_t line, std::string_view text) {
    headed_ = true;
    separator_ = text.find(';') != std::string_view::npos    ? ';'
                 : text.find('\t') != std::string_view::npos ? '\t'
                                                             : ',';
    const auto given = fields(text);
    columns_ = given.size();
    std::vector<std::string> names;  // as loggers write them: "Time", "AMPS"
    for (const std::string_view each : given) names.push_back(lower_head(each));
    for (std::size_t i = 0; i < names.size(); ++i) {
      const std::string_view head = names[i];
      const auto bracket = head.find('(');
      const std::string_view name = trimmed(head.substr(0, bracket));
      const std::string_view unit = bracket == std::string_view::npos
                                        ? std::string_view{}
                                        : trimmed(head.substr(bracket + 1, head.find(')') - bracket - 1));
      if (std::ranges::count_if(
              names, [&](std::string_view other) { return trimmed(other.substr(0, other.find('('))) == name; }) > 1)
        problem(line, fmt::format("has the column \"{}\" twice", name.substr(0, 40)), "each once");
      if (name == "time")
        time_ = i;
      else if (name == "amps")
        amps_ = {i, factor(line, unit, "A")};
      else if (name == "volts")
        volts_ = {i, factor(line, unit, "V")};
      else if (name == "lap")
        lap_ = i;
      else
        problem(line, fmt::format("has the column \"{}\"", name.substr(0, 40)), "time, amps, volts, lap");
    }
    if (time_ == kNone) problem(line, "has no column \"time\"", "a first line such as: time,amps,lap");
    if (amps_.at == kNone) problem(line, "has no column \"amps\"", "a first line such as: time,amps,lap");
  }

  /// The name in small letters, its unit as it stands.
  static std::string lower_head(std::string_view head) {
    std::string out(head);
    for (std::size_t i = 0; i < std::min(out.find('('), out.size()); ++i)
      if (out[i] >= 'A' && out[i] <= 'Z') out[i] = static_cast<char>(out[i] - 'A' + 'a');
    return out;
  }

  double factor(std::size_t line, std::string_view text, std::string_view base) {
    if (text.empty()) return 1;
    const auto unit = measure::find_unit(text);
    const auto wanted = measure::unit(base);
    if (unit && unit->dimension == wanted.dimension) return measure::convert(1, *unit, wanted);
    problem(line, fmt::format("has the unit \"{}\"", text.substr(0, 20)), measure::spellings(wanted.dimension));
    return 1;
  }

  void take_row(std::size_t line, const std::vector<std::string_view>& row) {
    if (row.size() > columns_)
      return problem(
          line, fmt::format("has {} fields where the first line has {}", row.size(), columns_),
          separator_ == ',' ? "a point, not a comma, in numbers; or semicolons between the fields" : "as many");
    const auto field = [&](std::size_t at) { return at < row.size() ? row[at] : std::string_view{}; };
    const auto time = seconds(field(time_));
    const auto amps = number(field(amps_.at));
    constexpr double kMost = 1000;
    constexpr double kLatest = 1e7;  // s
    if (!time || *time < 0 || *time > kLatest)
      return problem(line, fmt::format("has the time \"{}\"", field(time_).substr(0, 40)),
                     "seconds from 0 to 10 000 000, or minutes:seconds");
    if (!amps || *amps < 0 || *amps * amps_.factor > kMost)
      return problem(line, fmt::format("has the amps \"{}\"", field(amps_.at).substr(0, 40)),
                     "a number from 0 to 1000 A");
    if (!series_.time.empty() && !(*time > series_.time.back()))
      return problem(line, fmt::format("has the time {} after {}", *time, series_.time.back()), "times that rise");
    if (volts_.at != kNone) {
      const auto volts = number(field(volts_.at));
      if (!volts || *volts < 0 || *volts * volts_.factor > kMost)
        return problem(line, fmt::format("has the volts \"{}\"", field(volts_.at).substr(0, 40)),
                       "a number from 0 to 1000 V");
      series_.volts.push_back(*volts * volts_.factor);
    }
    series_.time.push_back(*time);
    series_.amps.push_back(*amps * amps_.factor);
    const std::string_view lap = field(lap_);
    laps_.emplace_back(lap_ == kNone || lap == "0" ? std::string_view{} : lap);
  }

  void mark_laps() {
    const auto told = std::ranges::count_if(laps_, [](std::string_view lap) { return !lap.empty(); });
    const bool numbers = 2 * static_cast<std::size_t>(told) > laps_.size();
    for (std::size_t i = 0; i < laps_.size(); ++i) {
      const bool mark = numbers ? i > 0 && laps_[i] != laps_[i - 1] : !laps_[i].empty();
      if (mark) series_.lap_marks.push_back(series_.time[i]);
    }
  }

  struct Column {
    std::size_t at = kNone;
    double factor = 1;
  };
  const std::string& file_;
  bench::Series series_;
  std::vector<std::string_view> laps_;  ///< what stands in the column, by reading
  std::vector<Problem> problems_;
  bool headed_ = false;
  char separator_ = ',';
  std::size_t time_ = kNone, lap_ = kNone;
  Column amps_, volts_;
  std::size_t columns_ = 0;
};

}  // namespace

bench::Series read_series(std::string_view text, const std::string& file) {
  if (!input::is_utf8(text)) throw input::BadInput({{file, {}, "is not UTF-8 text", {}}});
  return SeriesReader(file).read(text);
}

}  // namespace wheeltapper::cases
