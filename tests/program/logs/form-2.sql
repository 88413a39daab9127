PRAGMA application_id = 1466455152;
PRAGMA user_version = 2;
BEGIN TRANSACTION;
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
CREATE TABLE conflict (
  event TEXT NOT NULL,
  line TEXT NOT NULL,
  PRIMARY KEY (event, line)
) STRICT, WITHOUT ROWID;
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
CREATE TABLE closed_cause (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  cause TEXT NOT NULL,
  PRIMARY KEY (job, cause)
) STRICT, WITHOUT ROWID;
CREATE TABLE closed_context (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  context TEXT NOT NULL,
  told INTEGER NOT NULL CHECK (told IN (0, 1)),
  PRIMARY KEY (job, context)
) STRICT, WITHOUT ROWID;
CREATE TABLE closed_finding (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  finding TEXT NOT NULL,
  level INTEGER,  -- 0 no; empty: yes, without saying how much
  seen_by TEXT NOT NULL CHECK (seen_by IN ('answer', 'reading', 'check')),
  PRIMARY KEY (job, finding)
) STRICT, WITHOUT ROWID;
CREATE TABLE closed_fix (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  place INTEGER NOT NULL,  -- 1: the first repair of the job
  repair TEXT NOT NULL,
  minutes REAL,
  retest TEXT NOT NULL CHECK (retest IN ('open', 'passed', 'failed')),
  PRIMARY KEY (job, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE closed_result (
  job TEXT NOT NULL REFERENCES closed_job (job) ON DELETE CASCADE,
  "check" TEXT NOT NULL,
  result TEXT NOT NULL,
  seen INTEGER NOT NULL CHECK (seen IN (0, 1)),
  PRIMARY KEY (job, "check", result)
) STRICT, WITHOUT ROWID;
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
INSERT INTO "job" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30');
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',1,'73625cca-e145-4c2e-970d-a39e6ac4de8f','2026-11-28T15:44:16.890Z','bench one','opened','{"complaint":"It has stood on the shelf for a few years. Draws too much, gets hot, and in reverse it is slower still.","limits":[{"at-most":"2.0 A","cars":4,"loop":"140 in","quantity":"amps","rail-volts":"12 V","run":"loaded"},{"at-least":"9 /min","cars":4,"loop":"140 in","quantity":"lap-rate","rail-volts":"12 V","run":"loaded"}],"locomotive":{"family":"ac-series","name":"Fernhill No. 3"},"rig":{"loop":"140 in","meters":{"amps":{"counts":3,"percent-of-reading":1.0,"step":0.01,"unit":"A"},"post-volts":{"counts":2,"percent-of-reading":0.5,"step":0.01,"unit":"V"},"rail-volts":{"counts":2,"percent-of-reading":0.5,"step":0.01,"unit":"V"}},"name":"Ashcombe Loop, bench two"},"title":"Over on amps, slow both ways, hot and squealing"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',2,'92a705ec-46cf-48ff-a78f-6bbe964aa312','2026-11-28T15:44:16.890Z','bench one','run','{"cars":4,"direction":"forward","kind":"loaded","laps":5,"readings":{"amps":"2.40 A","motor-temperature":"68 C","rail-volts":"12.0 V"},"time":"35.3 s"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',3,'2fc56d7a-7d06-4ce5-8930-95d38de22e83','2026-11-28T15:44:16.890Z','bench one','run','{"cars":4,"direction":"reverse","kind":"loaded","laps":5,"readings":{"amps":"2.45 A","rail-volts":"12.0 V"},"time":"37.5 s"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',4,'d5129827-65f5-4083-98d5-337115a9a500','2026-11-28T15:44:16.890Z','bench one','answers','{"coasts-short":"yes","draw-rises-as-warms":"yes","grease-hard-seen":"no","lamp-dim":"no","lint-seen":"no","sparks-at-brushes":"no","squeal":"yes"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',5,'541ccf4a-a80e-45e0-8e24-03a0349d5822','2026-11-28T15:44:16.890Z','bench one','known','{"adj-just-oiled":false,"adj-stored-5-years":false}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',6,'765a53e7-6bfb-4a26-ab3e-f618d855d408','2026-11-28T15:44:16.890Z','bench one','owner','{"name":"A. Fern"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',7,'829be9d1-9f16-4f8f-ac4a-4726f5bd1496','2026-11-28T15:44:16.898Z','bench one','answers','{"breaker-trips":"no","breaker-trips-on-curve":"no","burning-smell":"no","cord-damaged-seen":"no","drive-locked-by-hand":"no","fibre-seen":"no","hot-leads-or-terminals":"no","house-breaker-opens":"no","hums-no-move-high-amps":"no","post-turns-in-case":"no","shock-or-tingle":"no","smell-or-smoke-anywhere":"no","smoke-from-motor":"no","supply-smells-or-smokes":"no","trips-one-way-only":"no","trips-with-no-loco":"no","water-in-supply":"no"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',8,'475b842d-7986-4b8f-ba9b-2a61c9b6516f','2026-11-28T15:44:16.898Z','bench one','marked','{"key":"hazards","word":"asked"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',9,'6afd5844-4829-4648-aa48-2a7d16fbfa4e','2026-11-28T15:44:16.906Z','bench one','repaired','{"by":"technician","minutes":20.0,"repair":"repair-oil-bearings"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',10,'2594f1ed-e9da-44a6-ae46-08a693704493','2026-11-28T15:44:16.911Z','bench one','marked','{"key":"runs","word":"yes"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',11,'2ecaf91b-6709-4780-a140-2e7f26ca3462','2026-11-28T15:44:16.916Z','bench one','reading','{"cars":4,"direction":"forward","kind":"loaded","quantity":"amps","value":"1.7 A"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',12,'b363b0d4-14e6-4a36-931b-509e4e3a7f86','2026-11-28T15:44:16.921Z','bench one','reading','{"cars":4,"direction":"forward","kind":"loaded","laps":5,"time":"30.2 s"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',13,'0d30752b-f8c5-4644-b65d-09308bd4b356','2026-11-28T15:44:16.925Z','bench one','reading','{"cars":4,"direction":"reverse","kind":"loaded","quantity":"amps","value":"1.72 A"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',14,'6ee700c6-3338-4258-960e-c009f02a1bf9','2026-11-28T15:44:16.930Z','bench one','reading','{"cars":4,"direction":"reverse","kind":"loaded","laps":5,"time":"30.5 s"}',0);
INSERT INTO "event" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',15,'90b4e27b-1e96-4005-8209-3b32a63dc094','2026-11-28T15:44:16.941Z','bench one','closed','{"causes":["bearing-dry"],"outcome":"cured"}',0);
INSERT INTO "closed_job" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','Fernhill No. 3','ac-series','2026-11-28T15:44:16.890Z','2026-11-28T15:44:16.941Z','cured',1,0,0,20.0);
INSERT INTO "closed_cause" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','bearing-dry');
INSERT INTO "closed_context" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','adj-just-oiled',0);
INSERT INTO "closed_context" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','adj-stored-5-years',0);
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','amps-differ-fwd-rev',0,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','breaker-trips',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','breaker-trips-on-curve',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','burning-smell',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','coasts-short',1,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','cord-damaged-seen',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','direction-drag',0,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','does-not-move',0,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','draw-rises-as-warms',1,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','drive-locked-by-hand',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','fibre-seen',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','fwd-rev-asymmetry',0,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','grease-hard-seen',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','high-draw-loaded',2,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','hot-leads-or-terminals',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','hot-motor',1,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','house-breaker-opens',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','hums-no-move-high-amps',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','lamp-dim',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','lint-seen',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','one-direction-only',0,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','post-turns-in-case',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','shock-or-tingle',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','slow-reverse',2,'reading');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','smell-or-smoke-anywhere',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','smoke-from-motor',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','sparks-at-brushes',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','squeal',1,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','supply-smells-or-smokes',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','trips-one-way-only',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','trips-with-no-loco',0,'answer');
INSERT INTO "closed_finding" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30','water-in-supply',0,'answer');
INSERT INTO "closed_fix" VALUES('6fe71da4-e63a-4404-af44-ca6ea0fffa30',1,'repair-oil-bearings',20.0,'passed');
INSERT INTO "learned" VALUES('prior','ac-series','bearing-dry',1,0.05,6.0,90.0,12.0);
INSERT INTO "learned_from" VALUES(1,'2026-11-20T10:00:00.000Z','00000000-0000-5000-8000-000000000000',12,'{}');
CREATE INDEX closed_job_locomotive ON closed_job (locomotive, opened);
CREATE INDEX closed_job_closed ON closed_job (closed);
CREATE INDEX closed_finding_finding ON closed_finding (finding);
CREATE INDEX closed_cause_cause ON closed_cause (cause);
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
COMMIT;
