#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "engine/report/page.hpp"
#include "engine/statistics/cures.hpp"

namespace wheeltapper::report {

/// The cure table, with what its columns mean.
std::string cures_text(const catalogue::Catalogue& catalogue, const statistics::CuresOf& of,
                       const std::vector<statistics::CureRow>& rows, const Style& style);
nlohmann::ordered_json cures_json(const statistics::CuresOf& of, const std::vector<statistics::CureRow>& rows);
/// The same rows as CSV (RFC 4180).
std::string cures_csv(const std::vector<statistics::CureRow>& rows);

}  // namespace wheeltapper::report
