#pragma once
#include <string>

#include "cli/knowledge_in_use.hpp"
#include "engine/cases/diagnose.hpp"

namespace wheeltapper::cli {

/// The settings options of commands that diagnose: --sure, --skill, --dollar.
boost::program_options::options_description diagnose_options();
cases::DiagnoseSettings diagnose_settings(const Parsed& parsed);
/// Prints a diagnosis as text or JSON, as the options say, and whose numbers it goes by.
void print_diagnosis(const cases::Case& the_case, const cases::Diagnosis& diagnosis, const KnowledgeInUse& use,
                     const Parsed& parsed, const Io& io);
/// The one word that a command wants, or a UsageError.
std::string one_word(const Parsed& parsed, std::string_view what);

}  // namespace wheeltapper::cli
