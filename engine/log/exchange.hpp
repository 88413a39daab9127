#pragma once
#include <functional>
#include <istream>
#include <ostream>
#include <string>

#include "engine/input/input_error.hpp"
#include "engine/log/log.hpp"

namespace wheeltapper::log {

/// Writes all events and conflicts as JSON Lines (engine/log/schema/log-line.schema.json): a head line, then an event a
/// line in the order of job, number and id, then the conflicts. The same log gives the same bytes.
void export_lines(Log& log, std::ostream& out);

/// Absorbs such lines, all or none. \throws input::BadInput  for the first line that can't be used, with its number
MergeResult import_lines(Log& log, std::istream& in, const std::string& file, const AbsorbSettings& settings = {});

/// Absorbs another log file, which is only read. \throws LogError  if it is none, damaged, or the same file
MergeResult merge(Log& log, const std::string& other, const AbsorbSettings& settings = {});

/// The tables and views that csv() writes.
std::vector<std::string> csv_tables();
/// One of them as CSV (RFC 4180) with a head line. A text that a spreadsheet would take for a formula gets an
/// apostrophe in front. \throws input::InputError  for another name
void csv(Log& log, const std::string& table, std::ostream& out);

}  // namespace wheeltapper::log
