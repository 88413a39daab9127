"""Terminal manners, exit codes, near misses."""
import json
import os
import subprocess
import tempfile

from common import DEMO, PROGRAM, check, finish, run

case = os.path.join(DEMO, "dry-bearings.json")
code, out, err = run("--help")
check(code == 0 and "Exit codes" in out and not err, "help")
for command in ("assess", "diagnose", "quick", "rig", "explain", "show", "lint"):
    code, out, err = run(command, "--help")
    check(code == 0 and "Examples:" in out, command, "help has examples")
code, out, err = run()
check(code == 2 and "Usage" in err and not out, "no command")
code, out, err = run("diagnos", case)
check(code == 2 and "diagnose" in err, "near miss of a command", err)
code, out, err = run("explain", "bearing-drie")
check(code == 2 and "bearing-dry" in err, "near miss of an id", err)
code, out, err = run("quick", "sqeal")
check(code == 2 and "squeal" in err, "near miss of a finding", err)
code, out, err = run("diagnose", "no-such-file.json")
check(code == 3 and "no-such-file.json" in err and not out, "missing file", err)
code, out, err = run("diagnose", case, "--width", "7")
check(code == 2 and "--width" in err, "width out of range")
code, out, err = run("quick", "--amps", "2.4 V", "--amps-limit", "2")
check(code == 2 and "2.4 V" in err, "wrong unit", err)
code, out, err = run("quick", "--amps", "two", "squeal")
check(code == 2 and "--amps" in err, "no number", err)
code, out, err = run("diagnose", case)
check("\x1b" not in out, "no colour into a pipe")
code, out, err = run("diagnose", case, "--colour", "always")
check("\x1b[" in out, "colour when asked for")
code, out, err = run("diagnose", case, "--width", "40")
check(code == 0 and max(map(len, out.splitlines())) <= 40, "forty columns", max(map(len, out.splitlines())))
for id_ in ("bearing-dry", "squeal", "check-cars-slope", "repair-comm-clean", "caution-unplug-first", "adj-just-oiled", "lubrication"):
    code, out, err = run("explain", id_)
    check(code == 0 and len(out) > 80, "explain", id_)
code, out, err = run("show", "findings", "hum")
check(code == 0 and "hums-no-move" in out and "squeal" not in out, "show filters")
code, out, err = run("lint")
check(code == 0 and "0 found" in out, "lint", out)
code, out, err = run("assess", os.path.join(DEMO, "too-close.json"))
check(code == 0 and "too close" in out and "NOT RUN" in out, "the missing reverse run is said aloud", out)
# Sums about the rig.
code, out, err = run("rig", "gauge", "--amps", "3", "--length", "4")
check(code == 0 and out.startswith("14 AWG"), "gauge of the leads", out, err)
code, out, err = run("rig", "leads", "--wire", "24 AWG", "--length", "2 m", "--amps", "2000 mA")
check(code == 0 and "0.67 V" in out, "what leads lose", out, err)
code, out, err = run("rig", "loop", "--radius", "19 in", "--straights", "40 in", "--laps", "9", "--json")
check(code == 0 and abs(json.loads(out)["figures"]["metres"] - 4.048) < 1e-3, "a loop from its pieces", out, err)
for words, said in (
    (["rig"], "one sum"),
    (["rig", "gage"], "no sum"),
    (["rig", "gauge", "--amps", "3"], "--length"),
    (["rig", "gauge", "--amps", "3 V", "--length", "4"], "3 V"),
    (["rig", "gauge", "--amps", "-3", "--length", "4"], "--amps"),
    (["rig", "supply", "--open-volts", "12", "--loaded-volts", "13", "--amps", "1"], "rise under load"),
    (["rig", "leads", "--wire", "string", "--length", "4", "--amps", "1"], "string"),
):
    code, out, err = run(*words)
    check(code == 2 and said in err and not out, words, err)
for name in ("slow-spot.json", "full-sheet.json"):
    for width in ("40", "60", "100"):
        code, out, err = run("assess", os.path.join(DEMO, name), "--width", width)
        check(code == 0 and max(map(len, out.splitlines())) <= int(width), "assess of", name, "in", width, max(map(len, out.splitlines())))
# A reader that goes away early, and a full disk.
first = subprocess.run(f"'{PROGRAM}' diagnose '{case}' --all | head -n 1", shell=True, capture_output=True)
check(first.returncode == 0 and first.stdout.count(b"\n") == 1, "a closed pipe")
if os.path.exists("/dev/full"):
    with open("/dev/full", "w") as full:
        done = subprocess.run([PROGRAM, "diagnose", case], stdout=full, stderr=subprocess.PIPE)
    check(done.returncode == 5 and b"could not be written" in done.stderr, "a full disk", done.stderr)
# Control characters from a file never reach the terminal.
with tempfile.TemporaryDirectory() as folder:
    path = os.path.join(folder, "evil.json")
    open(path, "w").write('{"title": "a\\u001b[31mb", "locomotive": {"family": "ac-series"}, "\\u001b]0;x": 1}')
    code, out, err = run("diagnose", path)
    check(code == 3 and "\x1b" not in out + err, "control characters", err)
    # An overlay changes a prior; a broken one is named.
    os.makedirs(os.path.join(folder, "own"))
    own = os.path.join(folder, "own", "place.json")
    open(own, "w").write('{"places": [{"id": "lubrication", "name": "Our oil bench", "go": "Look there."}]}')
    code, out, err = run("diagnose", case, "--knowledge", os.path.join(folder, "own"))
    check(code == 0 and "Our oil bench" in out, "an overlay", err)
finish()
