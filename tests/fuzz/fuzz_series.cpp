// Any bytes are a series that can be studied, BadInput, or readings that the sums refuse as
// wheeltapper::input::DomainError.
#include <cstdint>
#include <cstdlib>
#include <stdexcept>

#include "engine/bench/laps.hpp"
#include "engine/cases/series_file.hpp"
#include "engine/input/input_error.hpp"
#include "engine/input/problem.hpp"
#include "tests/fuzz/targets.hpp"

int fuzz_series(const std::uint8_t* data, std::size_t size) {
  using namespace wheeltapper;
  try {
    const bench::Series series = cases::read_series({reinterpret_cast<const char*>(data), size}, "fuzz.csv");
    const bench::SeriesSummary summary = bench::summarise(series);
    if (!(summary.amps.uncertainty >= 0) || summary.sound.size() != series.size()) std::abort();
    bench::turn_swing(series, summary, 1.0);
    if (const auto laps = bench::find_laps(series, summary)) bench::fold(series, summary, *laps);
  } catch (const input::BadInput&) {
    return 0;
  } catch (const wheeltapper::input::DomainError&) {
    return 0;
  }
  return 0;
}
