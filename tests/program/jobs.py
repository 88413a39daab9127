"""Guided jobs through the real program: each demo case from intake to cure at a pseudo-terminal, the same by pipe; what
the loop does when it is stopped, killed or fed nonsense; single commands instead of the loop.

With --dialogues FOLDER behind the arguments what was said is written there, to be read; with --renew the golden
dialogues of some cases are written anew.
"""
import json
import os
import pty
import re
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time

from bench_oracle import Oracle
from common import DEMO, FEW, PROGRAM, ROOT, check, check_output, finish

expected = json.load(open(os.path.join(ROOT, "tests", "program", "demo_expected.json")))["cases"]
FOLDER = tempfile.mkdtemp(prefix="wheeltapper-")
DIALOGUES = sys.argv[sys.argv.index("--dialogues") + 1] if "--dialogues" in sys.argv else None
MOST_ANSWERS = 80
GOLDEN = os.path.join(ROOT, "tests", "program", "golden", "jobs")
GOLDEN_CASES = ("dry-bearings.json", "two-causes.json", "burning-smell.json", "too-close.json", "lamp-lit-nothing-moves.json")


def environment(name, columns=80):
    return dict(os.environ, XDG_DATA_HOME=os.path.join(FOLDER, name), COLUMNS=str(columns), TERM="xterm")


def run(name, *args, text="", columns=80):
    done = subprocess.run([PROGRAM, *args], input=text.encode(), capture_output=True, timeout=600, env=environment(name, columns))
    check_output(args, done.returncode, done.stdout.decode())
    return done.returncode, done.stdout.decode(), done.stderr.decode()


class Terminal:
    """The program at a pseudo-terminal."""

    def __init__(self, name, *args, columns=80):
        self.pid, self.end = pty.fork()
        if self.pid == 0:
            os.execve(PROGRAM, [PROGRAM, *args], environment(name, columns))
        self.text = ""

    def wait_for_prompt(self):
        """Reads until the program waits for an answer or ends; True if it waits."""
        start = len(self.text)
        deadline = time.time() + 600
        while time.time() < deadline:
            ready, _, _ = select.select([self.end], [], [], 600)
            try:
                data = os.read(self.end, 65536).decode(errors="replace") if ready else ""
            except OSError:
                return False
            if not data:
                return False
            self.text += data
            if self.text[start:].endswith("> "):
                return True
        return False

    def say(self, line):
        os.write(self.end, (line + "\n").encode())

    def close(self):
        for _ in range(12000):  # a program that does not end is a failure, not a wait
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                break
            time.sleep(0.05)
        else:
            os.kill(self.pid, signal.SIGKILL)
            _, status = os.waitpid(self.pid, 0)
        os.close(self.end)
        return status


def plain(text):
    """Without colours, carriage returns and what differs from run to run."""
    text = re.sub(r"\x1b\[[0-9;]*m", "", text.replace("\r", ""))
    text = re.sub(r"\b20[0-9]{2}-[0-9]{2}-[0-9]{2}\b", "2026-01-01", text)
    return re.sub(r"\b[0-9a-f]{8}\b", "JOBJOBJO", text)


def led_job(case, columns):
    """Answers every prompt as the oracle says. Returns the lines, the dialogue and the log's name."""
    name = f"pty-{case['file']}-{columns}"
    told = json.load(open(os.path.join(DEMO, case["file"])))
    oracle = Oracle(ROOT, case["causes"], told)
    terminal = Terminal(name, "job", "new", os.path.join(DEMO, case["file"]), columns=columns)
    lines = []
    while terminal.wait_for_prompt() and len(lines) < MOST_ANSWERS:
        code, out, err = run(name, "job", "next", "last", "--json")
        if code != 0 or json.loads(out)["closed"]:
            check(False, case["file"], "no prompt to answer", err)
            break
        lines.append(oracle.answer(json.loads(out)))
        terminal.say(lines[-1])
    status = terminal.close()
    check(os.WIFEXITED(status) and os.WEXITSTATUS(status) == 0, case["file"], "ended with", status)
    return lines, terminal.text, name


for case in [case for case in expected if not FEW or case["file"] in GOLDEN_CASES[:2]]:
    lines, text, name = led_job(case, 80)
    if DIALOGUES:
        os.makedirs(DIALOGUES, exist_ok=True)
        open(os.path.join(DIALOGUES, case["file"].replace(".json", ".txt")), "w").write(plain(text))
    check(len(lines) < MOST_ANSWERS, case["file"], "never ended")
    if case["file"] in GOLDEN_CASES:
        golden = os.path.join(GOLDEN, case["file"].replace(".json", ".txt"))
        if "--renew" in sys.argv:
            os.makedirs(GOLDEN, exist_ok=True)
            open(golden, "w").write(plain(text))
        check(open(golden).read() == plain(text), case["file"], "differs from its golden dialogue")
    code, out, err = run(name, "job", "show", "last", "--json")
    events = json.loads(out)["events"]
    closing = [e for e in events if e["kind"] == "closed"]
    check(len(closing) == 1, case["file"], "closed once")
    outcome = closing[0]["body"]["outcome"] if closing else ""
    if case.get("nothing-wrong") or case.get("too-close"):
        check(outcome == "no-fault", case["file"], outcome)
    else:
        check(outcome == case.get("job-ends", "cured"), case["file"], "ended as", outcome)
    if outcome == "cured":
        check(set(closing[0]["body"]["causes"]) & set(case["causes"]), case["file"], "names the cause", closing[0]["body"])
        check("retest passed" in text, case["file"], "the retest passed")
        check(any(e["kind"] == "repaired" for e in events), case["file"], "a repair was done")
    for line in plain(text).splitlines():
        check(len(line) <= 80 or line.startswith("> "), case["file"], "a line is too long:", line)
    code, out, err = run(name, "log", "check")
    check(code == 0, case["file"], "a sound log", out, err)
    # the same lines by pipe: the same job
    code, out, err = run("pipe-" + name, "job", "new", os.path.join(DEMO, case["file"]), text="\n".join(lines) + "\n")
    check(code == 0 and not err, case["file"], "by pipe", err)
    check(plain(out).split() == plain(text).split(), case["file"], "says the same by pipe")
    code, out, err = run("pipe-" + name, "job", "list", "--json")
    check(json.loads(out)[0]["outcome"] == (outcome or None), case["file"], "the same end by pipe")
    code, out, err = run(name, "job", "record", "last")
    check(code == 0 and max(map(len, out.splitlines())) <= 80, case["file"], "its record")
    code, page, err = run(name, "job", "record", "last", "--html", "-")
    check(code == 0 and page.startswith("<!DOCTYPE html>") and "<script" not in page and "http:" not in page and "https:" not in page,
          case["file"], "its page needs nothing")

# 60 columns
for case in expected[: 0 if FEW else 4]:
    lines, text, name = led_job(case, 60)
    check(max(len(line) for line in plain(text).splitlines() if not line.startswith("> ")) <= 60, case["file"], "fits 60 columns")

# Ctrl-C, a killed terminal and end of input leave the job where it was
name = "stops"
terminal = Terminal(name, "job", "new")
terminal.wait_for_prompt()
check("kind of drive" in terminal.text and "1." in terminal.text, "what it is is asked first", terminal.text)
terminal.say("1")
terminal.wait_for_prompt()
terminal.say("Fernhill No. 12")
terminal.wait_for_prompt()
os.kill(terminal.pid, signal.SIGINT)  # at once: it may not be waiting yet
terminal.wait_for_prompt()
status = terminal.close()
check(os.WIFEXITED(status) and os.WEXITSTATUS(status) == 130, "Ctrl-C exits with 130", status)
check("Stopped; all is kept" in terminal.text, "Ctrl-C says how to go on")
terminal = Terminal(name, "job", "go")
terminal.wait_for_prompt()
check("complaint" in terminal.text and "Fernhill No. 12" in terminal.text, "goes on where it was", terminal.text)
terminal.say("Will not go")
terminal.wait_for_prompt()
os.kill(terminal.pid, signal.SIGKILL)
terminal.close()
code, out, err = run(name, "job", "next", "open", "--json")
check(json.loads(out)["key"] == "hazards", "a kill loses no answer", out)
code, out, err = run(name, "job", "go", text="none\n")
check(code == 0 and "Stopped; all is kept" in out, "the end of the input stops", out[-200:])
code, out, err = run(name, "job", "next", "open", "--json")
check(json.loads(out)["key"] == "cars", "and keeps the answer", out)
code, out, err = run(name, "job", "go", text="back\nwhy\nhelp\nnonsense\n\x1b[31m\nnone\nstop\n")
check(code == 0 and "\x1b" not in out and "Numbers from 1 to" in out, "nonsense is answered plainly", out[-400:])
code, out, err = run(name, "job", "next", "open", "--json")
check(json.loads(out)["key"] == "cars", "back and forth again", out)

# What can't be begun leaves no log behind.
for words in (["job", "new"], ["job", "new", "nowhere.json"], ["job", "new", "--family", "dcc"]):
    code, out, err = run("nothing", *words)
    check(code in (2, 3) and not os.path.exists(os.path.join(FOLDER, "nothing", "wheeltapper")), *words, "leaves nothing behind", code, err)

# one event at a time
name = "single"
code, job, err = run(name, "job", "new", "--family", "ac-series", "--quiet")
job = job.strip()
check(code == 0 and re.fullmatch("[0-9a-f]{8}", job), "its id", job, err)
for words in (["say", job, "Fernhill", "No.", "7"], ["say", job, "slow"], ["say", job, "none"], ["say", job, "4"],
              ["say", job, "2.0", "A"], ["say", job, "9"], ["say", job, "yes"], ["read", job, "amps=2.6A", "lap-rate=5 laps 37 s"],
              ["read", job, "amps=2.6A", "lap-rate=8.1", "--direction", "reverse"], ["answer", job, "squeal", "lamp-dim=no"],
              ["known", job, "adj-just-oiled=no"], ["check", job, "check-roll-by-hand", "none"],
              ["tell", job, "title=Squeals and is slow", "owner=A. Fern"], ["repair", job, "repair-oil-bearings", "--minutes", "18"], ["read", job, "amps=1.6A", "lap-rate=9.9"],
              ["read", job, "amps=1.6A", "lap-rate=9.9", "--direction", "reverse"], ["note", job, "one drop each"],
              ["close", job, "cured", "bearing-dry"]):
    code, out, err = run(name, "job", *words)
    check(code == 0 and not err, *words, out, err)
code, out, err = run(name, "cures", "bearing-dry", "--json")
row = json.loads(out)["repairs"][0]
check(row["repair"] == "repair-oil-bearings" and row["cured"] == 1 and row["median-minutes"] == 18, "it is in the cure table", out)
for words, code_wanted, says in ((["job", "undo", job], 0, ""), (["job", "close", job, "cured"], 0, ""),
                                 (["job", "close", job, "curd"], 2, "not an outcome"), (["job", "say", job, "yes"], 2, "closed"),
                                 (["job", "answer", job, "squeel"], 2, "did you mean"), (["job", "repair", job, "repair-oil"], 2, "no repair"),
                                 (["job", "check", job, "check-roll-by-hand", "all"], 2, "has no result"),
                                 (["job", "tell", job, "colour=green"], 2, "allowed"),
                                 (["job", "read", job, "amps=2.4V"], 2, "amps"), (["job", "shw"], 2, "did you mean"),
                                 (["job", "show", "zzzz"], 2, "no job"), (["job", "record", job, "--json"], 2, "job show"), (["job", "show", "ab"], 2, "four letters"),
                                 (["job", "new", "nowhere.json"], 3, "nowhere.json"), (["job", "new"], 2, "--family ID, one of ac-series"),
                         (["job", "new", "--family", "dcc"], 2, "ac-series"),
                         (["job", "new", os.path.join(DEMO, "dry-bearings.json"), "--family", "ac-series"], 2, "leave --family out"), (["job", "new", "a", "b"], 2, "one case")):
    code, out, err = run(name, *words)
    check(code == code_wanted and says in err, *words, code, err)
code, out, err = run(name, "job", "list", "--json")
check(len(json.loads(out)) == 1, "what was refused left no job behind", out)

shutil.rmtree(FOLDER)
finish()
