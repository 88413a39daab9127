#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <optional>
#include <string>
#include <vector>

// Private to the implementation: the digests that show damage. An entry has one over all that its row says; a job has
// one that runs over those of its entries in their order; the log has one over all its jobs and second forms. So an
// entry that was changed, an entry that is gone, the last ones too, and a job that is gone are all found.
// They find damage, not malice: whoever can write the file can write the digests as well.

namespace wheeltapper::log {

/// What of a row of `event` the digest runs over, as text; in the order of the columns, without the digest itself.
inline constexpr const char* kEventColumns = "job, number, id, at, bench, kind, body, scrubbed, seen";

/// The digest of an entry from a row that begins with kEventColumns.
std::string row_digest(SQLite::Statement& row);
/// The same from the texts themselves; `seen` is empty where there is none.
std::string entry_digest(const std::vector<std::string>& columns);
/// A text's digest: RFC 9562 version 5.
std::string digest_of(const std::string& text);

/// A job's digest with one more entry.
std::string chained(const std::string& so_far, const std::string& entry);

/// The exclusive or of two digests in hexadecimal, which forgets the order; empty counts as nought.
std::string mixed(const std::string& a, const std::string& b);

/// What a job adds to the digest of the log; and a second form.
std::string share_of_job(const std::string& job, const std::string& digest);
std::string share_of_form(const std::string& line);

/// Makes a job's digest anew from the digests of its entries, and the log's with it.
void seal(SQLite::Database& database, const std::string& job);
/// Takes a second form into the digest of the log, or out of it: the same either way.
void mix_form(SQLite::Database& database, const std::string& line);

/// What is wrong with a job's entries and its digest; a sentence for each entry, without end after some. Empty: sound.
std::vector<std::string> broken_links(SQLite::Database& database, const std::string& job);
/// What is wrong with the digest of the log, read from those of its jobs.
std::optional<std::string> broken_whole(SQLite::Database& database);

/// After a migration from a form without digests: makes them all.
void seal_all(SQLite::Database& database);

}  // namespace wheeltapper::log
