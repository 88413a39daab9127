#pragma once
#include <nlohmann/json.hpp>
#include <string>

#include "engine/bench/analysis.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// In a sentence, what the indexes of one comparison come to: "More drag, 1.46 times (96 %)." or that it is open
/// between explanations, and what one more reading would separate them.
std::string drive_sentence(const bench::DriveAnalysis& drive);

/// Everything that the readings say: indexes with bars, the losses of the rig, warmth, series with the place on the
/// loop.
void put_analysis(Page& page, const bench::Session& session, const bench::BenchAnalysis& analysis);
/// The same in a line a comparison, for the head of a diagnosis. \returns whether there was anything to say
bool put_analysis_in_short(Page& page, const bench::BenchAnalysis& analysis);

/// A value on a line of `width` characters from `low` to `high`: its interval as dashes, itself as '#', the healthy
/// value as '|'. What lies outside stands at the end as '<' or '>'.
std::string scale_bar(double value, double from, double to, double healthy, double low, double high, std::size_t width);

nlohmann::ordered_json analysis_json(const bench::BenchAnalysis& analysis);

}  // namespace wheeltapper::report
