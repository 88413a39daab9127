"""Attacks on the log through the real program: damage of every kind, hostile imports and databases, outputs aimed at the
log itself, and kills at any moment. Damage is said or does no harm; nothing acknowledged is lost; nothing hostile is
taken; no raw failure shows.

Run as: python3 log_attacks.py PROGRAM ROOT [--long] [--seed N] [--only PART,...]; parts are corruptions, imports,
databases, outputs and kills.
"""
import atexit
import json
import os
import random
import shutil
import sqlite3
import stat
import statistics
import subprocess
import sys
import tempfile
import time
import uuid

import common
from common import DEMO, PROGRAM, finish


def option(name, otherwise):
    return sys.argv[sys.argv.index(name) + 1] if name in sys.argv else otherwise


LONG = "--long" in sys.argv
SEED = int(option("--seed", "77"))
ONLY = option("--only", "corruptions,imports,databases,outputs,kills").split(",")
FOLDER = tempfile.mkdtemp(prefix="wheeltapper-")
os.chmod(FOLDER, 0o755)
atexit.register(shutil.rmtree, FOLDER, ignore_errors=True)
RAW = ("fault of the program", "std::", "terminate", "json.exception", "Traceback", "Sanitizer", "basic_string", "what():")
OWNER = "Tamsin Larkrise"


def check(holds, *what):
    """On one line, whatever the program said."""
    common.check(holds, *(" | ".join(each.split("\n")) if isinstance(each, str) else each for each in what))


def path(name):
    return os.path.join(FOLDER, name)


os.mkdir(path("tmp"))
ENV = dict(os.environ, XDG_DATA_HOME=path("data"), COLUMNS="80", TMPDIR=path("tmp"))


def run(*args, timeout=600, env=ENV, **more):
    """The exit code, what it said, and what it complained of; -1 and "hangs" for one that does not end."""
    more.setdefault("stdin", subprocess.DEVNULL)
    try:
        done = subprocess.run([PROGRAM, *args], capture_output=True, timeout=timeout, env=env, **more)
    except subprocess.TimeoutExpired:
        return -1, "", "hangs"
    return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


def civil(codes, code, out, err, *what):
    """One of these exit codes, and no raw text of a library; an unusable log or file is said in one line."""
    good = code in codes and not any(word in out + err for word in RAW) and (code not in (3, 6) or len(err.splitlines()) == 1)
    check(good, *what, "- exit", code, "wanted", codes, "said", out[:150], err[:300])
    return good


def fine(*args, **more):
    code, out, err = run(*args, **more)
    check(code == 0, *args, code, err[:300])
    return out.strip()


def bytes_of(name):
    with open(name, "rb") as file:
        return file.read()


def put(name, data):
    with open(name, "wb") as file:
        file.write(data)
    return name


def exported(log):
    code, out, err = run("log", "export", "--log", log)
    return out.splitlines() if code == 0 else None


def one_file(log):
    """Takes the journal into the file, so that the file alone is the log."""
    db = sqlite3.connect(log)
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    db.close()
    return bytes_of(log)


def line(entry):
    return json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


WORDS = ("Quillwort", "Gorsebell", "Marlpit", "Sedgewren", "Thornlea", "Wadebank", "Fescue", "Hollowmere", "Brackenby", "Osierholt",
         "Larchfold", "Teaselrig")


def build(log):
    """Twelve jobs: open and closed, with notes that have words of their own, readings, checks, a hazard, an owner, and an
    entry in two forms."""
    jobs = []
    for number, word in enumerate(WORDS):
        case = [os.path.join(DEMO, "dry-bearings.json")] if number % 3 == 0 else ["--family", "ac-series"]
        owner = ["--owner", OWNER] if number in (2, 3) else []
        job = fine("job", "new", *case, "--quiet", *owner, "--log", log)
        jobs.append(job)
        fine("job", "note", job, f"{word} the spring sits on no seat, number {number}", "--log", log)
        if number % 2 == 0:
            fine("job", "read", job, "amps=2.4A", "lap-rate=8.5", "--log", log)
        if number % 3 == 0:
            fine("job", "repair", job, "repair-oil-bearings", "--minutes", "20", "--log", log)
            fine("job", "retest", job, "passed", "--log", log)
            fine("job", "close", job, "cured", "bearing-dry", "--log", log)
        elif number % 3 == 1:
            fine("job", "answer", job, "squeal", "lamp-dim=no", "--log", log)
        if number == 8:
            fine("job", "close", job, "referred", "--log", log)
    fine("job", "answer", jobs[4], "shock-or-tingle", "--log", log)
    fine("job", "note", jobs[0], "long " + "pale marl " * 900, "--log", log)  # over several pages
    lines = exported(log)
    note = next(entry for entry in map(json.loads, lines[1:]) if entry["kind"] == "note" and "Osierholt" in entry["body"]["text"])
    second = path("second.jsonl")
    put(second, (lines[0] + "\n" + line(dict(note, body={"text": "Osierholt, a second form"})) + "\n").encode())
    fine("log", "import", second, "--log", log)


BASE = path("base.sqlite")
build(BASE)
WHOLE = one_file(BASE)
LINES = exported(BASE)
HEAD, ENTRIES = LINES[0], [json.loads(each) for each in LINES[1:]]
JOBS = sorted({entry["job"] for entry in ENTRIES})
HAZARD = next(entry for entry in ENTRIES if entry["kind"] == "answers" and entry["body"].get("shock-or-tingle") == "yes")
FORM = sqlite3.connect(BASE).execute("PRAGMA user_version").fetchone()[0]
COLUMNS = "job, number, id, at, bench, kind, body, scrubbed"


def raw_rows(db):
    db.text_factory = bytes
    return {bytes(row[2]): row for row in db.execute(f"SELECT {COLUMNS} FROM event")}


ROWS = raw_rows(sqlite3.connect(BASE))
FIRST_LINE = {}
for each_line, each_entry in zip(LINES[1:], ENTRIES):
    FIRST_LINE.setdefault(each_entry["id"], each_line)
SECOND_LINES = [row[0] for row in sqlite3.connect(BASE).execute("SELECT line FROM conflict")]
check(len(JOBS) == 12 and len(ROWS) > 40 and len(SECOND_LINES) == 1, "the log to attack", len(JOBS), len(ROWS), SECOND_LINES)
check(run("log", "check", "--log", BASE)[0] == 0, "the log to attack is sound")


# --- corruptions


def by_sql(*statements):
    """The log's bytes after these statements. Triggers stand aside meanwhile: the damage is what is said and no more."""
    work = put(path("sql.sqlite"), WHOLE)
    db = sqlite3.connect(work, isolation_level=None)
    triggers = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        db.execute(f'DROP TRIGGER "{name}"')
    db.execute("PRAGMA ignore_check_constraints = ON")
    changed = 0
    for statement in statements:
        sql, values = statement if isinstance(statement, tuple) else (statement, ())
        before = db.total_changes
        db.execute(sql, values)
        changed += db.total_changes - before + (not sql.startswith(("UPDATE", "DELETE", "INSERT")))
    assert changed, statements
    for _, sql in triggers:
        db.execute(sql)
    db.close()
    result = one_file(work)
    os.remove(work)
    return result


def page_size():
    size = int.from_bytes(WHOLE[16:18], "big")
    return 65536 if size == 1 else size


def free_bytes():
    """Where nothing lies: between the pointers and the cells of a B-tree page."""
    found, size = [], page_size()
    for page in range(len(WHOLE) // size):
        at = page * size
        head = at + (100 if page == 0 else 0)
        if WHOLE[head] not in (2, 5, 10, 13):
            continue
        cells = int.from_bytes(WHOLE[head + 3 : head + 5], "big")
        start = int.from_bytes(WHOLE[head + 5 : head + 7], "big") or 65536
        pointers = head + (12 if WHOLE[head] in (2, 5) else 8) + 2 * cells
        if at + start - pointers > 60 and not any(WHOLE[pointers : at + start]):
            found.extend(range(pointers + 8, at + start - 8))
    return found


def damage_by_bytes(chance):
    data, size = bytearray(WHOLE), page_size()
    pages = len(data) // size
    kind = chance.choice(("bit", "bit", "bit", "bytes", "bytes", "text", "text", "zeros", "garbage", "cut", "swap", "header"))
    at = chance.randrange(len(data))
    page = size * chance.randrange(pages)
    if kind == "bit":
        data[at] ^= 1 << chance.randrange(8)
    elif kind == "header":
        at = chance.randrange(100)
        data[at] ^= 1 << chance.randrange(8)
    elif kind == "bytes":
        for place in range(at, min(len(data), at + chance.randint(1, 16))):
            data[place] = chance.randrange(256)
    elif kind == "text":  # in what somebody wrote, where no B-tree notices it
        word = chance.choice(WORDS).encode()
        at = data.find(word) + chance.randrange(len(word))
        data[at] = chance.choice(b"aeioustr \xff\"\\0")
    elif kind == "zeros":
        at = page
        data[page : page + size] = bytes(size)
    elif kind == "garbage":
        at = page
        data[page : page + size] = chance.randbytes(size)
    elif kind == "cut":
        at = chance.choice((at, page, len(data) - size, len(data) - 1))
        del data[at:]
    else:
        at, other = page, size * chance.randrange(pages)
        data[at : at + size], data[other : other + size] = data[other : other + size], data[at : at + size]
    return f"{kind} at {at}", bytes(data)


def damage_by_sql(chance):
    """(what, the bytes, must be detected)"""
    def some(kind=None, job=None):
        return chance.choice([e for e in ENTRIES if FIRST_LINE[e["id"]] == line_of[id(e)] and (kind is None or e["kind"] == kind) and
                              (job is None or e["job"] == job)])
    line_of = {id(e): text for e, text in zip(ENTRIES, LINES[1:])}
    job = chance.choice(JOBS)
    in_job = sorted((e for e in ENTRIES if e["job"] == job), key=lambda e: e["number"])
    closed = sqlite3.connect(BASE).execute("SELECT job FROM closed_job ORDER BY job").fetchall()
    closed = chance.choice(closed)[0]
    fixed = chance.choice(sqlite3.connect(BASE).execute("SELECT job FROM closed_fix ORDER BY job").fetchall())[0]
    note, other, reading, event = some("note"), some("note"), some("reading"), some()
    while other["id"] == note["id"]:
        other = some("note")
    elsewhere = chance.choice([j for j in JOBS if j != event["job"]])
    forged = dict(note, id=str(uuid.UUID(int=chance.getrandbits(128), version=4)), number=note["number"] + 40)
    body_of = ("UPDATE event SET body = ? WHERE id = ?")
    def rewritten(entry, old, new):
        text = json.dumps(entry["body"], separators=(",", ":"), sort_keys=True, ensure_ascii=False)
        assert old in text, (old, text)
        return (body_of, (text.replace(old, new, 1), entry["id"]))
    yield "any entry deleted", by_sql(("DELETE FROM event WHERE id = ?", (event["id"],))), True
    yield "entry in the middle deleted", by_sql(("DELETE FROM event WHERE id = ?", (in_job[len(in_job) // 2]["id"],))), True
    yield "last entry deleted", by_sql(("DELETE FROM event WHERE id = ?", (in_job[-1]["id"],))), True
    yield "opening entry deleted", by_sql(("DELETE FROM event WHERE id = ?", (in_job[0]["id"],))), True
    tables = [row[0] for row in sqlite3.connect(BASE).execute(
        "SELECT name FROM sqlite_master AS t WHERE type = 'table' AND name NOT IN ('job', 'event') AND "
        "EXISTS (SELECT 1 FROM pragma_table_info(t.name) WHERE name = 'job') AND name LIKE 'closed%'")]
    yield "whole job deleted", by_sql(*(("DELETE FROM event WHERE job = ?", (job,)), ("DELETE FROM job WHERE id = ?", (job,))),
                                      *((f"DELETE FROM {table} WHERE job = ?", (job,)) for table in tables)), True
    yield "all entries of a job deleted", by_sql(("DELETE FROM event WHERE job = ?", (job,))), True
    yield "figure changed", by_sql(rewritten(reading, next(d for d in ("2.4", "8.5") if d in json.dumps(reading["body"])), "7.1")), True
    yield "word changed", by_sql(rewritten(note, "a", "o")), True
    yield "body emptied", by_sql((body_of, ("{}", note["id"]))), True
    yield "body no JSON", by_sql((body_of, ('{"text":', note["id"]))), True
    yield "body deep", by_sql((body_of, ('{"text":' + "[" * 900 + "]" * 900 + "}", note["id"]))), True
    yield "body a number", by_sql((body_of, ("7", note["id"]))), True
    yield "bodies swapped", by_sql((body_of, (json.dumps(note["body"]), other["id"])), (body_of, (json.dumps(other["body"]), note["id"]))), True
    yield "no time", by_sql(("UPDATE event SET at = 'last spring' WHERE id = ?", (event["id"],))), True
    yield "another time", by_sql(("UPDATE event SET at = '2019-01-02T03:04:05.006Z' WHERE id = ?", (event["id"],))), True
    yield "no UTF-8", by_sql(("UPDATE event SET body = CAST(x'7b2274657874223a22c328ff227d' AS TEXT) WHERE id = ?", (note["id"],))), True
    yield "unknown kind", by_sql(("UPDATE event SET kind = 'clozed' WHERE id = ?", (event["id"],))), True
    yield "another kind", by_sql(("UPDATE event SET kind = 'marked' WHERE id = ?", (note["id"],))), True
    yield "another bench", by_sql(("UPDATE event SET bench = 'Hollow bench' WHERE id = ?", (event["id"],))), True
    yield "bench of no UTF-8", by_sql(("UPDATE event SET bench = CAST(x'c328' AS TEXT) WHERE id = ?", (event["id"],))), True
    yield "another number", by_sql(("UPDATE event SET number = number + 30 WHERE id = ?", (event["id"],))), True
    yield "another job", by_sql(("UPDATE event SET job = ? WHERE id = ?", (elsewhere, event["id"]))), True
    yield "another id", by_sql(("UPDATE event SET id = ? WHERE id = ?", (forged["id"], event["id"]))), True
    yield "scrubbed", by_sql(("UPDATE event SET scrubbed = 1 WHERE id = ?", (note["id"],))), True
    yield "forged entry", by_sql((f"INSERT INTO event ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, 0)", (
        forged["job"], forged["number"], forged["id"], forged["at"], forged["bench"], "note", '{"text":"forged"}'))), True
    yield "second form deleted", by_sql("DELETE FROM conflict"), True
    yield "second form changed", by_sql("UPDATE conflict SET line = replace(line, 'second', 'third')"), True
    yield "second form garbage", by_sql("UPDATE conflict SET line = 'garbage'"), True
    yield "closed job's outcome", by_sql(("UPDATE closed_job SET outcome = 'scrapped' WHERE job = ?", (closed,))), True
    yield "closed job's row deleted", by_sql(("DELETE FROM closed_job WHERE job = ?", (closed,))), True
    for outcome in ("cured", "referred", "scrapped", "no-fault"):  # whatever a reader takes it for, some job differs from that
        if sqlite3.connect(BASE).execute("SELECT 1 FROM closed_job WHERE outcome = ?", (outcome,)).fetchone():
            yield f"closed job's outcome no word, was {outcome}", by_sql(
                ("UPDATE closed_job SET outcome = CAST(x'ff' AS TEXT) WHERE outcome = ?", (outcome,))), True
    for table, column in (("closed_finding", "seen_by"), ("closed_fix", "retest")):
        for word in [row[0] for row in sqlite3.connect(BASE).execute(f"SELECT DISTINCT {column} FROM {table}")]:
            yield f"{table}'s {column} no word, was {word}", by_sql((f"UPDATE {table} SET {column} = 'zibeline' WHERE {column} = ?", (word,))), True
    yield "closed job's retest", by_sql(("UPDATE closed_fix SET retest = 'failed' WHERE job = ?", (fixed,))), True
    yield "closed job's cause deleted", by_sql(("DELETE FROM closed_cause WHERE job = ?", (fixed,))), True
    yield "negative form", by_sql("PRAGMA user_version = -3"), True
    yield "huge form", by_sql("PRAGMA user_version = 2000000000"), True
    yield "form nought", by_sql("PRAGMA user_version = 0"), True
    yield "another program's mark", by_sql("PRAGMA application_id = 77"), True
    yield "no mark", by_sql("PRAGMA application_id = 0"), True
    yield "table dropped", by_sql("DROP TABLE " + chance.choice(("closed_context", "closed_result", "closed_cause"))), True
    yield "second forms' table dropped", by_sql("DROP TABLE conflict"), True
    yield "index dropped", by_sql("DROP INDEX " + chance.choice(("closed_job_closed", "closed_cause_cause", "event_head"))), False
    yield "view dropped", by_sql("DROP VIEW " + chance.choice(("jobs", "fixes_by_cause", "readings"))), True
    yield "view replaced", by_sql("DROP VIEW fixes", "CREATE VIEW fixes AS SELECT 1 AS job"), True
    yield "trigger added", by_sql("CREATE TRIGGER extra AFTER INSERT ON event BEGIN DELETE FROM event WHERE kind = 'opened'; END"), True
    yield "quiet trigger added", by_sql("CREATE TRIGGER extra AFTER UPDATE ON closed_job BEGIN SELECT 1; END"), True


def still_readable(log):
    """What SQLite itself can still read of the damaged file, entry by entry: the ids of entries that are as they were, and
    second forms; and the jobs of which something is not."""
    good, seconds = set(), []
    extra = set()
    try:
        db = sqlite3.connect(f"file:{log}?mode=ro&immutable=1", uri=True)
        db.text_factory = bytes
    except (sqlite3.Error, UnicodeError):
        return good, seconds, set(JOBS)
    for key, row in ROWS.items():
        try:
            found = db.execute(f"SELECT {COLUMNS} FROM event WHERE job = CAST(? AS TEXT) AND number = ? AND id = CAST(? AS TEXT)",
                               row[:3]).fetchall()
            if found == [row]:
                good.add(key.decode())
        except (sqlite3.Error, UnicodeError):
            pass
    try:
        for row in db.execute(f"SELECT {COLUMNS} FROM event"):
            key = row[2] if isinstance(row[2], bytes) else b""
            if ROWS.get(key) == row:
                good.add(key.decode())
            elif isinstance(row[0], bytes):
                extra.add(row[0].decode(errors="replace"))
    except (sqlite3.Error, UnicodeError):
        pass
    try:
        seconds = [row[0].decode() for row in db.execute("SELECT line FROM conflict") if row[0].decode(errors="replace") in SECOND_LINES]
    except (sqlite3.Error, AttributeError, UnicodeError):
        pass
    db.close()
    lost = {row[0].decode() for key, row in ROWS.items() if key.decode() not in good}
    return good, seconds, (lost | extra) & set(JOBS)


def structure_is_sound(log):
    try:
        db = sqlite3.connect(f"file:{log}?mode=ro&immutable=1", uri=True)
        whole = [row[0] for row in db.execute("PRAGMA integrity_check")] == ["ok"]
        schema = db.execute("SELECT type, name, sql FROM sqlite_master ORDER BY name").fetchall()
        marks = [db.execute(f"PRAGMA {mark}").fetchone() for mark in ("application_id", "user_version")]
        db.close()
        db = sqlite3.connect(BASE)
        return (whole and schema == db.execute("SELECT type, name, sql FROM sqlite_master ORDER BY name").fetchall() and
                marks == [db.execute(f"PRAGMA {mark}").fetchone() for mark in ("application_id", "user_version")])
    except (sqlite3.Error, UnicodeError):
        return False


def salvaged(what, log, good, seconds, newer_form):
    new = log + "-new.sqlite"
    code, out, err = run("log", "salvage", new, "--log", log)
    if not civil((0, 1, 3, 6), code, out, err, *what, "salvage"):
        return
    if not os.path.exists(new):
        # Nothing to read, or a form that this program can't know: said, and no file.
        check(code != 0 and (newer_form or not good), *what, "salvage leaves out what can still be read:", len(good), code, err)
        return
    second_code, second_out, second_err = run("log", "check", "--log", new)
    check(second_code == 0, *what, "the salvaged log is sound", second_code, second_out[:300], second_err[:300])
    lines, said, raw = exported(new) or [], out + err, bytes_of(new)
    known = set(LINES)
    for each in lines:
        if each not in known:
            entry = json.loads(each)
            check(entry["id"] in said or entry["id"][:8] in said, *what, "salvaged without a word though it was never written so:", each[:200])
    there = set(lines)
    # What is doubtful is left out and said in full, with its id and its words; what is known to be lost, by the id that another names.
    lost = [i for i in good if FIRST_LINE[i] not in there and i not in said and not (i[:8] in said and i.encode() in raw)]
    check(not lost, *what, "salvage lost", len(lost), "entries of", len(good), "that can still be read:", lost[:3])
    check(all(each in there or json.loads(each)["id"] in said for each in seconds), *what, "salvage lost a second form")
    os.remove(new)


def held_against(what, data, must):
    log = put(path("damaged.sqlite"), data)
    code, out, err = run("log", "check", "--log", log)
    if not civil((0, 1, 6), code, out, err, *what, "log check"):
        return "failed"
    if code == 0:
        same = exported(log) == LINES
        check(same, *what, "- silent: log check finds nothing, and the export differs")
        check(must != "yes", *what, "- not detected")
        return "harmless" if same else "silent"
    check(must != "no", *what, "- free space is no damage:", out[:200], err[:200])
    check(code == 6 or out.strip(), *what, "says what is wrong", out)
    good, seconds, jobs = still_readable(log)
    copy = path("copy.sqlite")
    code, out, err = run("log", "backup", copy, "--log", log)
    civil((1, 2, 3, 6), code, out, err, *what, "log backup refuses")
    check(not os.path.exists(copy), *what, "log backup leaves nothing")
    for each in (copy, copy + "-wal", copy + "-shm", copy + "-journal"):
        if os.path.exists(each):
            os.remove(each)
    code, out, err = run("job", "list", "--json", "--log", log)
    civil((0, 6), code, out, err, *what, "job list")
    form = int.from_bytes(data[60:64], "big") if len(data) >= 64 else 0
    salvaged(what, log, good, seconds, form > FORM)
    check(bytes_of(log) == data, *what, "looking, backing up and salvaging leave the damaged file as it is")
    if jobs or not structure_is_sound(log):
        work = put(path("work.sqlite"), data)
        job = sorted(jobs)[0] if jobs else JOBS[0]
        code, out, err = run("job", "note", job, "Unwanted zibeline", "--log", work)
        gone = code == 2 and "there is no job" in err  # all of it is gone: refused as well
        if not gone:
            civil((6,), code, out, err, *what, "a note to a damaged job is refused")
        left = bytes_of(work) + (bytes_of(work + "-wal") if os.path.exists(work + "-wal") else b"")
        check(b"zibeline" not in left, *what, "the refused note is not written")
        clear("work.sqlite")
    clear("damaged.sqlite")
    return "detected"


def clear(start):
    for each in os.listdir(FOLDER):
        if each.startswith(start):
            os.remove(path(each))


def corruptions():
    chance = random.Random(SEED)
    wanted = 400 if LONG else 35
    tally, number = {}, 0
    def one(what, data, must):
        nonlocal number
        number += 1
        end = held_against((f"[seed {SEED}, corruption {number}: {what}]",), data, must)
        tally[end] = tally.get(end, 0) + 1
        clear("damaged.sqlite")
    for _ in range(3 if LONG else 1):
        for what, data, must in damage_by_sql(chance):
            one(what, data, "yes" if must else "either")
    free = free_bytes()
    check(len(free) > 100, "the file has free space", len(free))
    for _ in range(20 if LONG else 5):
        data, at = bytearray(WHOLE), chance.choice(free)
        data[at] ^= 1 << chance.randrange(8)
        one(f"free space at {at}", bytes(data), "no")
    while number < wanted:
        what, data = damage_by_bytes(chance)
        if data != WHOLE:
            one(what, data, "either")
    print(f"{number} corruptions: {tally}")
    check(tally.get("detected", 0) > number // 3, "damage is found", tally)


# --- imports


class Import:
    """A copy of the log, and a hostile file brought to it."""

    def __init__(self, name, *entries, raw=None, options=()):
        self.name, self.log = name, put(path("target.sqlite"), WHOLE)
        file = path("hostile.jsonl")
        put(file, raw if raw is not None else ("\n".join([HEAD, *entries]) + "\n").encode())
        self.code, self.out, self.err = run("log", "import", file, *options, "--log", self.log)
        self.said = self.out + self.err
        civil((0, 2, 3, 6), self.code, self.out, self.err, name, "import")
        self.lines = exported(self.log) or []

    def nothing_lost(self):
        there = set(self.lines)
        lost = [each for each in LINES if each not in there]
        check(not lost, self.name, "all entries from before are still there:", len(lost), "are not, such as", lost[:1], self.said[:200])
        return self

    def refused(self, number):
        check(self.code == 3 and f":{number}" in self.err and "hostile.jsonl" in self.err, self.name, "refused, with the line", self.code, self.err[:300])
        check(self.lines == LINES, self.name, "nothing is taken")

    def shows(self, entry):
        check(entry["id"] in self.said or entry["id"][:8] in self.said, self.name, "shows what it set aside", self.code, self.said[:300])

    def job_works(self, job, *what):
        for words in (("job", "show", job), ("job", "next", job, "--json"), ("job", "record", job), ("job", "note", job, "Gone on with")):
            code, out, err = run(*words, "--log", self.log)
            civil((0,), code, out, err, self.name, *what, *words)
        self.checks_out()

    def checks_out(self):
        code, out, err = run("log", "check", "--log", self.log)
        check(code == 0, self.name, "the log stays sound", code, out[:300], err[:300])

    def done(self):
        clear("target.sqlite")


def entry(job, number, kind, body, at="2026-03-04T05:06:07.089Z", **more):
    return dict({"id": str(uuid.UUID(int=DICE.getrandbits(128), version=4)), "job": job, "number": number, "at": at,
                 "bench": "Far bench", "kind": kind, "body": body}, **more)


DICE = random.Random(SEED + 1)
FAR = "2999-01-01T00:00:00.000Z"


def redaction(job, name, at):
    """Made as engine/job/person.cpp makes it: a UUID of version 5 of the words in small letters, each with a space behind."""
    words = name.lower().split()
    salt = str(uuid.UUID(int=DICE.getrandbits(128), version=4))
    mark = str(uuid.uuid5(uuid.UUID(salt), "".join(word + " " for word in words)))
    return entry(job, 800, "redacted", {"salt": salt, "words": len(words), "print": mark}, at)


def merged_redactions():
    """The same by merge, from a log into which somebody wrote them by hand."""
    other = put(path("forger.sqlite"), by_sql(*(
        (f"INSERT INTO event ({COLUMNS}) VALUES (?, ?, ?, ?, ?, 'redacted', ?, 0)",
         (each["job"], each["number"], each["id"], each["at"], each["bench"], json.dumps(each["body"])))
        for each in [redaction(JOBS[0], word, FAR) for word in ("the", "no", "on")])))
    for options in ((), ("--redactions",)):
        log = put(path("target.sqlite"), WHOLE)
        code, out, err = run("log", "merge", other, *options, "--log", log)
        civil((0, 3, 6), code, out, err, "merge of forged redactions", *options)
        there = set(exported(log) or [])
        check(all(each in there for each in LINES), "merge of forged redactions", *options, "loses nothing", code, out, err)
        clear("target.sqlite")
    clear("forger.sqlite")


def imports():
    job = JOBS[0]
    other = next(j for j in JOBS if j != job and not any(e["kind"] == "closed" for e in ENTRIES if e["job"] == j))
    # 1: redactions that would empty the log
    forged = [redaction(JOBS[i], word, FAR) for i, word in enumerate(("the", "no", "on"))]
    for options in ((), ("--redactions",)):
        tried = Import(f"forged redactions {options}", *map(line, forged), options=options).nothing_lost()
        check(tried.code != 0 or any(word in tried.said.lower() for word in ("redact", "taken out", "person")),
              tried.name, "refused, or shown", tried.code, tried.said)
        texts = words_of(tried.log, other)
        check(any("the spring" in each for each in texts), tried.name, "notes still read as they were", texts[:3])
        fine("job", "note", other, "Later words on the rail", "--log", tried.log)
        check("Later words on the rail" in "".join(exported(tried.log) or []), tried.name, "a later note stays")
        tried.done()
    # ... and an honest one, which needs a word of consent as well
    honest = redaction(job, OWNER, "2030-01-01T00:00:00.000Z")
    tried = Import("a redaction without consent", line(honest)).nothing_lost()
    check(OWNER in "".join(tried.lines), tried.name, "takes nobody out", tried.said)
    check(any(word in tried.said.lower() for word in ("redact", "taken out", "person")), tried.name, "is shown", tried.said)
    tried.done()
    honest["at"] = time.strftime("%Y-%m-%dT%H:%M:%S.000Z", time.gmtime())
    tried = Import("a redaction with consent", line(honest), options=("--redactions",))
    check(tried.code == 0 and OWNER not in "".join(tried.lines), tried.name, "takes the owner out", tried.code, tried.said)
    lost = [each for each in LINES if OWNER not in each and each not in tried.lines]
    check(not lost, tried.name, "leaves the rest as it was", lost[:1])
    tried.done()
    merged_redactions()
    # 2: the last number that a job can have
    tried = Import("number 1000000", line(entry(other, 1000000, "note", {"text": "the last of all"}))).nothing_lost()
    tried.job_works(other)
    tried.done()
    # 3: readings of a wrong shape
    shapes = [{"kind": 7, "direction": "forward", "quantity": "amps", "value": "2.4 A"},
              {"kind": "loaded", "direction": "forward", "quantity": "amps", "value": {"value": [[1]]}},
              {"kind": "loaded", "direction": "forward", "quantity": "amps", "value": "2.4 furlongs"},
              {"kind": "loaded", "direction": "forward", "quantity": "no-such-thing", "value": "2.4 A"},
              {"kind": "loaded", "direction": "sideways", "quantity": "amps", "value": "2.4 A"},
              {"kind": "loaded", "direction": "forward", "quantity": "amps", "value": "2.4 A", "more": "yes"},
              {"kind": "loaded", "direction": "forward", "laps": "many", "time": "35 s"},
              {"kind": "loaded", "direction": "forward", "quantity": "amps", "value": "nan A"},
              {}]
    wrong = [entry(other, 100 + i, "reading", body) for i, body in enumerate(shapes)]
    wrong += [entry(other, 150, "run", {"kind": "loaded", "direction": "forward", "readings": "none"}),
              entry(other, 151, "run", {"kind": "loaded", "direction": "forward", "readings": {"amps": 9}})]
    sound = entry(other, 200, "note", {"text": "A sound entry beside"})
    for each in wrong:
        tried = Import(f"reading {line(each['body'])}", line(each), line(sound)).nothing_lost()
        tried.shows(each)
        check(tried.code == 0 and line(sound) in tried.lines, tried.name, "does not keep a sound entry out", tried.code, tried.said[:200])
        tried.job_works(other)
        tried.done()
    # 4: entries of a job that nobody opened
    nowhere = str(uuid.UUID(int=DICE.getrandbits(128), version=4))
    orphans = [entry(nowhere, 2, "note", {"text": "Of no job"}), entry(nowhere, 3, "answers", {"squeal": "yes"})]
    tried = Import("entries without a job", *map(line, orphans), line(sound)).nothing_lost()
    for each in orphans:
        tried.shows(each)
    check(tried.code == 0 and line(sound) in tried.lines, tried.name, "a sound entry comes in", tried.code, tried.said[:200])
    check(nowhere not in run("job", "list", "--json", "--log", tried.log)[1], tried.name, "make no job")
    tried.job_works(other)
    tried.done()
    # 5: an id that an entry of another job has
    victim = next(e for e in ENTRIES if e["job"] == job and e["kind"] == "note")
    for at in ("1999-01-01T00:00:00.000Z", FAR):  # before and behind the true one in the order of lines
        for kind, body in (("note", {"text": "under a borrowed id"}), (victim["kind"], victim["body"])):
            tried = Import(f"borrowed id, {at[:4]}", line(dict(victim, job=other, at=at, kind=kind, body=body))).nothing_lost()
            show = run("job", "show", job, "--json", "--log", tried.log)[1]
            check(victim["body"]["text"][:30] in show, tried.name, "the job keeps its entry", tried.said[:200])
            tried.job_works(job)
            tried.done()
    # 6: lines that are none
    good = line(entry(other, 300, "note", {"text": "before the bad line"}))
    for name, bad in (("truncated", good[:-9].encode() + b"\n"),
                      ("cut short at the end", good.encode()),
                      ("more than 8 MB", line(entry(other, 301, "note", {"text": "x" * 8_500_000})).encode() + b"\n"),
                      ("deep", (good[:-1] + ',"more":' + "[" * 60000 + "]" * 60000 + "}\n").encode()),
                      ("deep in the body", line(entry(other, 302, "note", {"text": "t"})).replace('"t"', "[" * 60000 + "]" * 60000).encode() + b"\n"),
                      ("no UTF-8", good.encode().replace(b"before", b"bef\xc3\x28re") + b"\n"),
                      ("a nought", good.encode().replace(b"before", b"bef\x00re") + b"\n"),
                      ("no object", b"[1]\n"), ("empty line", b"\n")):
        tried = Import(f"line {name}", raw=HEAD.encode() + b"\n" + good.encode() + b"\n" + bad)
        tried.refused(3)
        tried.done()
    # 7: a "no" to a hazard, said before the yes under its id
    calm = dict(HAZARD, at="2001-01-01T00:00:00.000Z", body={"shock-or-tingle": "no"})
    variants = [calm, dict(calm, number=1), dict(calm, body={}), dict(calm, kind="note", body={"text": "all is well"}),
                dict(calm, scrubbed=True), dict(calm, kind="undone", body={"event": str(uuid.uuid4())}),
                dict(calm, bench="A bench", at="2001-01-01T00:00:00.001Z")]
    for number, forms in enumerate([[v] for v in variants] + [variants]):
        tried = Import(f"hazard denied {number}", *map(line, forms)).nothing_lost()
        code, out, err = run("job", "next", HAZARD["job"], "--json", "--log", tried.log)
        try:
            stop = json.loads(out).get("stop")
        except ValueError:
            stop = None
        check(code == 0 and isinstance(stop, list) and len(stop) > 0, tried.name, "the hazard stands", code, stop, out[:100], err[:200])
        tried.done()
    # as it should be: a head with its keys and spaces otherwise
    for head in ('{"version": 1, "log": "wheeltapper"}', ' { "log" : "wheeltapper",  "version" : 1 } '):
        raw = ("\n".join([head, *LINES[1:]]) + "\n").encode()
        tried = Import("head " + head, raw=raw)
        check(tried.code == 0 and tried.lines == LINES, tried.name, "is taken", tried.code, tried.err)
        fresh = path("fresh.sqlite")
        code, out, err = run("log", "import", path("hostile.jsonl"), "--log", fresh)
        check(code == 0 and exported(fresh) == LINES, tried.name, "into a new log", code, err)
        clear("fresh.sqlite")
        tried.done()


def words_of(log, job):
    code, out, err = run("job", "show", job, "--json", "--log", log)
    try:
        return [each["body"].get("text", "") for each in json.loads(out)["events"]]
    except (ValueError, KeyError):
        return []


# --- databases


def nobody():  # root may read everything
    if os.getuid() == 0:
        os.setgid(65534)
        os.setuid(65534)


def made_by(*statements):
    name = path("made.sqlite")
    db = sqlite3.connect(name, isolation_level=None)
    for each in statements:
        db.execute(each)
    db.close()
    data = bytes_of(name)
    os.remove(name)
    return data


def databases():
    mark = sqlite3.connect(BASE).execute("PRAGMA application_id").fetchone()[0]
    hostile = {
        "text": b"this is no log\n" * 400,
        "almost": b"SQLite format 3\x00" + b"\x01" * 4000,
        "empty": b"",
        "another": made_by("CREATE TABLE event (job TEXT, number INTEGER, id TEXT)", "INSERT INTO event VALUES ('a', 1, 'b')"),
        "newer": by_sql("PRAGMA user_version = 99"),
        "negative": by_sql("PRAGMA user_version = -1"),
        "hollow": made_by(f"PRAGMA application_id = {mark}", f"PRAGMA user_version = {FORM}"),
        "hollow-older": made_by(f"PRAGMA application_id = {mark}", "PRAGMA user_version = 1"),
        "view": by_sql("CREATE TABLE old_event AS SELECT * FROM event", "DROP TABLE event",
                       "CREATE VIEW event AS SELECT * FROM old_event"),
        "endless-view": by_sql("DROP TABLE conflict", "CREATE VIEW conflict AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 "
                               "FROM n) SELECT 'x' AS event, 'y' || i AS line FROM n"),
        "garbage": by_sql("INSERT INTO conflict (event, line) VALUES ('nowhere', 'garbage'), ('more', CAST(x'ff00fe' AS TEXT))"),
        "trigger": by_sql("CREATE TRIGGER gone AFTER INSERT ON event BEGIN DELETE FROM event WHERE kind <> 'note'; END"),
    }
    places = {name: put(path("hostile-" + name), data) for name, data in hostile.items()}
    for name, data in hostile.items():
        place = places[name]
        for words in (("log", "check"), ("job", "note", JOBS[0], "Words"), ("log", "merge", BASE), ("job", "list"), ("log", "export")):
            # What only looks may show what can be read of a log that is ours and damaged; what writes may not.
            damaged = name in ("garbage", "trigger", "view", "endless-view")
            looks = words in (("job", "list"), ("log", "export"))
            wanted = (1, 3, 6) if words == ("log", "check") and damaged else (0, 3, 6) if looks and name in ("garbage", "trigger") else (3, 6)
            code, out, err = run(*words, "--log", place)
            civil(wanted, code, out, err, "hostile", name, *words)
            check(bytes_of(place) == data, "hostile", name, *words, "the file is as it was")
            if bytes_of(place) != data:
                put(place, data)
            for end in ("-wal", "-shm", "-journal"):
                if os.path.exists(place + end):
                    os.remove(place + end)
        other_log(name, place, data)
    fifo = path("hostile-fifo")
    os.mkfifo(fifo)
    folder = path("hostile-folder")
    os.mkdir(folder)
    devices = path("devices")
    os.mkdir(devices)
    zero = os.path.join(devices, "zero")
    try:  # a node of its own, so that no journal can come to lie beside the machine's
        os.mknod(zero, stat.S_IFCHR | 0o400, os.makedev(1, 5))
    except OSError:
        zero = "/dev/zero"
    for name, place in (("fifo", fifo), ("folder", folder), ("device", zero)):
        for words in (("log", "check"), ("job", "list"), ("log", "export")) + ((("job", "note", JOBS[0], "Words"),) if name != "device" else ()):
            code, out, err = run(*words, "--log", place)
            civil((3, 6), code, out, err, "hostile", name, *words)
        other_log(name, place, None)
    check(stat.S_ISFIFO(os.stat(fifo).st_mode) and not os.listdir(folder) and os.listdir(devices) in (["zero"], []), "places are as they were",
          os.listdir(folder), os.listdir(devices))
    foreign = put(path("hostile-foreign"), WHOLE)
    os.chmod(foreign, 0o600)
    if os.getuid() == 0:
        for words in (("log", "check"), ("job", "note", JOBS[0], "Words"), ("log", "export")):
            code, out, err = run(*words, "--log", foreign, preexec_fn=nobody)
            civil((3, 6), code, out, err, "another's file", *words)
        check(bytes_of(foreign) == WHOLE, "another's file is as it was")
    else:
        os.chmod(foreign, 0)
        code, out, err = run("log", "check", "--log", foreign)
        civil((3, 6), code, out, err, "no right to read")


def other_log(name, place, data):
    """As what is merged into a good log."""
    log = put(path("target.sqlite"), WHOLE)
    code, out, err = run("log", "merge", place, "--log", log)
    civil((3, 6), code, out, err, "merge of hostile", name)
    check(exported(log) == LINES, "merge of hostile", name, "leaves the log as it was")
    if data is not None:
        check(bytes_of(place) == data, "merge of hostile", name, "leaves the other as it was")
    clear("target.sqlite")


# --- outputs


def outputs():
    desk = path("desk")
    os.mkdir(desk)
    at = lambda name: os.path.join(desk, name)
    log = put(at("log.sqlite"), WHOLE)
    os.mkdir(at("sub"))
    os.symlink(log, at("linked"))
    os.link(log, at("hard"))
    os.symlink("log.sqlite-wal", at("linked-wal"))
    os.symlink("linked", at("linked-twice"))
    fine("job", "new", "--family", "ac-series", "--quiet", "--log", path("data/wheeltapper/log.sqlite"))
    writers = (("log", "csv", "jobs", None), ("job", "record", "last", "--html", None), ("log", "export", None),
               ("log", "backup", None), ("log", "salvage", None))
    names = ["log.sqlite", log, "./log.sqlite", "sub/../log.sqlite", "../desk/log.sqlite", ".//log.sqlite", "linked", "linked-twice", "hard",
             "log.sqlite-wal", "log.sqlite-shm", "log.sqlite-journal", "linked-wal", "./log.sqlite-wal"]
    def whole():
        return bytes_of(log) == WHOLE and os.path.samefile(log, at("hard")) and os.path.islink(at("linked"))
    def mend():
        for each in os.listdir(desk):
            if os.path.isfile(at(each)) or os.path.islink(at(each)):
                os.remove(at(each))
        put(log, WHOLE)
        os.link(log, at("hard"))
        os.symlink(log, at("linked"))
        os.symlink("log.sqlite-wal", at("linked-wal"))
        os.symlink("linked", at("linked-twice"))
    for words in writers:
        for name in names if words[1] == "export" else names[:3] + names[6:10] + names[12:13]:  # spellings once, files always
            for more in ((), ("--overwrite",)):
                given = [name if word is None else word for word in words]
                code, out, err = run(*given, *more, "--log", "log.sqlite", cwd=desk)
                civil((2, 3, 6), code, out, err, "output over the log:", *given, *more)
                left = {each for each in os.listdir(desk)} - {"log.sqlite", "sub", "linked", "hard", "linked-wal", "linked-twice", "log.sqlite-wal", "log.sqlite-shm"}
                strange = [each for each in ("log.sqlite-wal", "log.sqlite-shm") if os.path.exists(at(each)) and each in name and
                           bytes_of(at(each))[:4] in (b"job,", b"<!do", b"<!DO", b'{"lo', b"SQLi")]
                check(whole() and not left and not strange, "output over the log:", *given, *more, "leaves it as it was", left, strange)
                if not whole() or left or strange:
                    mend()
    check(exported(log) == LINES, "the log is as it was")
    # a swallowed option makes a log's name an output
    for more in ((), ("--overwrite",)):
        for swallow in ("--bench", "--knowledge"):
            for words in (("log", "export"), ("log", "csv", "jobs"), ("log", "backup")):
                code, out, err = run(*words, swallow, "--log", "log.sqlite", *more, cwd=desk)
                civil((2, 3, 6), code, out, err, "swallowed:", *words, swallow, *more)
                check(whole(), "swallowed:", *words, swallow, *more, "leaves the log as it was")
                if not whole():
                    mend()
    # an ordinary file is only replaced when that is said
    for words in writers[:3]:
        target = put(at("page.txt"), b"kept by hand\n")
        os.chmod(target, 0o640)
        os.symlink("page.txt", at("page-link"))
        for name in ("page.txt", "page-link"):
            put(target, b"kept by hand\n")
            given = [name if word is None else word for word in words]
            code, out, err = run(*given, "--log", "log.sqlite", cwd=desk)
            civil((2, 3, 6), code, out, err, "over a file:", *given)
            check(bytes_of(target) == b"kept by hand\n", "over a file:", *given, "leaves it as it was")
            code, out, err = run(*given, "--overwrite", "--log", "log.sqlite", cwd=desk)
            civil((0,), code, out, err, "over a file:", *given, "--overwrite")
            new = bytes_of(target)
            check(new != b"kept by hand\n" and len(new) > 20, "over a file:", *given, "--overwrite replaces it")
            check(stat.S_IMODE(os.stat(target).st_mode) == 0o640, "over a file:", *given, "--overwrite keeps its rights", oct(os.stat(target).st_mode))
            check(os.path.islink(at("page-link")), "over a file:", *given, "--overwrite keeps the link")
        os.remove(at("page-link"))
        os.remove(target)
    # a FIFO gets the text and stays one
    for words in writers[:3]:
        fifo = at("fifo")
        os.mkfifo(fifo)
        heard = at("heard")
        with open(heard, "wb") as sink:
            reader = subprocess.Popen(["cat", fifo], stdout=sink)
        given = ["fifo" if word is None else word for word in words]
        code, out, err = run(*given, "--log", "log.sqlite", cwd=desk)
        civil((0,), code, out, err, "to a FIFO:", *given)
        try:
            reader.wait(timeout=600)
        except subprocess.TimeoutExpired:
            reader.kill()
            reader.wait()
        told = [None if word is None else word for word in words if word is not None]
        plain = run(*told, *(("-",) if "--html" in told else ()), "--log", "log.sqlite", cwd=desk)[1]
        check(len(plain) > 20 and bytes_of(heard).decode(errors="replace") == plain, "to a FIFO:", *given, "the reader gets the text")
        check(os.path.lexists(fifo) and stat.S_ISFIFO(os.lstat(fifo).st_mode), "to a FIFO:", *given, "it stays a FIFO")
        os.remove(heard)
        if os.path.lexists(fifo):
            os.remove(fifo)
    left = set(os.listdir(desk)) - {"log.sqlite", "sub", "linked", "hard", "linked-wal", "linked-twice", "log.sqlite-wal", "log.sqlite-shm"}
    check(not left, "no leftovers", left)
    check(exported(log) == LINES, "the log is as it was, at the end")
    # names that are no files
    for name in ("", ":memory:", "file:x?mode=memory", "file::memory:?cache=shared"):
        for words in (("job", "new", "--family", "ac-series", "--quiet"), ("log", "check"), ("log", "merge", log)):
            before = set(os.listdir(desk))
            code, out, err = run(*words, "--log", name, cwd=desk)
            civil((2, 6), code, out, err, "--log", repr(name), *words)
            made = set(os.listdir(desk)) - before
            check(not made, "--log", repr(name), *words, "makes no file", made)
            for each in made:
                os.remove(at(each))
    rights(log)


def rights(source):
    """With a umask of nought all that the program makes is for its maker alone."""
    place = path("open")
    os.mkdir(place)
    at = lambda name: os.path.join(place, name)
    open_handed = dict(preexec_fn=lambda: os.umask(0))
    fine("job", "new", "--family", "ac-series", "--quiet", "--log", at("deep/er/log.sqlite"), **open_handed)
    fine("job", "new", "--family", "ac-series", "--quiet", env=dict(ENV, XDG_DATA_HOME=at("home/of/data")), **open_handed)
    fine("log", "import", path("second.jsonl"), "--log", at("imported.sqlite"), **open_handed)
    made = {"backup.sqlite": ("log", "backup", at("backup.sqlite")), "all.jsonl": ("log", "export", at("all.jsonl")),
            "jobs.csv": ("log", "csv", "jobs", at("jobs.csv")), "page.html": ("job", "record", "last", "--html", at("page.html")),
            "salvage.sqlite": ("log", "salvage", at("salvage.sqlite"))}
    for name, words in made.items():
        code, out, err = run(*words, "--log", source, **open_handed)
        check(os.path.exists(at(name)), "umask 0:", *words[:2], "makes its file", code, err[:200])
    for folder, folders, files in os.walk(place):
        for each in folders:
            mode = stat.S_IMODE(os.stat(os.path.join(folder, each)).st_mode)
            check(mode == 0o700, "umask 0: folder", each, oct(mode))
        for each in files:
            mode = stat.S_IMODE(os.stat(os.path.join(folder, each)).st_mode)
            check(mode == 0o600, "umask 0: file", each, oct(mode))
    # what lies beside the log while it is open
    log = at("deep/er/log.sqlite")
    beside = subprocess.Popen([PROGRAM, "job", "go", "last", "--log", log], stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=ENV,
                              stderr=subprocess.DEVNULL, preexec_fn=lambda: os.umask(0))
    beside.stdout.read(1)
    for end in ("-wal", "-shm"):
        if os.path.exists(log + end):
            mode = stat.S_IMODE(os.stat(log + end).st_mode)
            check(mode == 0o600, "umask 0: beside the open log", end, oct(mode))
    beside.communicate()
    check(beside.returncode in (0, 130), "umask 0: the guided job ends", beside.returncode)


# --- kills


def length(name):
    try:
        return os.stat(name).st_size
    except OSError:
        return 0


def killed(chance, span, log, *words):
    """Starts it and kills it: at any moment, or a moment after it began to write, where the time for it is short. Its exit
    code, or None where the kill was faster; and what it complained of."""
    watched = chance.random() < 0.5
    delay = chance.uniform(0, 0.4) * span if watched else chance.uniform(0.1, 1.7) * span
    before = length(log + "-wal")
    with open(path("complaint"), "w+b") as complaint:
        process = subprocess.Popen([PROGRAM, *words, "--log", log], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=complaint,
                                   env=ENV)
        while watched and length(log + "-wal") == before and process.poll() is None:
            time.sleep(0.0002)
        time.sleep(delay)
        process.kill()
        code = process.wait()
        complaint.seek(0)
        said = complaint.read().decode(errors="replace")
    return None if code == -9 else code, said


def lasts(*words):
    spent = []
    for _ in range(5):
        begun = time.monotonic()
        fine(*words)
        spent.append(time.monotonic() - begun)
    return statistics.median(spent)


def holding(log, name):
    """The files in which these bytes stand."""
    found = []
    for folder in (os.path.dirname(log), path("tmp")):
        for each in os.listdir(folder):
            if os.path.isfile(os.path.join(folder, each)) and name.encode() in bytes_of(os.path.join(folder, each)):
                found.append(each)
    return found


def killed_notes(chance, kills):
    os.mkdir(path("notes"))
    log = os.path.join(path("notes"), "log.sqlite")
    job = fine("job", "new", "--family", "ac-series", "--quiet", "--log", log)
    span = lasts("job", "note", job, "To see how long it takes", "--log", log)
    acknowledged, tried = [], []
    def look(what):
        code, out, err = run("log", "check", "--log", log)
        check(code == 0, what, "sound", code, out, err)
        text = "\n".join(exported(log) or [])
        lost = [each for each in acknowledged if text.count(f'"{each}') != 1]
        check(not lost, what, "acknowledged notes are there once:", lost[:3])
        twice = [each for each in tried if text.count(f'"{each}') > 1]
        check(not twice, what, "no note is there twice", twice[:3])
    for number in range(kills):
        text = f"zephyr{number:05d}."
        tried.append(text)
        code, _ = killed(chance, span, log, "job", "note", job, text + " pale marl" * chance.choice((1, 1, 900)))
        check(code in (None, 0), f"[seed {SEED}, note {number}]", "ends well or not at all", code)
        if code == 0:
            acknowledged.append(text)
        if number % 20 == 19:
            look(f"[seed {SEED}, after {number + 1} kills]")
    look("at the end")
    print(f"{kills} notes, {len(acknowledged)} acknowledged before the kill")
    check(kills // 40 < len(acknowledged) < kills - kills // 40, "kills come before and after the acknowledgement", len(acknowledged), kills)


def waiting_beside(job, log):
    """A guided job that waits at its question and has the log open meanwhile."""
    beside = subprocess.Popen([PROGRAM, "job", "go", job, "--log", log], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                              stderr=subprocess.DEVNULL, env=ENV)
    beside.stdout.read(1)
    return beside


def end_beside(beside):
    if beside is None:
        return
    try:
        beside.communicate(timeout=600)
    except subprocess.TimeoutExpired:
        beside.kill()
    check(beside.returncode in (0, 130), "the guided job beside ends", beside.returncode)


def killed_redactions(chance, kills):
    finished = begun = 0
    for number in range(kills):
        if number % 10 == 0:  # a new log now and then: each redaction makes the next one longer
            place = path(f"redact{number}")
            os.mkdir(place)
            log = os.path.join(place, "log.sqlite")
            job = fine("job", "new", "--family", "ac-series", "--quiet", "--log", log)
            fine("job", "note", job, "Room " + "pale marl " * 900, "--log", log)
            fine("job", "note", job, "Zinnober Early", "--log", log)
            took = time.monotonic()
            fine("log", "redact", "Zinnober Early", "--log", log)
            span = time.monotonic() - took
        what = f"[seed {SEED}, redaction {number}]"
        name = f"Zinnober{number} Withycombe{number}"
        fine("job", "note", job, f"Belongs to {name} of the mill", "--log", log)
        if number % 2:
            fine("job", "tell", job, f"owner={name}", "--log", log)
        beside = waiting_beside(job, log) if chance.random() < 0.5 else None  # so that the journal stays with what it holds
        code, said = killed(chance, span, log, "log", "redact", name)
        check(code in (None, 0), what, "ends well or not at all", code)
        in_the_way = "holds the log open" in said  # said, so whoever redacts knows that a second go is needed
        if code == 0 and not in_the_way:
            check(not holding(log, f"Withycombe{number}"), what, "acknowledged: the name is nowhere", holding(log, f"Withycombe{number}"))
        code_after, _, said = run("job", "note", job, f"Afterwards {number}", "--log", log)  # finishes what was cut short
        check(code_after == 0, what, "the next note", code_after, said)
        in_the_way = in_the_way or "holds the log open" in said
        lines = exported(log)
        check(lines is not None and any(f"Afterwards {number}" in each for each in lines), what, "can be written on and read")
        shown = sum(f"Withycombe{number}" in each for each in lines or [])
        check(shown in (0, 1 + number % 2), what, "the name is taken out everywhere or nowhere", shown)
        if shown == 0:
            finished += 1
            left = [] if in_the_way else holding(log, f"Withycombe{number}")
            check(not left, what, "taken out of the entries, so of every byte", left, "beside" if beside else "alone")
        else:
            begun += 1
            check(code is None, what, "acknowledged, and the name is still shown")
            end_beside(beside)
            beside = None
            fine("log", "redact", name, "--log", log)
            check(not holding(log, f"Withycombe{number}"), what, "redacted once more: the name is nowhere")
        end_beside(beside)
    for each in os.listdir(FOLDER):
        if each.startswith("redact"):
            code, out, err = run("log", "check", "--log", os.path.join(path(each), "log.sqlite"))
            check(code == 0, each, "sound after its kills", code, out, err)
    print(f"{kills} redactions: {finished} taken out, {begun} not begun")
    check(finished > kills // 20 and begun > kills // 70, "kills come before and after", finished, begun)


def kills():
    chance = random.Random(SEED + 2)
    killed_notes(chance, 1300 if LONG else 30)
    killed_redactions(chance, 700 if LONG else 20)


for part in (corruptions, imports, databases, outputs, kills):
    if part.__name__ in ONLY:
        started = time.monotonic()
        part()
        print(f"{part.__name__}: {time.monotonic() - started:.0f} s")
finish()
