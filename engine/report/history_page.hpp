#pragma once
#include <nlohmann/json.hpp>
#include <string>

#include "engine/catalogue/catalogue.hpp"
#include "engine/report/page.hpp"
#include "engine/statistics/history.hpp"

namespace wheeltapper::report {

/// The visits of one locomotive and its readings over time, each drawn against its limit; drift in plain words.
std::string history_text(const catalogue::Catalogue& catalogue, const statistics::History& history, const Style& style);
nlohmann::ordered_json history_json(const statistics::History& history);

}  // namespace wheeltapper::report
