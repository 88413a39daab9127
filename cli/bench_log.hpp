#pragma once
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "engine/job/guide.hpp"
#include "engine/log/log.hpp"

namespace wheeltapper::cli {

/// --log, --bench, --sync, as all commands have them that use the log.
boost::program_options::options_description log_options();

/// The log's file: --log, or wheeltapper/log.sqlite in the platform's data folder. \throws UsageError if there is none
std::string log_path(const Parsed& parsed, const Io& io);
bool log_exists(const Parsed& parsed, const Io& io);

std::unique_ptr<log::Log> open_log(const Parsed& parsed, const Io& io,
                                   std::shared_ptr<const catalogue::Catalogue> catalogue,
                                   log::Settings::Open how = log::Settings::Open::create);

/// For looking only: a log that can't be written can still be read. One of an older form is brought up to date.
std::unique_ptr<log::Log> open_to_read(const Parsed& parsed, const Io& io,
                                       std::shared_ptr<const catalogue::Catalogue> catalogue);

/// Writes events with new UUIDs, the time now and the bench's name.
class Pen {
 public:
  explicit Pen(const Parsed& parsed);
  /// All at one moment.
  std::vector<job::Event> events(const std::string& job, std::vector<job::Draft> drafts) const;
  static std::string new_uuid();
  static std::string now();

 private:
  std::string bench_;
};

/// A job's events with drafts behind them, numbered as the log will number them: to see whether it can be read so.
std::vector<job::Event> with_drafts(std::vector<job::Event> events, const std::vector<job::Event>& drafts);

/// The job that a word means: the start of its id, at least four letters; "last", the one touched last; "open", the
/// only one open. \throws UsageError  if there is none or more than one
std::string find_job(log::Log& log, const std::string& word);

/// Writes a file beside its place and puts it there when it is whole, so that a full disk leaves no half file.
/// \throws catalogue::BadInput  if it can't be written
void write_whole(const std::string& path, const std::function<void(std::ostream&)>& write);

/// Leads through a job until it is closed, or the answers end. Returns the exit code.
int guide(log::Log& log, const std::string& job, std::shared_ptr<const catalogue::Catalogue> catalogue,
          const job::DiagnoseSettings& settings, const Pen& pen, const Io& io, const report::Style& style);

}  // namespace wheeltapper::cli
