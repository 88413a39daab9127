#pragma once
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/app/event_writer.hpp"
#include "engine/app/screen.hpp"
#include "engine/cases/diagnose.hpp"
#include "engine/job/store.hpp"

namespace wheeltapper::app {

/// A bench at which one job at a time is worked on. Every face stands on it: a terminal, single commands, a page. It is
/// handed its clock, its source of ids and its store, reads no file and no environment, and keeps nothing that the
/// store does not have but what the person has before them: only what was seen can be answered.
///
/// A line that can't be taken comes back as Screen::refused, and nothing is written.
/// \throws input::BadInput  from open(), take_up() and look(), for a job that can't be read; what the store throws
class Desk {
 public:
  Desk(std::shared_ptr<const catalogue::Catalogue> catalogue, job::Store& store, World world,
       const cases::DiagnoseSettings& settings = {});

  /// Begins a job. \param opening  as job::opening_events() makes them of a case file, or of a family alone
  Screen open(std::vector<job::Draft> opening);
  Screen open(const std::string& family);
  /// Goes on with one.
  Screen take_up(const std::string& job);
  /// Where it stands, as the store has it by now.
  Screen look();

  /// A line that a person says to what is asked: an answer, or one of the words back, close, why, help, stop,
  /// "note WORDS", hazard.
  Screen say(std::string_view line);
  /// Takes the last answer back.
  Screen back();
  Screen note(std::string_view text);
  /// Hazards, whatever is asked, also to a job that is closed, which is opened again; without any the list is asked.
  Screen hazard(const std::vector<std::string>& findings = {});
  /// \param causes  ids of what it was
  Screen close(job::Outcome outcome, const std::vector<std::string>& causes = {});
  /// Any events. To a closed job only what may be written to one.
  Screen enter(std::vector<job::Draft> drafts);
  /// Takes the last answer of a job back without reading the job, so that it works for one that can't be read. Returns
  /// why it was not done; empty if it was.
  std::string take_back(const std::string& job);

 private:
  Screen screen(Heard heard = Heard::nothing) const;
  Screen refuse(std::string why) const;
  Screen refuse(const std::vector<input::Problem>& problems) const;
  std::optional<Screen> refused_as_closed(const std::vector<job::Event>& all, const std::vector<job::Draft>& drafts);
  void append(const std::vector<job::Event>& all, std::vector<job::Draft> drafts);
  Screen write(std::vector<job::Draft> drafts, Heard heard);
  void stand(guide::Position position);
  std::optional<Visits> visits();
  guide::Position position_of(const std::vector<job::Event>& events) const;

  std::shared_ptr<const catalogue::Catalogue> catalogue_;
  job::Store& store_;
  World world_;
  cases::DiagnoseSettings settings_;
  std::string job_;
  std::vector<job::Event> shown_;  // what the person has before them
  std::shared_ptr<const guide::Position> at_;
  bool closing_ = false;  // how it ends is being asked
};

}  // namespace wheeltapper::app
