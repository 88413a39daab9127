#include "engine/log/chain.hpp"

#include <fmt/format.h>

#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid_io.hpp>

#include "engine/log/rows.hpp"

namespace wheeltapper::log {
namespace {

constexpr int kColumns = 9;
constexpr std::size_t kMostSaid = 20;

int nibble(char c) { return c >= 'a' && c <= 'f' ? c - 'a' + 10 : c >= '0' && c <= '9' ? c - '0' : 0; }

std::string hex_digits(const std::string& digest) {
  std::string digits;
  for (const char c : digest)
    if (c != '-') digits += c;
  digits.resize(32, '0');
  return digits;
}

std::string text_of(SQLite::Statement& row, int column) {
  return row.isColumnNull(column) ? std::string() : row.getColumn(column).getString();
}

std::string read_text(SQLite::Database& database, const char* sql, const std::string& key = {}) {
  SQLite::Statement statement(database, sql);
  if (!key.empty()) statement.bind(1, key);
  return statement.executeStep() ? text_of(statement, 0) : std::string();
}

std::string whole_digest(SQLite::Database& database) { return read_text(database, "SELECT digest FROM state"); }

void set_whole(SQLite::Database& database, const std::string& digest) {
  put(database, "UPDATE state SET digest = ?", digest);
}

std::string chain_of(SQLite::Database& database, const std::string& job) {
  SQLite::Statement rows(database, "SELECT digest FROM event WHERE job = ? ORDER BY number, id");
  rows.bind(1, job);
  std::string digest;
  while (rows.executeStep()) digest = chained(digest, text_of(rows, 0));
  return digest;
}

}  // namespace

std::string digest_of(const std::string& text) {
  return boost::uuids::to_string(boost::uuids::name_generator_sha1(boost::uuids::uuid{})(text));
}

std::string entry_digest(const std::vector<std::string>& columns) {
  std::string text;
  for (const std::string& each : columns)
    text += fmt::format("{}:", each.size()) + each;  // so that none runs into the next
  return digest_of(text);
}

std::string row_digest(SQLite::Statement& row) {
  std::vector<std::string> columns;
  for (int c = 0; c < kColumns; ++c) columns.push_back(text_of(row, c));
  return entry_digest(columns);
}

std::string chained(const std::string& so_far, const std::string& entry) { return digest_of(so_far + entry); }

std::string mixed(const std::string& a, const std::string& b) {
  const std::string x = hex_digits(a);
  const std::string y = hex_digits(b);
  std::string both;
  for (std::size_t i = 0; i < x.size(); ++i) both += "0123456789abcdef"[nibble(x[i]) ^ nibble(y[i])];
  return both;
}

std::string share_of_job(const std::string& job, const std::string& digest) { return digest_of(job + " " + digest); }
std::string share_of_form(const std::string& line) { return digest_of("form " + line); }

void seal(SQLite::Database& database, const std::string& job) {
  const std::string before = read_text(database, "SELECT digest FROM job WHERE id = ?", job);
  const std::string after = chain_of(database, job);
  std::string whole = whole_digest(database);
  if (!before.empty()) whole = mixed(whole, share_of_job(job, before));
  if (!after.empty()) whole = mixed(whole, share_of_job(job, after));
  put(database, "UPDATE job SET digest = ? WHERE id = ?", after, job);
  set_whole(database, whole);
}

void mix_form(SQLite::Database& database, const std::string& line) {
  set_whole(database, mixed(whole_digest(database), share_of_form(line)));
}

std::vector<std::string> broken_links(SQLite::Database& database, const std::string& job) {
  const std::string name = "job " + job.substr(0, 8);
  std::vector<std::string> broken;
  SQLite::Statement rows(database,
                         fmt::format("SELECT {}, digest FROM event WHERE job = ? ORDER BY number, id", kEventColumns));
  rows.bind(1, job);
  std::string digest;
  while (rows.executeStep()) {
    const std::string kept = text_of(rows, kColumns);
    if (row_digest(rows) != kept && broken.size() < kMostSaid)
      broken.push_back(fmt::format("{}: its entry {} (number {}) is not as it was written", name, text_of(rows, 2),
                                   text_of(rows, 1)));
    digest = chained(digest, kept);
  }
  if (broken.empty() && digest != read_text(database, "SELECT digest FROM job WHERE id = ?", job))
    broken.push_back(name + ": an entry is missing, or is there that was not written by this program");
  return broken;
}

std::optional<std::string> broken_whole(SQLite::Database& database) {
  std::string whole;
  SQLite::Statement jobs(database, "SELECT id, digest FROM job");
  while (jobs.executeStep())
    if (const std::string digest = text_of(jobs, 1); !digest.empty())
      whole = mixed(whole, share_of_job(text_of(jobs, 0), digest));
  SQLite::Statement forms(database, "SELECT line FROM conflict");
  while (forms.executeStep()) whole = mixed(whole, share_of_form(text_of(forms, 0)));
  const std::string kept = whole_digest(database);
  if (mixed(whole, {}) == mixed(kept, {})) return std::nullopt;
  return "a whole job or a second form is missing, or is there that was not written by this program";
}

void seal_all(SQLite::Database& database) {
  // By key, as rows must not change below a statement that reads them.
  std::vector<std::pair<std::string, std::string>> digests;
  {
    SQLite::Statement rows(database, fmt::format("SELECT {} FROM event", kEventColumns));
    while (rows.executeStep()) digests.emplace_back(text_of(rows, 2), row_digest(rows));
  }
  SQLite::Statement set(database, "UPDATE event SET digest = ? WHERE id = ?");
  for (const auto& [id, digest] : digests) {
    set.reset();
    set.bind(1, digest);
    set.bind(2, id);
    set.exec();
  }
  std::vector<std::string> jobs;
  {
    SQLite::Statement rows(database, "SELECT id FROM job");
    while (rows.executeStep()) jobs.push_back(text_of(rows, 0));
  }
  for (const std::string& job : jobs) seal(database, job);
  std::vector<std::string> forms;
  {
    SQLite::Statement rows(database, "SELECT line FROM conflict");
    while (rows.executeStep()) forms.push_back(text_of(rows, 0));
  }
  for (const std::string& line : forms) {
    put(database, "UPDATE conflict SET digest = ? WHERE line = ?", digest_of(line), line);
    mix_form(database, line);
  }
}

}  // namespace wheeltapper::log
