"""What the program tests share: running the real program, counting checks, closing with a count."""
import json
import os
import subprocess
import sys

import jsonschema

PROGRAM, ROOT = os.path.abspath(sys.argv[1]), sys.argv[2]
FEW = "--few" in sys.argv  # under sanitizers, where each process costs ten times as much
DEMO = os.path.join(ROOT, "cases", "demo")
_passed, _failed = 0, 0


def run(*args, **more):
    env = dict(os.environ, **more.pop("env", {}))
    done = subprocess.run([PROGRAM, *args], capture_output=True, timeout=600, env=env, **more)
    out = done.stdout.decode(errors="replace")
    check_output(args, done.returncode, out)
    return done.returncode, out, done.stderr.decode(errors="replace")


with open(os.path.join(ROOT, "engine", "report", "schema", "output.schema.json")) as file:
    OUTPUT = json.load(file)
_validators = {}


def kind_of_output(args):
    """Which definition of the schema of outputs a command's --json follows."""
    if args[0] == "job":
        return {"list": "jobs", "show": "job"}.get(args[1], "position")
    if args[0] == "history":
        return "history" if args[1:2] and not args[1].startswith("--") else "locomotives"
    return {"diagnose": "diagnosis", "quick": "diagnosis", "assess": "assessment", "show": "list", "learn": "learned"}.get(args[0], args[0])


def check_output(args, code, out):
    """Every output for programs fits its schema, whatever test asked for it."""
    if code != 0 or "--json" not in args:
        return
    kind = kind_of_output(args)
    if kind not in _validators:
        _validators[kind] = jsonschema.Draft7Validator({"$ref": "#/definitions/" + kind, "definitions": OUTPUT["definitions"]})
    try:
        told = json.loads(out)
    except ValueError:
        check(False, *args, "prints no JSON:", out[:300])
        return
    wrong = next(_validators[kind].iter_errors(told), None)
    check(wrong is None, *args, "does not fit the schema of its output:", wrong and (list(wrong.absolute_path), wrong.message[:300]))


def check(holds, *what):
    global _passed, _failed
    if holds:
        _passed += 1
    else:
        _failed += 1
        print("FAILED:", *what)


def finish():
    print(f"{_passed} passed, {_failed} failed")
    sys.exit(1 if _failed or not _passed else 0)
