#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace SQLite {
class Database;
}

namespace wheeltapper::log {

/// Marks the file as one of ours in SQLite's header: "WhTp".
inline constexpr int kApplicationId = 0x57685470;
inline constexpr int kVersion = 3;

/// The SQL that leads from version `from` to the next; `from` is at least 0 (an empty file) and below kVersion.
/// Versions that were released never change.
std::string_view migration(int from);

/// Over the tables, indexes and views of a log; of one that is as the migrations leave it, kDigestOfParts. That is
/// looked at first, as making such a log in memory costs more than all else that opening does.
std::string digest_of_parts(SQLite::Database& database);
inline constexpr std::string_view kDigestOfParts = "389339ea-29b1-5549-83a9-168b4b36c62a";

/// What is in a log's way of being used: tables, indexes and views that are not as the migrations leave them, triggers
/// that are not ours. A view or table of somebody's own beside ours is none. Empty: as it should be.
std::vector<std::string> odd_parts(SQLite::Database& database);

}  // namespace wheeltapper::log
