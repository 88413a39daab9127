"""The shipped schemas: they are valid, the shipped files and the JSON output satisfy them."""
import glob
import json
import os

import jsonschema

from common import DEMO, ROOT, check, finish, run


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
    schema = load("knowledge", "schema", kind + ".schema.json")
    files = glob.glob(os.path.join(ROOT, "knowledge", kind + ".json")) + glob.glob(os.path.join(ROOT, "knowledge", kind, "*.json"))
    check(bool(files), kind)
    for file in files:
        wrong = errors(schema, json.load(open(file)))
        check(not wrong, file, wrong[:3])
case_schema = load("cases", "schema", "case.schema.json")
diagnosis = load("engine", "report", "schema", "diagnosis.schema.json")
assessment = load("engine", "report", "schema", "assessment.schema.json")
for name in sorted(name for name in os.listdir(DEMO) if name.endswith(".json")):
    file = os.path.join(DEMO, name)
    wrong = errors(case_schema, json.load(open(file)))
    check(not wrong, name, wrong[:3])
    for command, schema in (("diagnose", diagnosis), ("assess", assessment)):
        code, out, err = run(command, "--json", file)
        wrong = errors(schema, json.loads(out)) if code == 0 else [err]
        check(not wrong, command, name, wrong[:3])
finish()
