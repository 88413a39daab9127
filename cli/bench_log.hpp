#pragma once
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "engine/app/desk.hpp"
#include "engine/log/log.hpp"

namespace wheeltapper::cli {

/// --log, --bench, --sync, as all commands have them that use the log.
boost::program_options::options_description log_options();

/// The log's file: --log, or wheeltapper/log.sqlite in the platform's data folder. \throws UsageError if there is none
std::string log_path(const Parsed& parsed, const Io& io);
bool log_exists(const Parsed& parsed, const Io& io);

/// By --sync and --wait.
log::Settings log_settings(const Parsed& parsed);
/// Makes rows of closed jobs with a catalogue.
log::Summarise summarise_with(std::shared_ptr<const catalogue::Catalogue> catalogue);

std::unique_ptr<log::Log> open_log(const Parsed& parsed, const Io& io,
                                   std::shared_ptr<const catalogue::Catalogue> catalogue,
                                   log::Settings::Open how = log::Settings::Open::create);

/// For looking only: a log that can't be written can still be read. One of an older version is brought up to date.
std::unique_ptr<log::Log> open_to_read(const Parsed& parsed, const Io& io,
                                       std::shared_ptr<const catalogue::Catalogue> catalogue);

std::string new_uuid();
/// The time now, UTC.
std::string now();
/// This machine's clock and random ids, and who writes: --bench, else the machine's name.
app::World world_of(const Parsed& parsed);

/// The job that a word means: the start of its id, at least four letters; "last", the one touched last; "open", the
/// only one open. \throws UsageError  if there is none or more than one
std::string find_job(log::Log& log, const std::string& word);

/// Leads through a job from what its first screen asks until it is closed, or the answers end. Returns the exit code.
int guide(app::Desk& desk, const app::Screen& first, const Io& io, const report::Style& style);

}  // namespace wheeltapper::cli
