#pragma once
#include <string>

#include "engine/belief/belief.hpp"
#include "engine/plan/advice.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// The hazards that are not cleared, what they withhold and until when.
void put_gates(Page& page, const catalogue::Catalogue& catalogue, const plan::Advice& advice);
/// The same in a line each, to stand above what is asked.
void put_gates_in_short(Page& page, const plan::Advice& advice);
/// The next step: cautions ahead of its steps, and how a sound one looks. `whole`: the cautions with all their
/// sentences.
void put_step(Page& page, const catalogue::Catalogue& catalogue, const plan::Advice& advice, bool whole);
/// The same with what it may show or cure.
void put_next(Page& page, const catalogue::Catalogue& catalogue, const plan::Advice& advice);
/// "for: squeal +8, hot housing +3; against: ...", in decibans.
std::string speaking(const belief::Belief& belief, std::size_t cause, bool all, bool numbers);
/// One piece of evidence by name; `numbers`: with what it weighs, in decibans.
std::string evidence_named(const belief::Item& item, double decibans, bool numbers);

}  // namespace wheeltapper::report
