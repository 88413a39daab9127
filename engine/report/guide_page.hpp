#pragma once
#include <string>

#include "engine/guide/position.hpp"
#include "engine/report/page.hpp"

namespace wheeltapper::report {

/// What is asked, with all that must be read before it is done: hazards, cautions, steps; choices with their numbers.
std::string prompt_text(const guide::Position& position, const guide::Prompt& prompt, const Style& style);
/// How an answer moved the causes and why: the first few before and after, and what the new evidence weighs.
/// Verdicts and the comparison with the runs before a repair where they are new. Empty if nothing changed.
std::string moved_text(const guide::Position& before, const guide::Position& after, const Style& style);
/// Why this is asked or advised, what it may bring, how sure the ranking is.
std::string why_text(const guide::Position& position, const guide::Prompt& prompt, const Style& style);
/// The hazards that stand; empty if none does.
std::string stop_text(const guide::Position& position, const Style& style);
/// What speaks against the way in which a job was closed: hazards that stand, runs outside, no retest.
std::vector<std::string> closing_doubts(const guide::Position& position);
/// Where a job stands, in some lines.
std::string standing_text(const guide::Position& position, const Style& style);

/// "3f2a91bc": what a job is called.
std::string short_id(const std::string& job);

}  // namespace wheeltapper::report
