#pragma once
#include <string>

#include "cli/command.hpp"

namespace wheeltapper::cli {

/// The option --family.
boost::program_options::options_description family_options();

/// The family that --family names; without it a person at a terminal is asked, as what a locomotive is must be said.
/// \throws UsageError  where there is no knowledge for what was named or chosen, and where nobody can be asked
std::string family_of(const Parsed& parsed, const Io& io, const catalogue::Catalogue& catalogue);

}  // namespace wheeltapper::cli
