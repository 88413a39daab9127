"""The shipped schemas: they are valid, the shipped files satisfy them, and so does what each command prints with --json
(common.py sees to that for every output of every program test)."""
import copy
import glob
import json
import os
import re
import tempfile

import jsonschema

from common import DEMO, FEW, OUTPUT, ROOT, check, finish, run


def errors(schema, value):
    return [e.message for e in jsonschema.Draft7Validator(schema).iter_errors(value)]


def load(*path):
    with open(os.path.join(ROOT, *path)) as file:
        return json.load(file)


for path in glob.glob(os.path.join(ROOT, "**", "*.schema.json"), recursive=True):
    if "/.build/" not in path:
        jsonschema.Draft7Validator.check_schema(json.load(open(path)))
        check(True, path)
for kind in ("families", "places", "quantities", "causes", "findings", "checks", "repairs", "cautions", "contexts", "rules"):
    schema = load("knowledge", "schema", "knowledge.schema.json")
    files = glob.glob(os.path.join(ROOT, "knowledge", kind + ".json")) + glob.glob(os.path.join(ROOT, "knowledge", kind, "*.json"))
    check(bool(files), kind)
    for file in files:
        wrong = errors(schema, json.load(open(file)))
        check(not wrong, file, wrong[:3])
case_schema = load("cases", "schema", "case.schema.json")
log = os.path.join(tempfile.mkdtemp(), "log.sqlite")


def stands(*words):
    code, out, err = run(*words, "--json", "--log", log)
    told = json.loads(out) if code == 0 else {}
    check(bool(told), words, err)
    return told


for name in sorted(name for name in os.listdir(DEMO) if name.endswith(".json"))[:: 5 if FEW else 1]:
    file = os.path.join(DEMO, name)
    wrong = errors(case_schema, json.load(open(file)))
    check(not wrong, name, wrong[:3])
    for command in ("diagnose", "assess"):
        check(run(command, "--json", file)[0] == 0, command, name)
    run("job", "new", "-q", file, "--log", log)
    stands("job", "next", "last")
    stands("job", "answer", "last", "squeal=unsure")
# A program is told what stands, and what a step needs, by whatever command it writes.
run("job", "new", "-q", os.path.join(DEMO, "dry-bearings.json"), "--log", log)
told = stands("job", "hazard", "last", "burning-smell")
check([each["rule"] for each in told["stop"]] == ["rule-burning-smell"], told["stop"])
told = stands("job", "say", "last", "none")
check(told["step"]["power"] == "unplugged" and told["step"]["steps"] and told["step"]["cautions"], "the step", told)
told = stands("job", "read", "last", "rail-volts=230V")
check({each["withholds"] for each in told["stop"]} == {"live", "touch"} and "step" not in told, "mains at the rail", told)
check("touch" == told["stop"][0]["withholds"], "the strictest first", told["stop"])
# Every other output for programs, once; common.py holds it against its definition.
run("job", "new", "-q", os.path.join(DEMO, "full-sheet.json"), "--log", log)
for words in (["repair", "last", "repair-oil-bearings", "--minutes", "20"], ["read", "last", "amps=1.6A", "lap-rate=9.9"],
              ["read", "last", "amps=1.6A", "lap-rate=9.9", "--direction", "reverse"], ["close", "last", "cured", "bearing-dry"]):
    check(run("job", *words, "--log", log)[0] == 0, *words)
names = json.loads(run("history", "--json", "--log", log)[1])
check(bool(names), "the locomotives of the log", names)
for words in (["job", "list"], ["job", "show", "last"], ["cures"], ["cures", "bearing-dry"], ["cures", "squeal"], ["history", names[0]], ["learn"],
              ["learn", "report"]):
    code, out, err = run(*words, "--json", "--log", log)
    check(code == 0 and len(json.loads(out)) > 0, *words, code, err)
for words in (["quick", "squeal"], ["rig", "ammeter", "--amps", "2", "--ohms", "0.1"], *(["show", kind] for kind in ("families", "causes", "rules"))):
    code, out, err = run(*words, "--json")
    check(code == 0 and len(json.loads(out)) > 0, *words, code, err)
# The schema tells a right output from a wrong one.
told = json.loads(run("diagnose", "--json", os.path.join(DEMO, "full-sheet.json"))[1])
schema = {"$ref": "#/definitions/diagnosis", "definitions": OUTPUT["definitions"]}
told["causes"][0]["chance"] = 1.5
check(bool(errors(schema, told)), "a chance above 1 is seen")
told["causes"][0]["chance"] = 0.5
check(not errors(schema, told), "and nothing else")
del told["bench"]["drives"][0]["indexes"]["resistance"]["low"]
check(bool(errors(schema, told)), "a part that is missing deep inside is seen")

# Schema and reader agree where a case may have an uncertainty.
def places(value, path=()):
    if isinstance(value, dict):
        for key, part in value.items():
            yield from places(part, path + (key,))
    elif isinstance(value, list):
        for at, part in enumerate(value):
            yield from places(part, path + (at,))
    elif isinstance(value, str) and re.fullmatch(r"[0-9.]+ ?[A-Za-z/0-9]+", value):
        yield path


allowed = refused = 0
case = json.load(open(os.path.join(DEMO, "full-sheet.json")))
for path in places(case):
    changed = copy.deepcopy(case)
    part = changed
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] += " +- 0.01"
    by_schema = bool(errors(case_schema, changed))
    file = os.path.join(os.path.dirname(log), "changed.json")
    json.dump(changed, open(file, "w"))
    code, out, err = run("assess", file)
    check((code == 3 and "uncertainty" in err) == by_schema, *path, "reader and schema agree", by_schema, code, err)
    allowed, refused = allowed + (not by_schema), refused + by_schema
check(allowed > 4 and refused > 8, "both kinds were met", allowed, refused)
power = {each["id"]: each["power"] for path in glob.glob(os.path.join(ROOT, "knowledge", "repairs", "*.json"))
         for each in json.load(open(path))["repairs"]}
listed = [step for name in sorted(os.listdir(DEMO)) if name.endswith(".json")
          for step in json.loads(run("diagnose", "--json", os.path.join(DEMO, name))[1])["plan"]["steps"] if step["kind"] == "repair"]
check(bool(listed) and all(step["power"] == power[step["id"]] for step in listed), "a repair's own power",
      [step["id"] for step in listed if step["power"] != power[step["id"]]])
finish()
