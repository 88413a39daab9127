#pragma once
#include <string>

#include "engine/log/log.hpp"

namespace SQLite {
class Exception;
}

namespace wheeltapper::log {

/// What SQLite says, as one sentence for the person at the bench: the file, what is wrong, the mend.
LogError trouble(const std::string& path, const SQLite::Exception& wrong);

/// A log in which something is not as it was written: `what` is wrong, `therefore` is what was left undone.
LogError damaged(const std::string& path, const std::string& what,
                 const std::string& therefore = "nothing was written");

}  // namespace wheeltapper::log
