#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "engine/cases/case.hpp"
#include "engine/job/job.hpp"

namespace wheeltapper::job {

/// The case as it stands in one stage. Runs are those of the stage. What an earlier stage saw to be there is left out
/// if a repair since treats a cause that shows in it; else it stays as it was, and what was not there stays. All that
/// earlier stages saw is in observations.past and Case::past, with the repairs that ended them; the trouble is taken to
/// be there still, before the retest too. A hazard (a finding that fires a rule) stands
/// until somebody says no to it or a check looks and does not see it, and checks that clear it count only if they were
/// done after it was last seen. Ids that the catalogue does not have are left out. \throws input::BadInput  as
/// read_case()
cases::Case case_of(const Job& job, std::size_t stage, const catalogue::Catalogue& catalogue);
/// In its last stage.
cases::Case case_of(const Job& job, const catalogue::Catalogue& catalogue);

/// A case file as the bodies of the events that open a job with it; series files beside it are taken in.
/// \param text, file, beside  as cases::read_case()
/// \throws input::BadInput  if it is no case
std::vector<Draft> opening_events(std::string_view text, const std::string& file, const catalogue::Catalogue& catalogue,
                                  const input::Beside& beside = {});

/// What may be asked again after a repair: hazards that stand, then what else was there that a repair can have changed.
std::vector<std::string> ask_again(const Job& job, const catalogue::Catalogue& catalogue);

/// How a stage's retest went: passed, failed, or not known. With limits: passed when every limit was held against a run
/// and all are within, failed when one is outside. Without any, or where the runs leave it open: as it was said by eye.
Retest retest_of(const Job& job, std::size_t stage, const catalogue::Catalogue& catalogue);

}  // namespace wheeltapper::job
