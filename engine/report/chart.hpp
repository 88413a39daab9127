#pragma once
#include <string>

#include "engine/report/record.hpp"

namespace wheeltapper::report {

/// Text for HTML and SVG: & < > " ' are written as entities, control characters are gone.
std::string escaped(std::string_view text);

/// A reading as it came and at the end against its limit, as inline SVG: the allowed side in a light hatch, the limit
/// as a line, each reading a mark with its 95 % as a bar. Empty without a reading.
std::string limit_chart(const Record::Verdict& verdict);

/// Chances as they were and as they are, a pair of bars a cause: outlined then, filled now. Empty without causes.
std::string ranking_chart(const std::vector<Record::Rank>& ranking);

}  // namespace wheeltapper::report
