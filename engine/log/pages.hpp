#pragma once
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace wheeltapper::log {

/// Reads the records that look like entries out of the bytes of a damaged SQLite file, page by page, whatever the pages
/// above say of them: an index page (leaf or interior) of a table WITHOUT ROWID holds whole rows. By "Database File
/// Format" of sqlite.org, sections 1.5 to 1.6, 2 and 4.2.
/// \param file  the bytes of the database file; may be cut short or hold anything
/// \param wal   those of its write-ahead log, empty if there is none: the last frame of a page that bears the salt of
///              the log's head takes the page's place
/// \param use   is handed the columns as text, NULL as an empty one; numbers as they are written in decimal
void for_each_record(std::string_view file, std::string_view wal,
                     const std::function<void(const std::vector<std::string>&)>& use);

}  // namespace wheeltapper::log
