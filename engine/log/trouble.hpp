#pragma once
#include <string>

#include "engine/log/log.hpp"

namespace SQLite {
class Exception;
}

namespace wheeltapper::log {

/// What SQLite says, as one sentence for the person at the bench: the file, what is wrong, the mend.
LogError trouble(const std::string& path, const SQLite::Exception& wrong);

}  // namespace wheeltapper::log
