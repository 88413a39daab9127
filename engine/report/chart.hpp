#pragma once
#include <string>

#include "engine/report/record.hpp"

namespace wheeltapper::report {

/// Text for HTML and SVG: & < > " ' are written as entities, control characters are gone.
std::string escaped(std::string_view text);

/// A reading as it came and at the end against its limit, as inline SVG: the allowed side in a light hatch, the limit
/// as a line, each reading a mark with its 95 % as a bar. Empty without a reading.
std::string limit_chart(const Record::Verdict& verdict);

/// The chance of a cause as it was and as it is: a bar outlined, and one filled where there is still a chance.
std::string ranking_bars(const Record::Rank& rank);

}  // namespace wheeltapper::report
