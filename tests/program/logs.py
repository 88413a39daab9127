"""The log through the real program: where it lies, older versions, export and import, merge, redaction, spreadsheets, and
every trouble that a file can be in: one clear message, its exit code, nothing lost."""
import csv
import io
import itertools
import json
import os
import random
import shutil
import sqlite3
import subprocess
import tempfile

import jsonschema
from common import DEMO, FEW, PROGRAM, ROOT, check, check_output, finish

FOLDER = tempfile.mkdtemp(prefix="wheeltapper-")
os.chmod(FOLDER, 0o755)
SCHEMA = json.load(open(os.path.join(ROOT, "engine", "log", "schema", "log-line.schema.json")))
jsonschema.Draft7Validator.check_schema(SCHEMA)
VALID = jsonschema.Draft7Validator(SCHEMA)


def path(name):
    return os.path.join(FOLDER, name)


def run(*args, text="", **more):
    done = subprocess.run([PROGRAM, *args], input=text.encode(), capture_output=True, timeout=600,
                          env=dict(os.environ, XDG_DATA_HOME=path("data"), COLUMNS="80"), **more)
    out = done.stdout.decode(errors="replace")
    check_output(args, done.returncode, out)
    return done.returncode, out, done.stderr.decode(errors="replace")


def fine(*args, **more):
    code, out, err = run(*args, **more)
    check(code == 0 and not err, *args, code, err)
    return out


def cured_job(log, case, *more):
    job = fine("job", "new", os.path.join(DEMO, case), "--quiet", "--log", log, *more).strip()
    for words in (["repair", job, "repair-oil-bearings", "--minutes", "20"], ["retest", job, "passed"],
                  ["read", job, "amps=1.6A", "lap-rate=9.9"], ["read", job, "amps=1.6A", "lap-rate=9.9", "--direction", "reverse"],
                  ["close", job, "cured", "bearing-dry"]):
        fine("job", *words, "--log", log)
    return job


# where it lies
check(fine("log", "path").strip() == path("data/wheeltapper/log.sqlite") + " (not there yet)", "its place")
fine("job", "new", "--family", "ac-series", "--quiet")
check(fine("log", "path").strip() == path("data/wheeltapper/log.sqlite"), "its place, there")

# older versions come up to date with all they hold
for form in sorted(os.listdir(os.path.join(ROOT, "tests", "program", "logs"))):
    old = path(form + ".sqlite")
    db = sqlite3.connect(old)
    db.executescript(open(os.path.join(ROOT, "tests", "program", "logs", form)).read())
    events = db.execute("SELECT count(*) FROM event").fetchone()[0]
    version = db.execute("PRAGMA user_version").fetchone()[0]
    db.close()
    check(events > 5, form, "holds events")
    code, out, err = run("diagnose", os.path.join(DEMO, "dry-bearings.json"), "--log", old)
    check(code == 0 and "older version" in err, form, "a diagnosis does not change an older log", err)
    check("is sound" in fine("log", "check", "--log", old), form, "sound")
    db = sqlite3.connect(old)
    check(db.execute("SELECT count(*) FROM event").fetchone()[0] == events, form, "no event lost")
    check(db.execute("PRAGMA user_version").fetchone()[0] > version, form, "brought up to date")
    db.execute("SELECT * FROM fixes_by_finding").fetchall()
    db.close()
    check("1 of 1 cured" in fine("cures", "bearing-dry", "--log", old), form, "its jobs count")

# export, schema, import, digest
one = path("one.sqlite")
cured_job(one, "dry-bearings.json", "--owner", "Orla Fernhill-Brook")
cured_job(one, "slow-spot.json")
lines = fine("log", "export", "--log", one)
for number, line in enumerate(lines.splitlines()):
    wrong = list(VALID.iter_errors(json.loads(line)))
    check(not wrong, "line", number, "fits the schema", [w.message for w in wrong][:1])
fine("log", "export", path("one.jsonl"), "--log", one)
check(open(path("one.jsonl")).read() == lines, "the file is what the screen shows")
two = path("two.sqlite")
fine("log", "import", path("one.jsonl"), "--log", two)
check(fine("log", "export", "--log", two) == lines, "byte-identical after a round trip")
check(fine("log", "digest", "--log", one) == fine("log", "digest", "--log", two), "the same fingerprint")
check("0 entries new" in fine("log", "import", path("one.jsonl"), "--log", two), "again changes nothing")
for name, bad in (("cut.jsonl", lines[:-20]), ("head.jsonl", lines.split("\n", 1)[1]), ("kind.jsonl", lines.replace('"kind":"closed"', '"kind":"clozed"')),
                  ("binary.jsonl", "\x00\x01\x02"), ("empty.jsonl", "")):
    open(path(name), "w").write(bad)
    code, out, err = run("log", "import", path(name), "--log", path("three.sqlite"))
    check(code == 3 and name in err and len(err.splitlines()) == 1, name, code, err)
    check("0 jobs" in fine("log", "check", "--log", path("three.sqlite")), name, "nothing came in")

# mutants of an export: taken in or refused with the line, never a crash; what was taken in can be listed and checked
chance = random.Random(4)
mutants = refused = 0
for number in range(30 if FEW else 120):
    bad = bytearray(lines.encode())
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(bad))
        if chance.random() < 0.3:
            del bad[at : at + chance.randint(1, 40)]
        else:
            bad[at] = chance.choice(b'{}[]":,0189eE.-truefalsnu\\ \n')
    open(path("mutant.jsonl"), "wb").write(bad)
    log = path(f"mutant{number % 10}.sqlite")
    code, out, err = run("log", "import", path("mutant.jsonl"), "--log", log)
    mutants += 1
    refused += code == 3
    check(code in (0, 3) and (code == 0 or ("mutant.jsonl:" in err and len(err.splitlines()) == 1)), "mutant", number, code, err)
    if code == 0:
        code, out, err = run("log", "check", "--log", log)
        check(code in (0, 1) and not err, "mutant", number, "can be checked", code, err)
        for job in json.loads(fine("job", "list", "--json", "--log", log))[:2]:
            code, out, err = run("job", "record", job["job"], "--log", log)
            check(code in (0, 2, 3) and "fault of the program" not in err, "mutant", number, "its record", code, err)
check(refused > (5 if FEW else 20), "mutants are refused", refused, mutants)

# three benches, merged in all six orders
four, five = path("four.sqlite"), path("five.sqlite")
fine("log", "merge", one, "--log", four)
shared = json.loads(fine("job", "list", "--json", "--log", four))[0]["job"]
fine("job", "note", shared, "at bench four", "--log", four, "--bench", "four")
fine("job", "note", shared, "at bench one", "--log", one, "--bench", "one")
cured_job(five, "two-causes.json")
digests = set()
for number, order in enumerate(itertools.permutations([one, four, five])):
    merged = path(f"merged{number}.sqlite")
    for each in order:
        fine("log", "merge", each, "--log", merged)
    digests.add(fine("log", "digest", "--log", merged))
    check("0 entries new" in fine("log", "merge", *order, "--log", merged).splitlines()[-1], "again changes nothing")
check(len(digests) == 1, "the same log in all six orders", digests)
out = fine("job", "show", shared, "--log", path("merged0.sqlite"))
check("Two benches each added entry" in out, "what was written apart is said", out)
code, out, err = run("log", "merge", one, "--log", one)
check(code == 6 and "itself" in err, "not into itself", err)

# a person is taken out, and stays out
code, out, err = run("log", "redact", "Orla Fernhill-Brook", "--log", one)
check(code == 0 and "Taken out of 1" in out, out, err)
for name in os.listdir(FOLDER):
    if name.startswith("one.sqlite"):
        check(b"Fernhill-Brook" not in open(path(name), "rb").read(), name, "holds nothing of them")
check("kept out" in fine("log", "merge", four, "--log", one), "an older copy does not bring them back")
check("Fernhill-Brook" not in fine("log", "export", "--log", one), "not in an export")
check("Fernhill-Brook" not in fine("job", "record", shared, "--log", one), "nor in a record")

# spreadsheets and SQL
for table in ("jobs", "open_jobs", "fixes", "fixes_by_cause", "fixes_by_finding", "readings", "closed_finding"):
    rows = list(csv.reader(io.StringIO(fine("log", "csv", table, "--log", path("merged0.sqlite")))))
    check(len(rows) >= 1 and all(len(row) == len(rows[0]) for row in rows), table, "has one width")
code, out, err = run("log", "csv", "event", "--log", one)
check(code == 2 and "fixes_by_cause" in err, "says which tables there are", err)
rows = list(csv.DictReader(io.StringIO(fine("cures", "bearing-dry", "--csv", "--log", path("merged0.sqlite")))))
check(rows[0]["repair"] == "repair-oil-bearings" and rows[0]["cured"] == "3", "the cure table as CSV", rows)

# backup
fine("log", "backup", path("backup.sqlite"), "--log", one)
check(fine("log", "digest", "--log", path("backup.sqlite")) == fine("log", "digest", "--log", one), "a backup is the same")
code, out, err = run("log", "backup", path("backup.sqlite"), "--log", one)
check(code in (3, 6) and ("already" in err or "no output replaces" in err), "no backup over another", err)

# learning from it, and going back
out = fine("learn", "--log", path("merged0.sqlite"))
check("Learned from 3 closed jobs" in out, out)
said = "Numbers learned from 3 closed jobs"
case = os.path.join(DEMO, "dry-bearings.json")
check(said in fine("diagnose", case, "--log", path("merged0.sqlite")), "diagnose says so")
check(said in fine("quick", "squeal", "--log", path("merged0.sqlite")), "quick says so")
check(said in fine("job", "new", case, "--log", path("merged0.sqlite")), "job says so")
check(json.loads(fine("diagnose", "--json", case, "--log", path("merged0.sqlite")))["learned-from-jobs"] == 3, "JSON says so")
shipped = fine("diagnose", case)
check(fine("diagnose", case, "--no-learning", "--log", path("merged0.sqlite")) == shipped, "a flag leaves it out")
check(said in fine("learn", "report", "--log", path("merged0.sqlite")).replace("Learned from", "Numbers learned from"), "the report")
check(json.loads(fine("learn", "forget", "--json", "--log", path("merged0.sqlite")))["says"].startswith("Forgotten"), "forget as JSON")
for words in (["learn", "report"], ["learn", "forget"]):
    none = json.loads(fine(*words, "--json", "--log", path("merged0.sqlite")))
    check(none["learned"] is False and len(none["says"]) > 10, *words, "says as JSON that nothing was learned", none)
check(fine("diagnose", case, "--log", path("merged0.sqlite")) == shipped, "forgotten")


# troubles
def trouble(name, words, *says, code_wanted=6, **more):
    code, out, err = run(*words, **more)
    check(code == code_wanted and len(err.splitlines()) == 1 and all(s in err for s in says), name, code, err, out[:200])


good = path("good.sqlite")
cured_job(good, "dry-bearings.json")
digest = fine("log", "digest", "--log", good)
note = ["job", "note", "last", "a note", "--log"]
db = sqlite3.connect(good)
db.execute("BEGIN IMMEDIATE")
trouble("locked", [*note, good, "--wait", "0.1"], good, "locked", "try again")
db.rollback()
db.close()
check(fine("log", "digest", "--log", good) == digest, "a locked log lost nothing")

db = sqlite3.connect(path("newer.sqlite"))
sqlite3.connect(good).backup(db)
db.execute("PRAGMA user_version = 99")
db.close()
before = open(path("newer.sqlite"), "rb").read()
trouble("newer", ["log", "check", "--log", path("newer.sqlite")], "newer Wheeltapper")
check(open(path("newer.sqlite"), "rb").read() == before, "a newer log is not touched")

whole = open(good, "rb").read()
open(path("torn.sqlite"), "wb").write(whole[:4096] + b"\xff" * 4096 + whole[8192:])
before = open(path("torn.sqlite"), "rb").read()
code, out, err = run("log", "check", "--log", path("torn.sqlite"))
check(code in (1, 6) and (out or err), "a torn log is said", code, out, err)
trouble("torn", [*note, path("torn.sqlite")], "damaged", "salvage")
check(open(path("torn.sqlite"), "rb").read() == before, "a torn log is not touched")
open(path("text.sqlite"), "w").write("this is no log\n" * 100)
trouble("text", [*note, path("text.sqlite")], "no log of Wheeltapper")
trouble("folder", [*note, FOLDER], "folder")
trouble("none", ["log", "check", "--log", path("nowhere/none.sqlite")], "there is no log")


def nobody():  # root may write everywhere
    if os.getuid() == 0:
        os.setgid(65534)
        os.setuid(65534)


locked = path("locked")
os.mkdir(locked)
shutil.copy(good, os.path.join(locked, "log.sqlite"))
os.chmod(os.path.join(locked, "log.sqlite"), 0o444)
os.chmod(locked, 0o555)
trouble("read-only", [*note, os.path.join(locked, "log.sqlite")], "can't be written", preexec_fn=nobody)
trouble("read-only folder", ["job", "new", "--family", "ac-series", "--quiet", "--log", os.path.join(locked, "new.sqlite")], "new.sqlite", "--log", preexec_fn=nobody)
for words in (["job", "list"], ["cures"], ["history"], ["log", "check"], ["log", "export"], ["job", "record", "last"]):
    code, out, err = run(*words, "--log", os.path.join(locked, "log.sqlite"), preexec_fn=nobody)
    check(code == 0 and not err and out, "a log that can't be written can be read:", *words, code, err)
os.chmod(locked, 0o755)

# A real full disk, where this machine lets us make one; the unit tests fill SQLite's own page limit everywhere.
disk = path("disk")
os.mkdir(disk)
if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", disk], capture_output=True).returncode == 0:
    small = os.path.join(disk, "log.sqlite")
    cured_job(small, "dry-bearings.json")
    written = 0
    for _ in range(60):
        code, out, err = run("job", "note", "last", "x" * 30000, "--log", small)
        if code != 0:
            break
        written += 1
    check(code == 6 and "disk is full" in err and len(err.splitlines()) == 1, "a full disk is said", code, err)
    notes = [e for e in json.loads(fine("job", "show", "last", "--json", "--log", small))["events"] if e["kind"] == "note"]
    check(len(notes) == written, "a full disk lost nothing", len(notes), written)
    code, out, err = run("log", "export", os.path.join(disk, "all.jsonl"), "--log", small)
    check(code == 5 and not os.path.exists(os.path.join(disk, "all.jsonl")), "no half export", code, err, os.listdir(disk))
    subprocess.run(["umount", disk])
else:
    print("note: no tmpfs may be mounted here, so no disk was filled")

shutil.rmtree(FOLDER)
finish()
