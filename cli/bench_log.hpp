#pragma once
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "engine/guide/position.hpp"
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

/// For looking only: a log that can't be written can still be read. One of an older form is brought up to date.
std::unique_ptr<log::Log> open_to_read(const Parsed& parsed, const Io& io,
                                       std::shared_ptr<const catalogue::Catalogue> catalogue);

/// Writes events with new UUIDs, the time now and the bench's name.
class Pen {
 public:
  explicit Pen(const Parsed& parsed);
  /// One answer: all at one moment, each after the one before it, the first after what was seen.
  std::vector<job::Event> events(const std::string& job, std::vector<job::Draft> drafts, const job::Seen& seen) const;
  const std::string& bench() const noexcept { return bench_; }
  static std::string new_uuid();
  static std::string now();

 private:
  std::string bench_;
};

/// A job's events with drafts behind them, numbered as the log will number them: to see whether it can be read so.
std::vector<job::Event> with_drafts(std::vector<job::Event> events, const std::vector<job::Event>& drafts);

/// Events to be written, and where the job stands with them.
struct Prepared {
  std::vector<job::Event> events;
  guide::Position position;
};
/// Makes events of drafts. Hazards that a reading among them shows are added as answers (guide::hazards_read()).
/// \param shown  the events that the person had before them when they answered
/// \param all    those that the log has by now
/// \throws as guide::position_of(), before anything is written
Prepared prepare(const Pen& pen, std::shared_ptr<const catalogue::Catalogue> catalogue,
                 const cases::DiagnoseSettings& settings, const std::string& job, const std::vector<job::Event>& shown,
                 const std::vector<job::Event>& all, std::vector<job::Draft> drafts);

/// Why these events are not taken back here: among them is a hazard that another bench told. Nothing if they may be.
std::optional<std::string> hazard_of_others(const std::vector<job::Event>& events, const std::vector<std::string>& ids,
                                            const std::string& bench, const catalogue::Catalogue& catalogue);

/// The job that a word means: the start of its id, at least four letters; "last", the one touched last; "open", the
/// only one open. \throws UsageError  if there is none or more than one
std::string find_job(log::Log& log, const std::string& word);

/// Leads through a job until it is closed, or the answers end. Returns the exit code.
int guide(log::Log& log, const std::string& job, std::shared_ptr<const catalogue::Catalogue> catalogue,
          const cases::DiagnoseSettings& settings, const Pen& pen, const Io& io, const report::Style& style);

}  // namespace wheeltapper::cli
