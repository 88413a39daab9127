"""The shipped schemas: they are valid, the shipped files and the JSON output satisfy them."""
import glob
import json
import os
import tempfile

import jsonschema

from common import DEMO, FEW, ROOT, check, finish, run


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
diagnosis = load("engine", "report", "schema", "diagnosis.schema.json")
assessment = load("engine", "report", "schema", "assessment.schema.json")
position = load("engine", "report", "schema", "position.schema.json")
log = os.path.join(tempfile.mkdtemp(), "log.sqlite")


def stands(*words):
    code, out, err = run(*words, "--json", "--log", log)
    told = json.loads(out) if code == 0 else {}
    wrong = errors(position, told) if told else [err]
    check(not wrong, words, wrong[:3])
    return told


for name in sorted(name for name in os.listdir(DEMO) if name.endswith(".json"))[:: 5 if FEW else 1]:
    file = os.path.join(DEMO, name)
    wrong = errors(case_schema, json.load(open(file)))
    check(not wrong, name, wrong[:3])
    for command, schema in (("diagnose", diagnosis), ("assess", assessment)):
        code, out, err = run(command, "--json", file)
        wrong = errors(schema, json.loads(out)) if code == 0 else [err]
        check(not wrong, command, name, wrong[:3])
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
power = {each["id"]: each["power"] for path in glob.glob(os.path.join(ROOT, "knowledge", "repairs", "*.json"))
         for each in json.load(open(path))["repairs"]}
listed = [step for name in sorted(os.listdir(DEMO)) if name.endswith(".json")
          for step in json.loads(run("diagnose", "--json", os.path.join(DEMO, name))[1])["plan"]["steps"] if step["kind"] == "repair"]
check(bool(listed) and all(step["power"] == power[step["id"]] for step in listed), "a repair's own power",
      [step["id"] for step in listed if step["power"] != power[step["id"]]])
finish()
