#include "engine/log/trouble.hpp"

#include <SQLiteCpp/Exception.h>
#include <fmt/format.h>
#include <sqlite3.h>

namespace wheeltapper::log {

LogError trouble(const std::string& path, const SQLite::Exception& wrong) {
  const auto say = [&](std::string_view what) { return LogError(fmt::format("{}: {}", path, what)); };
  switch (wrong.getErrorCode()) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return say("another program keeps the log locked; nothing was written. Close it there, or try again");
    case SQLITE_FULL:
      return say("the disk is full; nothing of this was written, all before it is safe. Make room and try again");
    case SQLITE_READONLY:
      return say(
          "the log or its folder can't be written; nothing was written. Give yourself the right to write there, or "
          "name another file with --log");
    case SQLITE_CANTOPEN:
      return say(
          "the log can't be opened or made there. Look at the folder and its rights, or name another file with "
          "--log");
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return say(
          "permission to use the log was denied. Look at the permissions of the file, or name another one with --log");
    case SQLITE_CORRUPT:
      return say(
          "the log is damaged; it was not touched. Put it aside and go back to a backup, or take out what can be read "
          "with: wheeltapper log salvage NEW");
    case SQLITE_NOTADB:
      return say(
          "this is no log of Wheeltapper, or it is damaged at its start; it was not touched. If it was one: "
          "wheeltapper log salvage NEW");
    case SQLITE_IOERR:
      return say("the disk did not read or write as it should; nothing of this was written, all before it is safe");
    default:
      return say(fmt::format("the log can't be used: {} (SQLite {})", wrong.what(), wrong.getExtendedErrorCode()));
  }
}

LogError damaged(const std::string& path, const std::string& what, const std::string& therefore) {
  return LogError(
      fmt::format("{}: the log is damaged: {}; {}. `wheeltapper log check` says all, `wheeltapper log salvage NEW` "
                  "takes what can be read into a new one",
                  path, what, therefore));
}

}  // namespace wheeltapper::log
