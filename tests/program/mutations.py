"""Mutated case and knowledge files: each is refused with a message that names the file, and exit code 3; none crashes.

The mutations are made from the shipped files by a fixed seed: missing key, wrong type, bad unit, negative probability,
unknown id, duplicate id, duplicate key, truncated file, deep nesting, huge number, control characters, not UTF-8.
"""
import copy
import glob
import json
import os
import random
import tempfile

from common import DEMO, FEW, ROOT, check, finish, run

MAY_BE_MISSING = ("skill", "shows", "found-by", "cured-by", "hides", "likelier-after")
SHOWS_A_FINDING = next(f"{check['id']}/{result['id']}" for path in sorted(glob.glob(os.path.join(ROOT, "knowledge", "checks", "*.json")))
                       for check in json.load(open(path))["checks"] for result in check["results"] if "finding" in result)
dice = random.Random(20)
mutants = []  # (kind, what, bytes)


def text(value):
    return json.dumps(value).encode()


def of_case(name):
    case = json.load(open(os.path.join(DEMO, name)))
    def add(what, change):
        mutant = copy.deepcopy(case)
        change(mutant)
        mutants.append(("case", what, text(mutant)))
    add("missing title", lambda c: c.pop("title"))
    add("missing locomotive", lambda c: c.pop("locomotive"))
    add("missing family", lambda c: c["locomotive"].pop("family"))
    add("unknown family", lambda c: c["locomotive"].update(family="steam-real"))
    add("family without knowledge", lambda c: c["locomotive"].update(family="dcc"))
    add("title a number", lambda c: c.update(title=7))
    add("unknown key", lambda c: c.update(limts=[]))
    add("answers a list", lambda c: c.update(answers=["squeal"]))
    add("unknown finding", lambda c: c.setdefault("answers", {}).update({"squeel": "yes"}))
    add("answer not a word", lambda c: c.setdefault("answers", {}).update({"squeal": "perhaps"}))
    add("unknown context", lambda c: c.setdefault("known", {}).update({"adj-just-oild": True}))
    add("context not a boolean", lambda c: c.setdefault("known", {}).update({"adj-just-oiled": "yes"}))
    add("unknown repair", lambda c: c.update(tried=[{"repair": "repair-nothing"}]))
    add("unknown check", lambda c: c.update(checks={"check-nothing": "clean"}))
    add("unknown result", lambda c: c.update(checks={"check-cars-slope": {"nothing": "seen"}}))
    add("huge text", lambda c: c.update(title="x" * 5000))
    add("control characters", lambda c: c.update(title="a\u0007b"))
    if case.get("runs"):
        add("bad unit", lambda c: c["runs"][0]["readings"].update(amps="2.4 furlongs"))
        add("unit of another kind", lambda c: c["runs"][0]["readings"].update(amps="2.4 V"))
        add("no unit", lambda c: c["runs"][0]["readings"].update(amps="2.4"))
        add("a number for a reading", lambda c: c["runs"][0]["readings"].update(amps=2.4))
        add("huge number", lambda c: c["runs"][0]["readings"].update(amps="1e999 A"))
        add("not a number", lambda c: c["runs"][0]["readings"].update(amps="nan A"))
        add("negative doubt", lambda c: c["runs"][0]["readings"].update(amps="2.4 A +- -1"))
        add("laps without time", lambda c: c["runs"][0].pop("time"))
        add("no laps", lambda c: c["runs"][0].update(laps=0))
        add("half a lap", lambda c: c["runs"][0].update(laps=2.5))
        add("time of nothing", lambda c: c["runs"][0].update(time="0 s"))
        add("unknown kind of run", lambda c: c["runs"][0].update(kind="flying"))
        add("unknown quantity", lambda c: c["runs"][0]["readings"].update(ampz="2 A"))
        add("limit without bound", lambda c: c["limits"][0].pop("at-most"))
        add("limit upside down", lambda c: c["limits"][0].update({"at-least": "9 A"}))
        add("meter without doubt", lambda c: c["rig"]["meters"].update(amps={"unit": "A"}))
        add("negative meter", lambda c: c["rig"]["meters"].update(amps={"unit": "A", "counts": -3, "step": 0.01}))
        add("loop of nothing", lambda c: c["rig"].update(loop="0 in"))
    if "healthy" in case:
        add("healthy without runs", lambda c: c["healthy"].pop("runs"))
        add("healthy run of an unknown kind", lambda c: c["healthy"]["runs"][0].update(kind="flying"))
        add("same meters a word", lambda c: c["healthy"].update({"same-meters": "yes"}))
        add("minute below nought", lambda c: c["runs"][0].update(minute=-1))
        add("winding without its cold ohms", lambda c: c["locomotive"].update(winding={"hot": "3 Ohm", "cold-temperature": "20 C", "room-temperature": "20 C"}))
        add("winding that got colder", lambda c: c["locomotive"].update(winding={"cold": "3 Ohm", "hot": "2 Ohm", "cold-temperature": "20 C", "room-temperature": "20 C"}))
        add("unknown class", lambda c: c["locomotive"].update(winding={"cold": "2 Ohm", "hot": "3 Ohm", "cold-temperature": "20 C", "room-temperature": "20 C", "class": "Q"}))
        add("drive in volts", lambda c: c["locomotive"].update(drive={"resistance": "3 V"}))
        add("wheel of nothing", lambda c: c["locomotive"].update({"wheel-diameter": "0 mm"}))
        add("leads of string", lambda c: c["rig"].update(leads={"wire": "string", "length": "2 m"}))
        add("leads without length", lambda c: c["rig"].update(leads={"wire": "18 AWG"}))
        add("a piece of nothing", lambda c: c["rig"]["sections"].append({"count": 2}))
        add("a piece both ways", lambda c: c["rig"]["sections"].append({"straight": "1 m", "curve": "1 m", "degrees": 30}))
        add("loop and sections", lambda c: c["rig"].update(loop="4 m"))
        add("half a piece", lambda c: c["rig"]["sections"][0].update(count=1.5))
        add("series elsewhere", lambda c: c["runs"][0].update(series="../other.csv"))
        add("series that is not there", lambda c: c["runs"][0].update(series="nowhere.csv"))
        add("series without a file name", lambda c: c["runs"][0].update(series=""))
    raw = text(case)
    for _ in range(3):
        mutants.append(("case", "truncated", raw[: dice.randrange(1, len(raw) - 1)]))
    mutants.append(("case", "not UTF-8", raw.replace(b"a", b"\xff", 1)))
    mutants.append(("case", "duplicate key", raw[:-1] + b', "title": "again"}'))
    mutants.append(("case", "huge number", raw[:-1] + b', "observer": 1e999}'))
    mutants.append(("case", "deep nesting", b"[" * 100000))
    mutants.append(("case", "deep nesting, closed", b"[" * 50 + b"]" * 50))
    mutants.append(("case", "empty", b""))
    mutants.append(("case", "raw control character", raw.replace(b"e", b"\x01", 1)))


def of_knowledge(path):
    kind = next(iter(k for k in json.load(open(path)) if k != "$schema"))
    file = json.load(open(path))
    file[kind] = file[kind][:3]
    def add(what, change):
        mutant = copy.deepcopy(file)
        mutant[kind][0]["id"] = "own-item"  # a new one: what a patch of a shipped one leaves out stays as it is
        change(mutant[kind][0])
        mutants.append(("knowledge", f"{kind}: {what}", text(mutant)))
    first = file[kind][0]
    for key in list(first):
        if key not in ("refines", "implies-no", "echoes", "reading", "words", "levels", "side", "ask", "neutral", "not-when",
                       "only-when", "hold") and not (kind == "causes" and key in MAY_BE_MISSING):
            add(f"{key} missing", lambda item, k=key: item.pop(k))
        add(f"{key} of a wrong type", lambda item, k=key: item.update({k: [[1]]}))
    add("unknown key", lambda item: item.update(colour="red"))
    add("bad id", lambda item: item.update(id="Not An Id"))
    if kind == "findings":
        add("refines itself", lambda item: item.update(refines=[item["id"]]))
    if kind == "causes":
        add("negative rate", lambda item: item.update(rate={"ac-series": -4}))
        add("rate of an unknown family", lambda item: item.update(rate={"steam-real": 4}))
        some = next(iter(first["shows"]))
        add("negative probability", lambda item: item["shows"].update({some: -0.5}))
        add("probability above 1", lambda item: item["shows"].update({some: 1.5}))
        add("unknown finding", lambda item: item["shows"].update({"no-such-finding": 0.5}))
        add("rising levels", lambda item: item["shows"].update({"ohms-up": [0.1, 0.2, 0.3]}))
        add("too few levels", lambda item: item["shows"].update({"ohms-up": [0.1]}))
        add("own number of an unknown family", lambda item: item["shows"].update({some: {"all": 0.5, "steam-real": 0.1}}))
        add("own number without the others'", lambda item: item["shows"].update({some: {"ac-series": 0.1}}))
        add("unknown check", lambda item: item["found-by"].update({"check-none/result": 0.5}))
        add("result that shows a finding", lambda item: item["found-by"].update({SHOWS_A_FINDING: 0.5}))
        add("found no more often than falsely", lambda item: item["found-by"].update({next(iter(item["found-by"])): 0.001}))
        add("unknown repair", lambda item: item["cured-by"].update({"repair-none": 0.9}))
        add("cured for sure", lambda item: item["cured-by"].update({next(iter(item["cured-by"])): 1}))
        add("unknown context", lambda item: item.update({"likelier-after": {"adj-none": 2}}))
        add("a factor too large for its share", lambda item: item.update({"likelier-after": {"adj-stored-5-years": 7}}))
        add("hides an unknown finding", lambda item: item.update(hides={"no-such-finding": 0.5}))
        add("unknown place", lambda item: item.update(place="nowhere"))
    if kind == "checks":
        add("unknown caution", lambda item: item["cautions"].append("caution-none"))
        add("unknown power", lambda item: item.update(power="mains"))
    if kind == "repairs":
        add("a least cost above the most", lambda item: item.update({"parts-cost": [9, 3]}))
    twice = copy.deepcopy(file)
    twice[kind].append(twice[kind][0])
    mutants.append(("knowledge", f"{kind}: duplicate id", text(twice)))
    raw = text(file)
    mutants.append(("knowledge", f"{kind}: truncated", raw[: dice.randrange(1, len(raw) - 1)]))
    mutants.append(("knowledge", f"{kind}: not UTF-8", raw.replace(b"e", b"\xc3\x28", 1)))


for name in ("dry-bearings.json", "two-causes.json", "too-close.json", "binds-once-a-turn.json", "full-sheet.json"):
    of_case(name)
for path in sorted(glob.glob(os.path.join(ROOT, "knowledge", "*.json")) + glob.glob(os.path.join(ROOT, "knowledge", "*", "a*.json")) + glob.glob(os.path.join(ROOT, "knowledge", "*", "m*.json"))):
    if "schema" not in path:
        of_knowledge(path)

series = open(os.path.join(DEMO, "slow-spot.csv")).read()
for what, content in {
    "no head": series.split("\n", 2)[2],
    "no amps": series.replace("amps", "ohms", 1),
    "unit of another kind": series.replace("amps,", "amps (V),", 1),
    "time that falls": series + "1.0,2.1,\n",
    "amps a word": series.replace("\n0.4,", "\n0.4,much", 1),
    "negative amps": series.replace("\n0.4,", "\n0.4,-", 1),
    "huge amps": series.replace("\n0.4,", "\n0.4,1e99", 1),
    "not a number": series + "900,nan,\n",
    "two readings": "\n".join(series.split("\n")[:4]),
    "empty": "",
}.items():
    mutants.append(("series", what, content.encode()))
mutants.append(("series", "not UTF-8", series.encode().replace(b"2.1", b"\xff.1", 1)))
mutants.append(("series", "nulls", series.encode() + b"\x00" * 50))

check(len(mutants) >= 300, "at least 300 mutants", len(mutants))
with tempfile.TemporaryDirectory() as folder:
    for number, (where, what, content) in list(enumerate(mutants))[:: 4 if FEW else 1]:
        place = os.path.join(folder, str(number))
        os.makedirs(place)
        path = os.path.join(place, "mutant.json")
        if where == "series":
            case = json.load(open(os.path.join(DEMO, "slow-spot.json")))
            case["runs"][0]["series"] = "mutant.csv"
            open(path, "w").write(json.dumps(case))
            path = os.path.join(place, "mutant.csv")
        open(path, "wb").write(content)
        code, out, err = run("lint", "--knowledge", place) if where == "knowledge" else run("diagnose", os.path.join(place, "mutant.json"))
        check(code == 3, number, what, "exit code", code, out[-200:], err[:300])
        check(os.path.basename(path) in err or "nowhere.csv" in err, number, what, "the message does not name the file:", err[:300])
finish()
