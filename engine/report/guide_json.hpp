#pragma once
#include <nlohmann/json.hpp>

#include "engine/guide/position.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// Where a job stands, for a program: the hazards that stand ("stop", each rule that is not cleared, the strictest
/// first, with its sentence and cautions), what is asked, and for a check or repair its power state, cautions and steps
/// ("step"). Whoever shows the question has to show "stop" and the cautions before it. Described by
/// schema/output.schema.json.
nlohmann::ordered_json position_json(const guide::Position& position);

/// The rules that are not cleared, as in position_json().
nlohmann::ordered_json stop_json(const guide::Position& position);

}  // namespace wheeltapper::report
