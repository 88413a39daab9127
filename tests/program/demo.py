"""Each demo case: the intended causes come first, the first steps are cheap ones, and the text is the reviewed one.

With --renew behind the two arguments the golden texts are written anew; read them before you commit them.
"""
import json
import os
import re
import sys

from common import DEMO, ROOT, check, finish, run

GOLDEN = os.path.join(ROOT, "tests", "program", "golden")
expected = json.load(open(os.path.join(ROOT, "tests", "program", "demo_expected.json")))["cases"]
places = {p["id"]: p.get("side", "locomotive") for p in json.load(open(os.path.join(ROOT, "knowledge", "places.json")))["places"]}
opens = {}
for name in sorted(os.listdir(os.path.join(ROOT, "knowledge", "checks"))):
    for item in json.load(open(os.path.join(ROOT, "knowledge", "checks", name)))["checks"]:
        opens[item["id"]] = item["opens"]

check(len(expected) >= 11, "at least eleven demo cases")
for case in expected:
    file = os.path.join(DEMO, case["file"])
    code, out, err = run("diagnose", "--json", file)
    check(code == 0, case["file"], err)
    told = json.loads(out)
    ranking = [c["id"] for c in told["causes"]]
    for cause in case["causes"]:
        check(cause in ranking[: case["within"]], case["file"], cause, "not among the first", ranking[:4])
    check(told["nothing-wrong"] == case.get("nothing-wrong", False), case["file"], "nothing wrong")
    calls = [v.get("call") for v in told["verdicts"]]
    if case.get("too-close"):
        check("too-close" in calls and not all(v["made"] for v in told["verdicts"]), case["file"], calls)
    if case.get("rig-first"):
        check(places[told["causes"][0]["place"]] != "locomotive", case["file"], "a rig cause first")
    if case.get("gate"):
        check(case["gate"] in [g["rule"] for g in told["gates"]], case["file"], "its safety rule fires", told["gates"])
        check(all(s["power"] == "unplugged" for s in told["plan"]["steps"]), case["file"], "nothing powered is offered")
    for step in told["plan"]["steps"][:3]:
        check(step["kind"] == "repair" or opens[step["id"]] in ("nothing", "cover"), case["file"], "an invasive check early", step["id"])
    code, text, err = run("diagnose", "--width", "80", file)
    diagnosis = text
    said_of_it = [("cat", open(file).read()), ("wheeltapper diagnose", text)]
    check(max(len(line) for line in text.splitlines()) <= 80, case["file"], "a line is too long")
    screen = 50 if not text.split("\n\n")[1].startswith("STOP") else 60  # a hazard's cautions come on top
    check(len(text.splitlines()) <= screen, case["file"], "does not fit one screen")
    code, text, err = run("assess", "--width", "80", file)
    if told["bench"]["drives"] or told["bench"]["losses"]:
        said_of_it.append(("wheeltapper assess", text))
        check(max(len(line) for line in text.splitlines()) <= 80, case["file"], "a line of assess is too long")
    # The reviewed text has the case and what is said of it together, as somebody would see it who types this.
    typed = "\n".join(f"$ {command} cases/demo/{case['file']}\n{said}" for command, said in said_of_it)
    golden = os.path.join(GOLDEN, case["file"].replace(".json", ".txt"))
    if "--renew" in sys.argv:
        os.makedirs(GOLDEN, exist_ok=True)
        open(golden, "w").write(typed)
    check(open(golden).read() == typed, case["file"], "differs from its golden text")
    if told["plan"]["steps"] and not told["nothing-wrong"]:
        step = told["plan"]["steps"][0]
        first_caution = diagnosis.find(step["cautions"][0]["text"].split(".")[0][:20]) if step["cautions"] else -1
        check(first_caution < 0 or first_caution < diagnosis.find("1. "), case["file"], "the caution stands after its step")
# What the README shows is what its commands print, and a part of a golden dialogue.
readme = open(os.path.join(ROOT, "README.md")).read()
blocks = list(re.finditer(r"```text\n(.*?)```", readme, re.S))
dialogue = open(os.path.join(GOLDEN, "jobs", "dry-bearings.txt")).read()
for block in blocks:
    command = re.findall(r"`wheeltapper ((?:diagnose|assess) [^`]*)`", readme[:block.start()])[-1]
    code, out, err = run(*command.split(), "--width", "80", cwd=ROOT)
    check(code == 0 and (block.group(1) in out + "\n" or block.group(1) in dialogue), "README: not what is printed:", command, block.group(1)[:200])
check(len(blocks) == 4, "the README shows what is printed", len(blocks))
finish()
