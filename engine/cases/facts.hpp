#pragma once
#include <optional>
#include <string_view>

#include "engine/bench/rig.hpp"
#include "engine/bench/session.hpp"
#include "engine/input/json_reader.hpp"

namespace wheeltapper::cases {

/// A typed value of one dimension, in the unit of `code`; nothing and a problem for another form, unit or an
/// uncertainty.
std::optional<double> typed_value(const input::Reader& in, std::string_view code);
/// The same for the member `key`, which may be left out; a problem unless it lies within [low, high] in that unit.
std::optional<double> typed_member(const input::Reader& in, std::string_view key, std::string_view code, double low,
                                   double high);

/// "drive", "winding" and "wheel-diameter" of a locomotive (cases/schema/case.schema.json).
void read_locomotive_facts(const input::Reader& locomotive, bench::Session& session);
/// "leads" and "ammeter-ohms" of a rig.
void read_rig_facts(const input::Reader& rig, bench::Rig& out);
/// "sections" of a rig: the length of the loop; nothing where there are none or they can't be used.
std::optional<bench::LoopLength> read_sections(const input::Reader& rig);

}  // namespace wheeltapper::cases
