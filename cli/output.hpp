#pragma once
#include <functional>
#include <ostream>
#include <string>

#include "cli/command.hpp"

namespace wheeltapper::cli {

/// --overwrite, as all commands have it that write a file.
boost::program_options::options_description output_options();

/// Refuses a file for output that is the log, one of the files that SQLite keeps beside it, or another log, under
/// whatever name or link. \param log  the log's path; empty if none is in use
/// \throws input::BadInput
void demand_no_log(const std::string& path, const std::string& log);

/// Writes a file whole or not at all: the text goes to a file without a name in the same folder and takes its place
/// when it is complete, so that neither a full disk nor a kill leaves a half one. A new file is for its owner alone.
/// One that is there is replaced only with --overwrite, and keeps its rights; a link to it stays one. A terminal, pipe
/// or device is written to and never replaced. "-" is `io.out`. \throws OutputFailed  if it can't be written;
/// input::BadInput  if it must not be
void write_file(const Parsed& parsed, const Io& io, const std::string& path, const std::string& log,
                const std::function<void(std::ostream&)>& write);

}  // namespace wheeltapper::cli
