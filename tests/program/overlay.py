"""A shop's own cause, laid over the shipped knowledge as merge patches (RFC 7396): one short file adds it with all that
belongs to it, the example of the repository is such a file, and patches change what they say and nothing else."""
import json
import os
import tempfile

import jsonschema

from common import ROOT, check, finish, run

OWN = os.path.join(ROOT, "cases", "overlay")
EXAMPLE = os.path.join(OWN, "sand.json")


def diagnose(*words):
    code, out, err = run("quick", *words, "--json")
    check(code == 0, words, code, err[:300])
    return json.loads(out)


def explain(id, *words):
    code, out, err = run("explain", id, "--width", "200", "--all", *words)
    check(code == 0, id, code, err[:300])
    return out


def over(content):
    folder = tempfile.mkdtemp(prefix="wheeltapper-")
    json.dump(content, open(os.path.join(folder, "own.json"), "w"))
    return folder


own = json.load(open(EXAMPLE))
check(len(open(EXAMPLE).read().splitlines()) <= 40, "the example has at most 40 lines")
check([len(own[kind]) for kind in ("causes", "findings", "checks", "repairs")] == [1, 3, 1, 1], "a cause, three findings, a check, a repair")
schema = json.load(open(os.path.join(ROOT, "knowledge", "schema", "knowledge.schema.json")))
wrong = [e.message for e in jsonschema.Draft7Validator(schema).iter_errors(own)]
check(not wrong, "the example fits the schema", wrong[:3])
code, out, err = run("lint", "--knowledge", OWN)
check(code == 0 and " 0 found" in out, "nothing is missing in it", out, err)
found = diagnose("crunch-by-hand", "grinding", "ran-outdoors-on-sand", "--knowledge", OWN)
check(found["causes"][0]["id"] == "sand-in-gears", "its cause is found", found["causes"][:2])
check(found["plan"]["steps"][0]["id"] == "check-grease-on-paper", "and its check comes first", found["plan"]["steps"][0]["id"])
check("sand.json" in explain("sand-in-gears", "--knowledge", OWN), "explain says from which file it comes")
code, out, err = run("show", "causes", "sand", "--knowledge", OWN)
check("sand.json" in out and "sand-in-gears" in out, "so does show", out)
code, out, err = run("show", "causes", "sand", "--knowledge", OWN, "--json")
check(json.loads(out)[0]["file"].endswith("sand.json"), "for programs too", out)

# A patch of one number changes that number and nothing else; null takes one away; the whole card stays.
plain = explain("bearing-dry").splitlines()
patched = explain("bearing-dry", "--knowledge", over({"causes": [{"id": "bearing-dry", "shows": {"squeal": 0.5, "grinding": None}}]})).splitlines()
lost, new = [line for line in plain if line not in patched], [line for line in patched if line not in plain]
check([line.split("(")[-1].rstrip(")") for line in lost if "%" in line] == ["squeal", "grinding"], "what went", lost)
check([line.split()[0] for line in new if "%" in line] == ["50"], "what came", new)
check(any("own.json, laid over knowledge/causes/" in line for line in new), "both files are named", new)

# Numbers of a family of its own, and what applies to it follows from the causes that it has.
can = over({"causes": [{"id": "bearing-dry", "rate": {"dc-can": 30}, "shows": {"squeal": {"all": 0.75, "dc-can": 0.4}}},
                       {"id": "commutator-dirty", "rate": {"dc-can": 20}}]})
code, out, err = run("quick", "squeal", "--json", "--knowledge", can, "--family", "dc-can")
causes = [each["id"] for each in json.loads(out)["causes"]]
check(sorted(causes) == ["bearing-dry", "commutator-dirty"], "the causes of the family alone", causes)
check(json.loads(out)["plan"]["steps"] and all("reverser" not in step["id"] for step in json.loads(out)["plan"]["steps"]), "and its checks", out[-600:])
code, out, err = run("quick", "squeal", "--knowledge", can)
check(code == 2 and "--family ID, one of ac-series, dc-can" in err, "which family must be said once there are two", code, err)
code, out, err = run("job", "new", "-q", "--family", "dc-can", "--knowledge", can, "--log", os.path.join(can, "log.sqlite"))
check(code == 0, "a job of that family", code, err)
case = {"title": "T", "locomotive": {"family": "dc-can"}, "runs": [{"kind": "neutral", "readings": {"amps": "0.2 A"}}]}
json.dump(case, open(os.path.join(can, "case"), "w"))
code, out, err = run("diagnose", os.path.join(can, "case"), "--knowledge", can)
check(code == 3 and "#/runs/0/kind: is \"neutral\", a run that the family dc-can cannot make; allowed: motor-only, light" in err, "a run that it can't make", err)
case["runs"] = [{"kind": "light", "readings": {"amps": "0.2 A"}}]
json.dump(case, open(os.path.join(can, "case"), "w"))
code, out, err = run("diagnose", os.path.join(can, "case"), "--knowledge", can)
check(code == 0, "one that it can", code, err)
finish()
