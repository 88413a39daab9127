#include "engine/log/schema.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <array>
#include <map>
#include <utility>

#include "engine/log/chain.hpp"

namespace wheeltapper::log {
namespace {

// STRICT tables hold what their columns say. The event table is a B-tree by job, so that a job lies together.
constexpr std::string_view kFirst = R"sql(
CREATE TABLE job (
  id TEXT NOT NULL PRIMARY KEY
) STRICT, WITHOUT ROWID;

CREATE TABLE event (
  job TEXT NOT NULL REFERENCES job (id),
  number INTEGER NOT NULL CHECK (number > 0),
  id TEXT NOT NULL UNIQUE,
  at TEXT NOT NULL,
  bench TEXT NOT NULL,
  kind TEXT NOT NULL,
  body TEXT NOT NULL CHECK (json_valid (body)),
  scrubbed INTEGER NOT NULL DEFAULT 0 CHECK (scrubbed IN (0, 1)),
  PRIMARY KEY (job, number, id)
) STRICT, WITHOUT ROWID;

-- second forms of an event that is there already in another form
CREATE TABLE conflict (
  event TEXT NOT NULL,
  line TEXT NOT NULL,
  PRIMARY KEY (event, line)
) STRICT, WITHOUT ROWID;

-- what follows from the events of the jobs that are closed
CREATE TABLE closed_job (
  job TEXT NOT NULL PRIMARY KEY REFERENCES job (id),
  locomotive TEXT NOT NULL,
  family TEXT NOT NULL,
  opened TEXT NOT NULL,
  closed TEXT NOT NULL,
  outcome TEXT NOT NULL,
  proven INTEGER NOT NULL,    -- 1: cured, and a retest shows it
  unlisted INTEGER NOT NULL,  -- 1: it was something that is not in the knowledge
  technician INTEGER NOT NULL,
  minutes REAL
) STRICT, WITHOUT ROWID;
CREATE INDEX closed_job_locomotive ON closed_job (locomotive, opened);
CREATE INDEX closed_job_closed ON closed_job (closed);

CREATE TABLE closed_finding (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  finding TEXT NOT NULL,
  level INTEGER,  -- 0 no; empty: yes, without saying how much
  seen_by TEXT NOT NULL CHECK (seen_by IN ('answer', 'reading', 'check')),
  PRIMARY KEY (job, finding)
) STRICT, WITHOUT ROWID;
CREATE INDEX closed_finding_finding ON closed_finding (finding);

CREATE TABLE closed_result (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  "check" TEXT NOT NULL,
  result TEXT NOT NULL,
  seen INTEGER NOT NULL CHECK (seen IN (0, 1)),
  PRIMARY KEY (job, "check", result)
) STRICT, WITHOUT ROWID;

CREATE TABLE closed_fix (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  place INTEGER NOT NULL,  -- 1: the first repair of the job
  repair TEXT NOT NULL,
  minutes REAL,
  retest TEXT NOT NULL CHECK (retest IN ('open', 'passed', 'failed')),
  PRIMARY KEY (job, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE closed_cause (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  cause TEXT NOT NULL,
  PRIMARY KEY (job, cause)
) STRICT, WITHOUT ROWID;
CREATE INDEX closed_cause_cause ON closed_cause (cause);

CREATE TABLE closed_context (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  context TEXT NOT NULL,
  told INTEGER NOT NULL CHECK (told IN (0, 1)),
  PRIMARY KEY (job, context)
) STRICT, WITHOUT ROWID;
)sql";

constexpr std::string_view kSecond = R"sql(
-- what was learned from closed jobs: a beta distribution for each number of the knowledge that they say something of
CREATE TABLE learned (
  kind TEXT NOT NULL,
  first TEXT NOT NULL,
  second TEXT NOT NULL,
  level INTEGER NOT NULL,
  shipped REAL NOT NULL,
  yes REAL NOT NULL CHECK (yes >= 0),
  no REAL NOT NULL CHECK (no >= 0),
  trials REAL NOT NULL CHECK (trials >= 0),
  PRIMARY KEY (kind, first, second, level)
) STRICT, WITHOUT ROWID;
CREATE TABLE learned_from (
  one INTEGER NOT NULL PRIMARY KEY CHECK (one = 1),
  at TEXT NOT NULL,
  knowledge TEXT NOT NULL,  -- fingerprint of the knowledge that it goes on from
  jobs INTEGER NOT NULL,
  report TEXT NOT NULL CHECK (json_valid (report))
) STRICT;

-- the names of open jobs, for the cure table
CREATE INDEX event_head ON event (job) WHERE kind IN ('opened', 'told');

CREATE VIEW jobs AS
  SELECT job, locomotive, family, opened, closed, outcome, proven, minutes,
    round(julianday(closed) - julianday(opened), 2) AS days
  FROM closed_job;

CREATE VIEW open_jobs AS
  SELECT event.job AS job, min(event.at) AS opened, max(event.at) AS last, count(*) AS events
  FROM event LEFT JOIN closed_job ON closed_job.job = event.job
  WHERE closed_job.job IS NULL GROUP BY event.job;

CREATE VIEW fixes AS
  SELECT closed_fix.job AS job, place, repair, closed_fix.minutes AS minutes, retest, locomotive, closed, outcome, proven
  FROM closed_fix JOIN closed_job USING (job);

CREATE VIEW fixes_by_finding AS
  SELECT finding, repair, count(*) AS done, sum(retest <> 'open') AS tried, sum(retest = 'passed') AS cured
  FROM closed_finding JOIN closed_fix USING (job)
  WHERE level IS NULL OR level > 0 GROUP BY finding, repair;

CREATE VIEW fixes_by_cause AS
  SELECT cause, repair, count(*) AS done, sum(retest <> 'open') AS tried, sum(retest = 'passed') AS cured
  FROM closed_cause JOIN closed_fix USING (job) GROUP BY cause, repair;

CREATE VIEW readings AS
  SELECT job, number, at, json_extract(body, '$.kind') AS run, json_extract(body, '$.direction') AS direction,
    json_extract(body, '$.quantity') AS quantity, json_extract(body, '$.value') AS value
  FROM event WHERE kind = 'reading' AND json_extract(body, '$.quantity') IS NOT NULL
    AND id NOT IN (SELECT coalesce(json_extract(body, '$.event'), '') FROM event WHERE kind = 'undone')
  UNION ALL
  SELECT job, number, at, json_extract(body, '$.kind'), json_extract(body, '$.direction'), each.key, each.value
  FROM event, json_each(event.body, '$.readings') AS each
  WHERE event.kind = 'run' AND event.id NOT IN (SELECT coalesce(json_extract(body, '$.event'), '') FROM event WHERE kind = 'undone');
)sql";

constexpr std::string_view kThird = R"sql(
ALTER TABLE event ADD COLUMN seen TEXT;  -- what its writer had before them, as JSON; nothing in entries of older forms
ALTER TABLE event ADD COLUMN digest TEXT NOT NULL DEFAULT '';
ALTER TABLE job ADD COLUMN digest TEXT NOT NULL DEFAULT '';
ALTER TABLE conflict ADD COLUMN digest TEXT NOT NULL DEFAULT '';
ALTER TABLE learned_from ADD COLUMN digest TEXT NOT NULL DEFAULT '';

CREATE TABLE state (
  one INTEGER NOT NULL PRIMARY KEY CHECK (one = 1),
  digest TEXT NOT NULL,     -- over all jobs and second forms
  unwiped INTEGER NOT NULL  -- 1: a person was taken out, and free pages may still hold the name
) STRICT;
INSERT INTO state VALUES (1, '', 0);

CREATE INDEX event_redacted ON event (id) WHERE kind = 'redacted';

-- without the log's own job, which holds only who was taken out
DROP VIEW open_jobs;
CREATE VIEW open_jobs AS
  SELECT event.job AS job, min(event.at) AS opened, max(event.at) AS last, count(*) AS events
  FROM event LEFT JOIN closed_job ON closed_job.job = event.job
  WHERE closed_job.job IS NULL AND event.job <> '00000000-0000-0000-0000-000000000000' GROUP BY event.job;
)sql";

constexpr std::array kMigrations{kFirst, kSecond, kThird};
static_assert(kMigrations.size() == kVersion);

}  // namespace

std::string_view migration(int from) { return kMigrations.at(static_cast<std::size_t>(from)); }

namespace {

using Parts = std::map<std::string, std::pair<std::string, std::string>>;  // name -> type, SQL

Parts parts_of(SQLite::Database& database) {
  Parts parts;
  SQLite::Statement rows(database, "SELECT name, type, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'");
  while (rows.executeStep())
    parts[rows.getColumn(0).getString()] = {rows.getColumn(1).getString(), rows.getColumn(2).getString()};
  return parts;
}

std::string digest_of(const Parts& parts) {
  std::string text;
  for (const auto& [name, part] : parts) text += name + '\0' + part.first + '\0' + part.second + '\0';
  return log::digest_of(text);
}

const Parts& parts_of_a_new_log() {
  static const Parts parts = [] {
    SQLite::Database database(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    for (const std::string_view each : kMigrations) database.exec(std::string(each));
    return parts_of(database);
  }();
  return parts;
}

}  // namespace

std::string digest_of_parts(SQLite::Database& database) { return digest_of(parts_of(database)); }

std::vector<std::string> odd_parts(SQLite::Database& database) {
  const Parts here = parts_of(database);
  if (digest_of(here) == kDigestOfParts) return {};
  std::vector<std::string> odd;
  for (const auto& [name, part] : parts_of_a_new_log()) {
    const auto found = here.find(name);
    if (found == here.end())
      odd.push_back(fmt::format("the {} \"{}\" is missing", part.first, name));
    else if (found->second != part)
      odd.push_back(fmt::format("\"{}\" is not the {} that it should be", name, part.first));
  }
  for (const auto& [name, part] : here)
    if (part.first == "trigger") odd.push_back(fmt::format("there is a trigger \"{}\" that is not ours", name));
  return odd;
}

}  // namespace wheeltapper::log
