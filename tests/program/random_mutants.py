"""Random mutants of every format that the program reads: cases, knowledge, exports of a log, series, lines typed at a
guided job, words of a command. None ends in a fault of the program (exit 5), a crash or a hang; what is refused has a
message; an import leaves what was there as it was. 300 mutants, 5000 with --long, 50 with --few; --seed N for others.
"""
import copy
import glob
import json
import os
import random
import sys
import tempfile

from common import DEMO, PROGRAM, ROOT, check, finish, run

LONG = "--long" in sys.argv
SEED = int(sys.argv[sys.argv.index("--seed") + 1]) if "--seed" in sys.argv else 20261128
COUNT = 5000 if LONG else 50 if "--few" in sys.argv else 300
dice = random.Random(SEED)
ODD = [None, True, False, 0, -1, 1, 1.5, 1e308, -1e308, 5e-324, 2**63, "", " ", "-", "yes", "no", "1e999 A", "-3 A", "NaN",
       "2.4", "2.4 A +- -1 A", "9999999999 A", "é", "\u202eA", "\u2028", "\u0085", "x" * 5000, [], {}, [[]], [None],
       {"": ""}, {"value": None}, "../../etc/passwd", "squeal", "loaded", "ac-series", "check-roll-by-hand"]


def nodes(value, path=()):
    """All places in a JSON value."""
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, each in items:
        yield from nodes(each, (*path, key))


def mutate(value):
    value = copy.deepcopy(value)
    for _ in range(dice.choice((1, 1, 2, 4))):
        path = dice.choice([p for p in nodes(value) if p] or [()])
        if not path:
            return dice.choice(ODD)
        place = value
        for key in path[:-1]:
            place = place[key]
        what = dice.randrange(5)
        if what == 0:
            del place[path[-1]]
        elif what == 1 and isinstance(place, dict):
            place[dice.choice(["", "unknown", "id", "value", "é", "x" * 300])] = place.pop(path[-1])
        elif what == 2 and isinstance(place, list):
            place.append(copy.deepcopy(place[path[-1]]))
        else:
            place[path[-1]] = dice.choice(ODD)
    return value


def scramble(data):
    data = bytearray(data)
    for _ in range(dice.choice((1, 2, 5))):
        if not data:
            break
        at = dice.randrange(len(data))
        what = dice.randrange(5)
        if what == 0:
            data[at] ^= 1 << dice.randrange(8)
        elif what == 1:
            del data[at:at + dice.randrange(1, 40)]
        elif what == 2:
            data[at:at] = bytes(dice.randrange(256) for _ in range(dice.randrange(1, 9)))
        elif what == 3:
            end = min(len(data), at + 30)
            data[at:at] = data[at:end]
        else:
            data = data[:at]
    return bytes(data)


def tame(what, code, out, err):
    check(code in (0, 1, 2, 3, 4, 6), SEED, what, "exit", code, err[:300])
    check(code in (0, 1) or err.strip(), SEED, what, "is refused without a message", code)
    text = out + err
    for mark in ("json.exception", "std::", "terminate called", "basic_string", "vector::", "map::at", "array::at"):
        check(mark not in text, SEED, what, "shows the program's inside:", mark, text[-300:])


def write(path, data):
    with open(path, "wb") as file:
        file.write(data if isinstance(data, bytes) else json.dumps(data).encode("utf-8", "surrogatepass"))


with tempfile.TemporaryDirectory() as folder:
    def path(name):
        return os.path.join(folder, name)

    cases = [json.load(open(each)) for each in sorted(glob.glob(os.path.join(DEMO, "*.json")))]
    files = [json.load(open(each)) for each in sorted(glob.glob(os.path.join(ROOT, "knowledge", "**", "*.json"), recursive=True))
             if "schema" not in each]
    series = open(os.path.join(DEMO, "slow-spot.csv"), "rb").read()
    log = path("log.sqlite")
    for case in ("dry-bearings.json", "burning-smell.json", "two-causes.json"):
        run("job", "new", "-q", os.path.join(DEMO, case), "--log", log)
        run("job", "read", "last", "amps=2.2A", "--log", log)
        run("job", "repair", "last", "repair-oil-bearings", "--log", log)
    lines = run("log", "export", "--log", log)[1].splitlines()
    job = run("job", "list", "--json", "--log", log)[1]
    jobs = [each["job"] for each in json.loads(job)]
    typed = ["yes", "no", "none", "unsure", "skip", "why", "back", "help", "hazard", "note it smokes", "2.4 A", "5 laps 35.3 s",
             "1", "1 3", "4", "2 A", "9", "close", "stop now", "it is slow", "230 V", "-1", "0", "1e400 A", "é", "\x1b[2J", ""]

    def of_case(n):
        write(path("mutant.json"), mutate(dice.choice(cases)) if n % 3 else scramble(json.dumps(dice.choice(cases)).encode()))
        return run(dice.choice(("diagnose", "assess")), path("mutant.json"), *dice.choice(((), ("--json",), ("--all",))))

    def of_knowledge(n):
        place = path(f"k{n}")
        os.makedirs(place)
        file = copy.deepcopy(dice.choice(files))
        kind = next(k for k in file if k != "$schema")
        file[kind] = dice.sample(file[kind], min(2, len(file[kind])))
        write(os.path.join(place, "mutant.json"), mutate(file) if n % 3 else scramble(json.dumps(file).encode()))
        return run("lint", "--knowledge", place)

    def of_export(n):
        some = [lines[0]] + [json.dumps(mutate(json.loads(each))) if dice.random() < 0.2 else each for each in lines[1:]]
        data = "\n".join(some).encode("utf-8", "surrogatepass") + b"\n"
        write(path("mutant.jsonl"), scramble(data) if n % 3 == 0 else data)
        other = path("other.sqlite")
        for end in ("", "-wal", "-shm"):
            if os.path.exists(other + end):
                os.remove(other + end)
        run("log", "import", path("mutant.jsonl"), "--log", other)
        tame("checked after a mutant import", *run("log", "check", "--log", other))
        done = run("log", "import", path("mutant.jsonl"), "--log", log)
        after = run("log", "export", "--log", log)[1].splitlines()
        check(set(lines) <= set(after), SEED, n, "an import changed what was there")
        for each in jobs:
            tame("a job after a mutant import", *run("job", "next", each, "--json", "--log", log))
        return done

    def of_series(n):
        case = json.load(open(os.path.join(DEMO, "slow-spot.json")))
        case["runs"][0]["series"] = "mutant.csv"
        write(path("case.json"), case)
        write(path("mutant.csv"), scramble(series))
        return run("assess", path("case.json"))

    def of_dialogue(n):
        own = path(f"d{n}.sqlite")
        said = [scramble(each.encode()) if dice.random() < 0.15 else each.encode() for each in dice.choices(typed, k=12)]
        return run("job", "new", "--family", "ac-series", "--log", own, input=b"\n".join(said) + b"\n")

    def of_words(n):
        part = dice.choice((["quick"], ["explain"], ["show"], ["rig"], ["cures"], ["history"], ["job"], ["log"], ["job", "answer", jobs[0]],
                            ["job", "read", jobs[0]], ["job", "check", jobs[0]], ["job", "say", jobs[0]], ["rig", "gauge"]))
        words = dice.choices(["squeal", "squeal=no", "amps=2.4A", "amps=", "=", "--amps", "2", "--json", "--all", "--width", "40", "-5",
                              "check-roll-by-hand", "none", "next", "list", "last", "é", "", "--", "-", "csv", "jobs", "--length", "4 m",
                              "--bench", "--log"], k=dice.randrange(0, 5))
        return run(*part, *words, env={"XDG_DATA_HOME": folder}, input=b"", cwd=folder)  # some words name outputs

    kinds = (of_case, of_case, of_knowledge, of_knowledge, of_series, of_dialogue, of_words, of_words, of_words, of_export)
    for number in range(COUNT):
        kind = kinds[number % len(kinds)]
        tame(f"{number} {kind.__name__}", *kind(number))
finish()
