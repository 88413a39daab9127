"""Every face says the same of the same facts: the likeliest causes with their chances, and the next step. `diagnose`,
`quick`, the guided job by pipe and by single commands, and the example program in tests/example, which stands on the desk
in memory and on nothing else. Over all demo cases. That the guided job says the same words at a terminal as by pipe is
seen in jobs.py.

Run as: python3 faces.py PROGRAM ROOT EXAMPLE [--few]
"""
import json
import os
import shutil
import subprocess
import sys
import tempfile

from bench_oracle import Oracle
from common import DEMO, FEW, ROOT, check, finish, run

EXAMPLE = os.path.abspath(sys.argv[3])
FOLDER = tempfile.mkdtemp(prefix="wheeltapper-")
MOST_LINES = 12 if FEW else 20
CASES = json.load(open(os.path.join(os.path.dirname(__file__), "demo_expected.json")))["cases"]


def fine(*words, **more):
    code, out, err = run(*words, **more)
    check(code == 0, words, code, err[:300])
    return out


def whole(path):
    """A case with its series in it, as a job keeps it: it can then be read from anywhere."""
    case = json.load(open(path))
    for run_of in case.get("runs", []):
        if "series" in run_of:
            run_of["series"] = {"name": run_of["series"], "text": open(os.path.join(DEMO, run_of["series"])).read()}
    return case


def example(what, lines):
    """What the example says at each of its moments: (causes with chances, next step, key of the prompt)."""
    done = subprocess.run([EXAMPLE, what], input="".join(line + "\n" for line in lines), capture_output=True, text=True, timeout=600)
    check(done.returncode == 0, "the example ends well", done.returncode, done.stderr[:300])
    moments, causes, advised = [], [], ""
    for line in done.stdout.splitlines():
        word, _, rest = line.partition(" ")
        if word == "cause":
            id, chance = rest.split()
            causes.append((id, float(chance)))
        elif word == "advised":
            advised = rest
        elif word.endswith(":") and word[:-1] and word[0].islower():
            moments.append((causes, advised, word[:-1]))
            causes, advised = [], ""
    return moments, done.stdout.splitlines()[-1]


def of_position(told):
    return [(each["id"], each["chance"]) for each in told["causes"]], told.get("advised", ""), told.get("key", "")


def of_diagnosis(told):
    steps = told["plan"]["steps"]
    return [(each["id"], each["chance"]) for each in told["causes"]][:8], steps[0]["id"] if steps else ""


def same(one, other, *what):
    check([id for id, _ in one[0]] == [id for id, _ in other[0]], *what, "ranks alike", one[0][:3], other[0][:3])
    check(all(abs(a - b) < 1e-12 for (_, a), (_, b) in zip(one[0], other[0])), *what, "with the same chances", one[0][:3], other[0][:3])
    check(one[1] == other[1], *what, "advises the same step", one[1], other[1])


def words_of_quick(case):
    words = [finding if word == "yes" else f"{finding}={word}" for finding, word in case.get("answers", {}).items()
             if word not in ("no", "unsure", "not seen")]
    words += [part for finding, word in case.get("answers", {}).items() if word == "no" for part in ("--no", finding)]
    words += [part for id, holds in case.get("known", {}).items() for part in ("--known" if holds else "--known-not", id)]
    words += [part for each in case.get("tried", []) for part in ("--tried", each["repair"])]
    return words + (["--observer", case["observer"]] if "observer" in case else [])


for expected in CASES[: 1 if FEW else None]:
    name = expected["file"]
    case = whole(os.path.join(DEMO, name))
    log = os.path.join(FOLDER, name + ".sqlite")
    # The case as it is: diagnose, a job begun from it, the example.
    diagnosed = of_diagnosis(json.loads(fine("diagnose", "--json", os.path.join(DEMO, name))))
    fine("job", "new", "-q", os.path.join(DEMO, name), "--log", log)
    position = json.loads(fine("job", "next", "last", "--json", "--log", log))
    same(of_position(position), diagnosed, name, "job, diagnose")
    moments, _ = example(json.dumps(case), [])
    same(moments[0], diagnosed, name, "the example, diagnose")
    # Said line by line: single commands and the example, at every moment.
    oracle, lines, told = Oracle(ROOT, expected["causes"], case), [], [of_position(position)]
    while not position["closed"] and len(lines) < MOST_LINES:
        lines.append(oracle.answer(position))
        position = json.loads(fine("job", "say", "last", lines[-1], "--json", "--log", log))
        told.append(of_position(position))
    moments, end = example(json.dumps(case), lines)
    check(len(moments) == len(told) - position["closed"], name, "as many moments", len(moments), len(told))
    for number, (one, other) in enumerate(zip(moments, told)):
        same(one, other, name, "after line", number)
        check(one[2] == other[2], name, "asks the same after line", number, one[2], other[2])
    check(position["closed"] == (end != "left open"), name, "ends alike", end)
    # The same lines by pipe.
    piped = log + ".pipe"
    fine("job", "new", os.path.join(DEMO, name), "--log", piped, input="".join(line + "\n" for line in lines).encode())
    same(of_position(json.loads(fine("job", "next", "last", "--json", "--log", piped))), told[-1], name, "by pipe")
    # What can be said in one line: quick, diagnose, a job, the example.
    plain = {key: case[key] for key in ("title", "locomotive", "observer", "answers", "known", "tried") if key in case}
    plain["locomotive"] = {"family": case["locomotive"]["family"]}
    if not plain.get("answers"):
        continue
    path = os.path.join(FOLDER, name)
    json.dump(plain, open(path, "w"))
    diagnosed = of_diagnosis(json.loads(fine("diagnose", "--json", path)))
    same(of_diagnosis(json.loads(fine("quick", *words_of_quick(plain), "--json"))), diagnosed, name, "quick, diagnose")
    moments, _ = example(json.dumps(plain), [])
    same(moments[0], diagnosed, name, "the example, diagnose, without runs")

# A person who has nothing but a locomotive: from its family to a cure, and words that are no answer on the way.
lines = ["Fernhill No. 9", "it squeals", "nonsense", "none", "back", "none", "why", "note a drop of oil helped", "4"]
moments, end = example("ac-series", lines)
keys = [key for _, _, key in moments]
check(keys[:4] == ["locomotive", "complaint", "hazards", "hazards"], "a refused line asks again", keys)
check(keys.count("hazards") == 3 and end == "left open", "back asks again", keys, end)
shutil.rmtree(FOLDER)
finish()
