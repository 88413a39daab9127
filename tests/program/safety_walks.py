"""Random walks over jobs in which hazards are said, looked for and denied, over one bench and over two whose logs are
merged, and after every step the question whether anything is offered that a safety rule withholds.

The judge is written from what the rules mean, not from the engine: who said what, having seen what. Where the engine is
more careful than the judge that is counted and said; where it is less careful that is a failure, printed with its seed and
the commands that lead there.

    python3 safety_walks.py PROGRAM ROOT [--long] [--seed N] [--steps N] [--walk N] [--knowledge DIR]

--walk N does only that walk of the seed; --knowledge DIR reads the rules from there instead of ROOT/knowledge (for a
program that was built from other files than those in the tree).
"""
import json
import os
import random
import re
import shlex
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
import uuid

from common import DEMO, PROGRAM, ROOT, check, finish


def option(name, otherwise):
    return type(otherwise)(sys.argv[sys.argv.index(name) + 1]) if name in sys.argv else otherwise


LONG = "--long" in sys.argv
SEED = option("--seed", 7)
STEPS = option("--steps", 20000 if LONG else 240)
ONLY = option("--walk", -1)
KNOWLEDGE = option("--knowledge", os.path.join(ROOT, "knowledge"))
STEPS_A_WALK = 45 if LONG else 20  # so many walks that each overlay, one log and two, learned or not, meet
FOLDER = tempfile.mkdtemp(prefix="wheeltapper-")
START = time.time()
MOST_PRINTED = 2  # of each kind of failure; the others are counted


def items(kind):
    found = {}
    folder = os.path.join(KNOWLEDGE, kind)
    files = [os.path.join(folder, f) for f in sorted(os.listdir(folder))] if os.path.isdir(folder) else [folder + ".json"]
    for file in files:
        for item in json.load(open(file))[kind]:
            found[item["id"]] = item
    return found


FINDINGS, CHECKS, REPAIRS, RULES, CAUTIONS, CAUSES = (
    items(kind) for kind in ("findings", "checks", "repairs", "rules", "cautions", "causes"))
CASES = sorted(f for f in os.listdir(DEMO) if f.endswith(".json"))
# A repair without the key needs no power: that is what the files meant before they had it.
POWER = {id: item.get("power", "unplugged") for id, item in [*CHECKS.items(), *REPAIRS.items()]}


def hazards_of(rules):
    return sorted({finding for rule in rules.values() for finding in rule["any"]})


# A question that can be answered with the plug out says so in how to see it; one that speaks of running can't.
STILL = re.compile(r"^(unplug|plug out|power off|ask|look|do not try|answer from|with the (power|plug) (off|out)|take the power off"
                   r"|lift|body off|count|read the|measure the|no power)|plug out|unplug(ged)?\b|power off first", re.I)
RUNNING = re.compile(r"\b(runs?|running|laps?|power(ed)? up|under power|throttle|speeds?|slows?|moves?|starts?|amps|volts)\b", re.I)


def wants_power(finding):
    item = FINDINGS[finding]
    if item.get("reading"):
        return True
    return not STILL.search(item["observe"]) and bool(RUNNING.search(item["observe"]))


# ---------------------------------------------------------------------------------------------------------- the judge

class Entry:
    """What one command wrote into a job: its rows, what they say, and which entries its writer had seen."""

    def __init__(self, number, rows, saw):
        self.bit, self.ids, self.saw = 1 << number, {row["id"] for row in rows}, saw
        self.yes, self.no, self.checks, self.repair, self.takes_back = set(), set(), [], False, set()

    def ends(self, finding):
        """A no to it, or a look at it that did not see it. One that was not looked for ends nothing."""
        if finding in self.no:
            return True
        for id, seen, looked in self.checks:
            shows = {r["id"] for r in CHECKS[id]["results"] if r.get("finding") == finding}
            if shows and shows <= looked and not shows & seen and finding not in self.yes:
                return True
        return False

    def bad(self, check_id):
        return any(id == check_id and seen for id, seen, _ in self.checks)

    def clean(self, check_id):
        every = {r["id"] for r in CHECKS[check_id]["results"]}
        return any(id == check_id and not seen and every <= looked for id, seen, looked in self.checks)


def says_yes(finding, word):
    if word in ("no", "unsure", "skipped", "not seen", "not noticed", "skip", ""):
        return False
    return word != (FINDINGS[finding].get("levels") or ["no"])[0]


def says_no(finding, word):
    return word == "no" or word == (FINDINGS[finding].get("levels") or ["no"])[0]


class JobModel:
    """A job as the judge sees it: entries, and for each log which of them have come to it."""

    def __init__(self, name, rules):
        self.name, self.rules, self.entries, self.of_row, self.views, self.memo = name, rules, [], {}, {}, {}

    def add(self, log, rows, ops):
        entry = Entry(len(self.entries), rows, self.views.get(log, 0))
        ops(entry)
        self.entries.append(entry)
        for row in rows:
            self.of_row[row["id"]] = entry
        self.views[log] = self.views.get(log, 0) | entry.bit

    def counting(self, view):
        """Without what was taken back."""
        taken = set().union(*[e.takes_back for e in self.entries if e.bit & view])
        return sum(e.bit for e in self.entries if e.bit & view and not e.ids <= taken)

    def in_force(self, log):
        counting = self.counting(self.views.get(log, 0))
        held = {rule["id"]: self.holds(rule, counting) for rule in self.rules.values()}
        return {id: why for id, why in held.items() if why}

    def holds(self, rule, view):
        """Why the rule is in force when exactly these entries count; empty when it is not."""
        key = (rule["id"], view)
        if key not in self.memo:
            self.memo[key] = self.work_out(rule, view)
        return self.memo[key]

    def work_out(self, rule, view):
        entries = [e for e in self.entries if e.bit & view]
        until, hold = rule["until"], rule.get("hold", [])
        standing = []  # a yes that nobody who had seen it denied, and no later look missed
        for finding in rule["any"]:
            enders = [e for e in entries if e.ends(finding)]
            standing += [y for y in entries if finding in y.yes and not any(e.saw & y.bit for e in enders)]
        bads = []  # of a check that the rule waits for, found while the rule was in force or with a hazard that stands
        for e in entries:
            for id in [*until, *hold]:
                if not e.bad(id):
                    continue
                # a short that was found before all this, by a check that only holds, is an old story
                old = id not in until and standing and all(y.saw & e.bit for y in standing)
                fired = bool(e.yes & set(rule["any"])) or bool(self.holds(rule, e.saw & view))
                if (standing and not old) or fired:
                    bads.append((id, e))
        if not standing and not bads:
            return ""
        if standing and not until:
            return "a hazard stands and no check clears it"

        def done_after(id, what):
            return any(e.clean(id) and e.saw & what.bit for e in entries)

        for y in standing:
            for id in until:
                if not done_after(id, y):
                    return f"a hazard stands, {id} not done clean after it"
        repairs = [r for r in entries if r.repair and any(r.saw & b.bit for _, b in bads) and self.holds(rule, r.saw & view)]
        for id, b in bads:
            if not done_after(id, b):
                return f"{id} came out bad and was not done clean since"
            for other in until:
                if not done_after(other, b):
                    return f"{id} came out bad and {other} was not done again since"
        for r in repairs:
            for id in until:
                if not done_after(id, r):
                    return f"a repair followed a bad result and {id} was not done again since"
        return ""


def allows(rule, kind, id):
    """May this check or repair be offered while the rule is in force?"""
    if rule["withhold"] == "touch":
        return False
    if rule["withhold"] == "everything":
        return kind == "check" and id in rule["until"] and POWER[id] == "unplugged"
    return POWER.get(id) == "unplugged"


# -------------------------------------------------------------------------------------------------- what is over it

def own_rule(id, like, **changes):
    """A rule of the shop's own, with all the keys that a shipped one has."""
    return {**RULES[like], "id": id, "refer": False, **changes}


def overlays():
    """Harmless folders: a rule that withholds power, one that withholds everything but its own checks, a cause."""
    cause = {**CAUSES[sorted(CAUSES)[0]], "id": "own-cause-of-the-shop", "name": "Sand from the garden line"}
    say = "Stop and unplug. The shop wants it looked at by hand before it runs."
    for name, kind, item in (
            ("own-live", "rules", own_rule("rule-own-squeal", "rule-locked", name="Squeals, shop rule", any=["squeal"], say=say,
                                           withhold="live", until=["check-roll-by-hand", "check-plain-look"], hold=[])),
            ("own-everything", "rules", own_rule("rule-own-grinding", "rule-locked", name="Grinds, shop rule", any=["grinding"], say=say,
                                                 withhold="everything", until=["check-roll-by-hand", "check-wire-look"], hold=[])),
            ("own-cause", "causes", cause)):
        if kind == "rules" and "hold" not in RULES["rule-locked"]:
            item.pop("hold")  # files that do not know the key
        folder = os.path.join(FOLDER, name)
        os.makedirs(folder)
        json.dump({kind: [item]}, open(os.path.join(folder, "own.json"), "w"))
        yield name, {item["id"]: item} if kind == "rules" else {}


OVERLAYS = list(overlays())
counts = {}      # of what was done and of where the engine is more careful
failures = {}    # by kind
notes = {}       # what the description leaves open, with one place each


def count(what, more=1):
    counts[what] = counts.get(what, 0) + more


# ------------------------------------------------------------------------------------------------------------ a walk

class Walk:
    def __init__(self, number):
        self.number = number
        self.chance = random.Random(SEED * 100003 + number)
        self.folder = os.path.join(FOLDER, f"walk{number}")
        os.makedirs(self.folder)
        self.logs = ["a"] if number % 3 == 0 else ["a", "b"]
        self.overlay, own = OVERLAYS[number // 2 % 3] if number % 2 else (None, {})
        self.learned = number % 4 >= 2
        self.rules = {**RULES, **own}
        self.hazards = hazards_of(self.rules)
        self.commands, self.jobs, self.names = [], {}, {}
        self.about = None  # the job that is looked at
        self.told, self.shown = {}, {}  # what `job next` said last, and of which state
        self.steps = 0

    # the program

    def run(self, *args, log=None, show=True):
        words = list(args)
        if log:
            words += ["--log", os.path.join(self.folder, log + ".sqlite"), "--bench", "bench-" + log, "--sync", "normal"]
        if self.overlay:
            words += ["--knowledge", os.path.join(FOLDER, self.overlay)]
        if show:  # what only looks is no step
            self.commands.append(words)
            self.steps += 1
        try:
            done = subprocess.run([PROGRAM, *words], stdin=subprocess.DEVNULL, capture_output=True, timeout=600,
                                  env=dict(os.environ, XDG_DATA_HOME=self.folder, COLUMNS="80"))
        except subprocess.TimeoutExpired:
            self.fail("hangs", words)
            return 99, "", ""
        return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")

    def story(self):
        """The commands that lead here; a job's id is chosen anew each time, so it is a variable. Other jobs are left out."""
        lines, created = [], 0
        for words in self.commands:
            created += words[:2] == ["job", "new"]
            others = {job for job in self.names if job != self.about}
            if self.about and (others & set(words) or (words[:2] == ["job", "new"] and f"J{created}" != self.names.get(self.about))):
                continue
            if self.about and (words[0] in ("quick", "diagnose") or words[1].startswith("the case")):
                continue  # they write nothing
            if words[0] == "#":
                lines.append("    " + " ".join(words))
                continue
            text = shlex.join(["wheeltapper", *words]).replace(self.folder, "$D").replace(FOLDER, "$F")
            for short, name in self.names.items():
                text = text.replace(short, f"${name}")
            if words[:2] == ["job", "new"]:
                text = f"J{created}=$({text})"
            lines.append("    " + text)
        return "\n".join(lines)

    def fail(self, kind, *what):
        failures[kind] = failures.get(kind, 0) + 1
        if failures[kind] <= MOST_PRINTED:
            check(False, kind + ":", *what, f"\n  seed {SEED}, walk {self.number}, step {self.steps}, "
                  f"again with --seed {SEED} --walk {self.number}; the commands:\n" + self.story())

    def demand(self, holds, kind, *what):
        if holds:
            check(True)
        else:
            self.fail(kind, *what)
        return holds

    def note(self, kind, *what):
        notes.setdefault(kind, [0, " ".join(map(str, what)) + f" (seed {SEED}, walk {self.number}, step {self.steps})"])[0] += 1

    # the log

    def rows(self, log, job=None):
        path = os.path.join(self.folder, log + ".sqlite")
        if not os.path.exists(path):
            return []
        db = sqlite3.connect(path)
        found = db.execute("SELECT job, id, number, kind, body FROM event" + (" WHERE job = ?" if job else ""), (job,) if job else ()).fetchall()
        db.close()
        return [{"job": j, "id": i, "number": n, "kind": k, "body": json.loads(b)} for j, i, n, k, b in found]

    def written(self, log, job, yes=(), no=(), may_be_refused=False, code=0, out=""):
        """Takes what a command wrote into the model. `yes` and `no`: what was said of hazards; both must be what is kept."""
        self.about, model = job, self.jobs[job]
        new = [row for row in self.rows(log, job) if row["id"] not in model.of_row]
        if not new:
            if yes and code == 0:
                self.fail("a yes is lost", sorted(yes), out)
            elif yes and not may_be_refused:
                self.fail("a hazard is refused", sorted(yes), f"exit code {code}", out)
            return

        def ops(entry):
            entry.yes |= set(yes)
            for row in new:
                body = row["body"]
                if row["kind"] == "answers":
                    for finding, word in body.items():
                        if finding in FINDINGS and says_yes(finding, word):
                            entry.yes.add(finding)
                        elif finding in FINDINGS and says_no(finding, word):
                            entry.no.add(finding)
                elif row["kind"] == "checked":
                    seen = {r for r, word in body["results"].items() if word == "seen"}
                    entry.checks.append((body["check"], seen, set(body["results"])))
                    entry.yes |= {r["finding"] for r in CHECKS[body["check"]]["results"] if r.get("finding") and r["id"] in seen}
                elif row["kind"] == "repaired":
                    entry.repair = True
                elif row["kind"] == "undone":
                    entry.takes_back.add(body["event"])
            unsaid = (entry.no & set(self.hazards)) - set(no)
            if unsaid:  # nobody said so: it ends nothing
                self.fail("a no to a hazard that nobody said", sorted(unsaid))
                entry.no -= unsaid

        model.add(log, new, ops)

    def merged(self, log):
        """After a merge into the log: all that was known before is there, and what came with it."""
        by_job = {}
        for row in self.rows(log):
            by_job.setdefault(row["job"], set()).add(row["id"])
        changed, self.about = [], None
        for job, model in self.jobs.items():
            here = sum(e.bit for e in model.entries if e.ids <= by_job.get(job, set()))
            self.demand(model.views.get(log, 0) & ~here == 0, "a merge loses an entry", model.name)
            if here != model.views.get(log, 0):
                changed.append(job)
            model.views[log] = here
        return changed

    def expect_all(self, log, other):
        for model in self.jobs.values():
            lost = model.views.get(other, 0) & ~model.views.get(log, 0)
            self.demand(not lost, "a merge leaves an entry behind", model.name)

    # looking

    def look(self, log, job):
        self.about = job
        model = self.jobs[job]
        force = model.in_force(log)
        code, out, err = self.run("job", "next", job, "--json", log=log, show=False)
        where = f"{model.name} in {log}.sqlite, in force {force}"
        if not self.demand(code == 0, "job next fails", where, code, err):
            return None
        try:
            told = json.loads(out)
        except ValueError:
            self.fail("job next --json is no JSON", out[:300])
            return None
        self.told[log, job] = (model.views[log], told)
        if told.get("closed"):
            return told
        count("looks")
        stop = told.get("stop")
        if self.demand(isinstance(stop, list), "job next --json has no list \"stop\"", where, sorted(told)):
            self.look_at_stop(stop, force, where)
        step = told.get("step")
        kind, _, id = told["key"].partition(":")
        if kind in ("check", "repair"):
            if self.demand(isinstance(step, dict), "a step is asked for without \"step\"", where, told["key"]):
                self.demand((step.get("kind"), step.get("id")) == (kind, id), "\"step\" is another than the question's", step, told["key"])
                self.demand(step.get("power") == POWER[id], "\"step\" has another power than its file", id, step.get("power"))
        offered = {(kind, id)} if kind in ("check", "repair") else set()
        if isinstance(step, dict):
            offered.add((step.get("kind"), step.get("id")))
        for rule_id in force:
            rule = self.rules[rule_id]
            for each in offered:
                self.demand(allows(rule, *each), f"offered although {rule['withhold']} is withheld", each, POWER.get(each[1]), where)
        if force:
            count("looks with a rule in force")
            self.look_at_key(told, force, where)
            same = (sorted(force), kind)  # the text differs little while these stay
            if LONG or self.shown.get((log, job)) != same or self.chance.random() < 0.2:
                self.look_at_text(log, job, force, where)
            self.shown[log, job] = same
        elif self.chance.random() < 0.1:
            code, out, err = self.run("job", "next", job, log=log, show=False)
            self.demand(code == 0 and out.strip(), "job next as text fails", where, code, err)
        return told

    def look_at_stop(self, stop, force, where):
        listed = {each.get("rule"): each for each in stop}
        for rule_id, why in force.items():
            rule = self.rules[rule_id]
            if not self.demand(rule_id in listed, "a rule in force is not in \"stop\"", f"{rule_id} ({why})", where, "listed:", sorted(listed)):
                continue
            each = listed[rule_id]
            self.demand(each.get("say") == rule["say"], "\"stop\" says another sentence than the rule", each.get("say"))
            self.demand(each.get("withholds") == rule["withhold"], "\"stop\" withholds other than the rule", rule_id, each.get("withholds"))
            for key in ("name", "because", "clear-by", "refer", "cautions"):
                self.demand(key in each, f"\"stop\" lacks \"{key}\"", each)
        more = set(listed) - set(force)
        if more:
            count("more careful than the judge: looks")
            for rule_id in more:
                count(f"  more careful: {rule_id}")

    def look_at_key(self, told, force, where):
        key = told["key"]
        kind, _, id = key.partition(":")
        strict = {self.rules[r]["withhold"] for r in force}
        self.demand(kind not in ("runs", "reading", "repeat", "retest-eye", "retest-missing"), "a run is asked for with a rule in force", key, where)
        if kind == "finding" and id in FINDINGS:
            if id not in self.hazards:
                self.demand(not wants_power(id), "a question that wants power is asked with a rule in force", id, FINDINGS[id]["observe"], where)
                self.demand("touch" not in strict, "a bench question under touch", id, where)
            elif wants_power(id):
                self.note("a hazard is asked again that only a run shows", id, "with", sorted(force))
        if kind == "context" and "touch" in strict:
            self.note("asks what is known beforehand under touch", id)
        if kind == "no-fault" or (kind == "outcome" and "no-fault" in told.get("ids", []) and set(force)):
            self.note("no fault found can be chosen while a rule is in force", key, sorted(force))

    def look_at_text(self, log, job, force, where):
        code, out, err = self.run("job", "next", job, log=log, show=False)
        if not self.demand(code == 0, "job next as text fails", where, code, err):
            return
        first = next((line for line in out.splitlines() if line.strip()), "")
        self.demand(first.strip().startswith("STOP"), "STOP does not come first", repr(first), where)
        text = " ".join(out.split())
        # Above a question that is no step the rule speaks in its first sentence alone.
        # It may be one that the engine, more careful than this model, has in force beside them.
        said = [rule["say"].split(". ")[0] for rule in self.rules.values()]
        self.demand(any(each in text for each in said), "the text has no rule's sentence", where, text[:200])
        touch = [self.rules[r] for r in force if self.rules[r]["withhold"] == "touch"]
        if not touch:
            return
        # what the touch rules say themselves is theirs to say
        for rule in touch:
            for own in [rule["say"], rule["name"], *(CAUTIONS[c]["text"] for c in rule["cautions"] if c in CAUTIONS)]:
                text = text.replace(own, " ")
                text = text.replace(re.split(r"(?<=[.:;]) ", own)[0], " ")  # a caution may be shown by its first sentence
        for sentence in re.split(r"(?<=[.?!:]) ", text):
            does = re.search(r"nplug\b|\bopen (it|the|up|a|both|each)\b|[Tt]urn the drive", sentence)
            denied = re.search(r"\b(not|never|nothing|no)\b", sentence, re.I)
            self.demand(not does or denied, "an instruction to touch under touch", repr(sentence), where)

    # steps

    def open_jobs(self, log):
        return [job for job, model in self.jobs.items() if model.views.get(log, 0) and not self.closed(log, job)]

    def closed(self, log, job):
        """By the rows: closed and not opened again since, as far as this log knows."""
        model, view = self.jobs[job], self.jobs[job].views.get(log, 0)
        taken = set().union(*[e.takes_back for e in model.entries if e.bit & view])
        state = False
        for row in sorted(self.rows(log, job), key=lambda r: (r["number"], r["id"])):
            if row["id"] not in taken and row["kind"] in ("closed", "reopened"):
                state = row["kind"] == "closed"
        return state

    def step(self):
        log = self.chance.choice(self.logs)
        able = self.open_jobs(log)
        if not able or (len(able) < 2 and self.chance.random() < 0.06):
            return self.do_new(log)
        kinds = {"say": 28, "answer": 16, "check": 20, "clear": 10, "repair": 7, "read": 3, "retest": 2, "undo": 6, "note": 3,
                 "hazard": 6, "close": 1.5, "reopen": 1.5, "quick": 5, "partial": 2, "merge": 9 if len(self.logs) > 1 else 0}
        kind = self.chance.choices(list(kinds), list(kinds.values()))[0]
        count("steps: " + kind)
        return getattr(self, "do_" + kind)(log, self.chance.choice(able))

    def job_run(self, log, job, part, *words, yes=(), no=(), may_be_refused=False):
        code, out, err = self.run("job", part, job, *words, log=log)
        self.demand(code in (0, 2, 3, 4), "a command ends strangely", part, *words, code, err)
        self.demand("fault of the program" not in err, "a fault of the program", part, *words, err)
        self.written(log, job, yes, no, may_be_refused, code, err.strip())
        if code == 0 or self.chance.random() < 0.2:
            self.look(log, job)
        else:
            count("refused: " + part)
        return code

    def do_new(self, log):
        count("steps: new")
        words, told = ["--family", "ac-series"], {}
        if self.chance.random() < 0.5:
            case = self.chance.choice(CASES)
            words = [os.path.join(DEMO, case)]
            told = json.load(open(words[0])).get("answers", {})
        if self.chance.random() < 0.3:
            words += ["--owner", "Orla Fernhill-Brook"]
        code, out, err = self.run("job", "new", "-q", *words, log=log)
        short = out.strip().splitlines()[-1] if out.strip() else ""
        if not self.demand(code == 0 and re.fullmatch("[0-9a-f]{8}", short), "job new fails", code, out, err):
            return
        job = next(row["job"] for row in self.rows(log) if row["job"].startswith(short))
        name = f"J{sum(1 for w in self.commands if w[:2] == ['job', 'new'])}"
        self.names[job] = name
        self.jobs[job] = JobModel(name, self.rules)
        yes = {f for f in told if f in self.hazards and says_yes(f, told[f])}
        no = {f for f in told if f in self.hazards and says_no(f, told[f])}
        self.written(log, job, yes, no, out=err)
        self.look(log, job)

    def do_say(self, log, job):
        view, prompt = self.told.get((log, job), (0, None))
        if prompt is None or view != self.jobs[job].views[log]:
            code, out, err = self.run("job", "next", job, "--json", log=log, show=False)
            if code != 0:
                return
            prompt = json.loads(out)
        if prompt.get("closed") or "key" not in prompt:
            return
        line, yes, no = self.reply(prompt)
        self.job_run(log, job, "say", line, yes=yes, no=no, may_be_refused=True)

    def reply(self, prompt):
        """A sensible line, and what it says of hazards."""
        key, ids = prompt["key"], prompt.get("ids", [])
        kind, _, rest = key.partition(":")
        some = self.chance.random
        if key == "locomotive":
            return self.chance.choice(["Fernhill No. 5", "Pinecroft Express", "skip"]), (), ()
        if key == "complaint":
            return self.chance.choice(["It smells burnt and smokes", "No smell any more, all safe now", "Slow", "skip"]), (), ()
        if key in ("cars", "limit-amps", "limit-laps"):
            return self.chance.choice(["skip", {"cars": "4", "limit-amps": "2.0 A", "limit-laps": "9"}[key]]), (), ()
        if kind in ("reading", "repeat"):
            amps = "amps" in rest
            return self.chance.choice(["skip", "2.6 A" if amps else "8.1", "1.6 A" if amps else "9.9"]), (), ()
        if kind == "check" and ids:
            chosen = [] if some() < 0.6 else self.chance.sample(range(len(ids)), self.chance.randint(1, min(2, len(ids))))
            shown = {r["finding"] for r in CHECKS[rest]["results"] if r.get("finding") and r["id"] in ids and ids.index(r["id"]) in chosen} if rest in CHECKS else ()
            word = "skip" if some() < 0.15 else " ".join(str(c + 1) for c in sorted(chosen)) or "none"
            return word, (set(shown) & set(self.hazards) if word not in ("skip", "none") else ()), ()
        if kind == "repair":
            return self.chance.choice(["yes", "20 min", "skip"]), (), ()
        if kind == "finding" and rest in FINDINGS:
            word = self.chance.choices(["yes", "no", "unsure", "skip"], [3, 4, 2, 1])[0]
            hazard = {rest} & set(self.hazards)
            return word, hazard if word == "yes" else (), hazard if word == "no" else ()
        if ids and all(id in FINDINGS for id in ids):  # hazards, and whatever else lists findings
            chosen = set() if some() < 0.6 else set(self.chance.sample(ids, self.chance.randint(1, min(2, len(ids)))))
            word = " ".join(str(ids.index(c) + 1) for c in sorted(chosen)) or self.chance.choice(["none", "none", "unsure"])
            return word, chosen & set(self.hazards), (set(ids) - chosen) & set(self.hazards) if word != "unsure" else ()
        if ids and key in ("causes", "outcome", "retest-missing"):
            if key == "outcome" and some() < 0.7:  # a job that ends at once shows little
                return "unsure", (), ()
            return str(self.chance.randint(1, len(ids))), (), ()
        # A key that this file does not know: an answer that ends a hazard must be asked as one
        hazard = {rest} & set(self.hazards)
        word = self.chance.choice(["yes", "no", "unsure", "skip"])
        return word, hazard if word == "yes" else (), hazard if word == "no" else ()

    def standing(self, log, job):
        return [id for id in self.jobs[job].in_force(log)]

    def do_answer(self, log, job):
        words, yes, no = [], set(), set()
        force = self.standing(log, job)
        for _ in range(self.chance.choice([1, 1, 1, 2])):
            if self.chance.random() < 0.75:
                finding = self.chance.choice(self.hazards)
                if force and self.chance.random() < 0.5:  # what was said before is most often spoken of again
                    finding = self.chance.choice(self.rules[self.chance.choice(force)]["any"])
                if finding in yes | no or any(w.startswith(finding) for w in words):
                    continue
                word = self.chance.choices(["yes", "no", "unsure"], [4, 5, 2])[0]
                if len(self.jobs[job].in_force(log)) > 3 and word == "yes":
                    word = "no"  # so that rules come to an end too
                (yes if word == "yes" else no if word == "no" else set()).add(finding)
                words.append(f"{finding}={word}")
            else:
                finding = self.chance.choice(sorted(set(FINDINGS) - set(self.hazards)))
                words.append(f"{finding}=" + self.chance.choice(["yes", "no", "unsure"]))
        if words:
            self.job_run(log, job, "answer", *words, yes=yes, no=no, may_be_refused=len(words) > 1)

    def do_hazard(self, log, job):
        finding = self.chance.choice(self.hazards)
        self.job_run(log, job, "hazard", finding, yes={finding})

    def do_check(self, log, job, id=None, bad=0.4):
        force = self.standing(log, job)
        waits = [c for r in force for c in [*self.rules[r]["until"], *self.rules[r].get("hold", [])]]
        looks = [c for c in sorted(CHECKS) if any(r.get("finding") in self.hazards for r in CHECKS[c]["results"])]
        if id is None:
            id = self.chance.choice(waits if waits and self.chance.random() < 0.7 else looks if self.chance.random() < 0.6 else sorted(CHECKS))
        results = [r["id"] for r in CHECKS[id]["results"]]
        chosen = self.chance.sample(results, 1) if self.chance.random() < bad else []
        yes = {r["finding"] for r in CHECKS[id]["results"] if r["id"] in chosen and r.get("finding") in self.hazards}
        self.job_run(log, job, "check", id, *(chosen or ["none"]), yes=yes)

    def do_clear(self, log, job):
        """All checks that one rule waits for, one after the other, with now and then one left out, bad or done early."""
        force = [r for r in self.standing(log, job) if self.rules[r]["until"]]
        if not force:
            return self.do_check(log, job)
        rule = self.rules[self.chance.choice(force)]
        wanted = list(rule["until"]) + [h for h in rule.get("hold", []) if self.chance.random() < 0.6]
        self.chance.shuffle(wanted)
        if self.chance.random() < 0.3:
            wanted.pop()
        for id in wanted:
            self.do_check(log, job, id, bad=0.06)
            if self.chance.random() < 0.05:
                self.do_repair(log, job)

    def do_repair(self, log, job):
        self.job_run(log, job, "repair", self.chance.choice(sorted(REPAIRS)))

    def do_read(self, log, job):
        self.job_run(log, job, "read", *self.chance.choice([("amps=2.6A", "lap-rate=8.1"), ("amps=1.6A", "lap-rate=9.9"), ("supply-temperature=40C",)]),
                     "--direction", self.chance.choice(["forward", "reverse"]))

    def do_retest(self, log, job):
        self.job_run(log, job, "retest", self.chance.choice(["passed", "failed"]))

    def do_undo(self, log, job):
        self.job_run(log, job, "undo")

    def do_note(self, log, job):
        self.job_run(log, job, "note", *self.chance.choice(["no smoke, no smell, all safe", "it smokes", "burning-smell=no", "shock: checked, clear", "hums"]).split())

    def do_close(self, log, job):
        self.job_run(log, job, "close", *self.chance.choice([("cured", "bearing-dry"), ("no-fault",), ("not-cured",)]))

    def do_reopen(self, log, job):
        shut = [j for j, m in self.jobs.items() if m.views.get(log, 0) and self.closed(log, j)]
        if shut:
            self.job_run(log, self.chance.choice(shut), "reopen")

    def do_partial(self, log, job):
        """A check of which only some results were looked for comes in with an import: it clears nothing."""
        force = self.standing(log, job)
        waits = [c for r in force for c in self.rules[r]["until"] if len(CHECKS[c]["results"]) > 1]
        if not waits:
            return
        code, out, err = self.run("log", "export", log=log, show=False)
        mine = [json.loads(line) for line in out.splitlines() if f'"{job}"' in line]
        if not self.demand(code == 0 and mine, "log export fails", code, err):
            return
        id = self.chance.choice(waits)
        results = [r["id"] for r in CHECKS[id]["results"]]
        line = dict(max(mine, key=lambda e: e["number"]))
        line.pop("scrubbed", None)
        line.update(id=str(uuid.UUID(int=self.chance.getrandbits(128), version=4)), number=line["number"] + 1, kind="checked",
                    body={"check": id, "results": {r: "not seen" for r in results[: self.chance.randint(1, len(results) - 1)]}})
        path = os.path.join(self.folder, f"partial{self.steps}.jsonl")
        open(path, "w").write(out.splitlines()[0] + "\n" + json.dumps(line) + "\n")
        self.commands.append(["#", "the import holds:", json.dumps(line)])
        code, out, err = self.run("log", "import", path, log=log)
        if code == 0:
            count("imports of a check done in part")
            self.written(log, job)
            self.look(log, job)

    def do_merge(self, log, job):
        other = next(each for each in self.logs if each != log)
        there = os.path.join(self.folder, other + ".sqlite")
        if not os.path.exists(there):
            return
        ways = [(log, other)] + ([(other, log)] if self.chance.random() < 0.4 else [])
        for into, source in ways:
            if self.chance.random() < 0.7:
                code, out, err = self.run("log", "merge", os.path.join(self.folder, source + ".sqlite"), log=into)
            else:
                path = os.path.join(self.folder, "all.jsonl")
                code, out, err = self.run("log", "export", path, "--overwrite", log=source)
                self.demand(code == 0, "log export fails", code, err)
                code, out, err = self.run("log", "import", path, log=into)
            self.demand(code == 0, "a merge fails", code, err)
            changed = self.merged(into)
            self.expect_all(into, source)
            for each in changed:
                if not self.closed(into, each):
                    self.look(into, each)

    def do_quick(self, log, job):
        """The same hazards in a few words, from a case file and as a job: the same rules, and nothing that they withhold."""
        self.about = None
        said = set(self.chance.sample(self.hazards, self.chance.randint(1, 4)))
        others = [f for f in sorted(FINDINGS) if f not in self.hazards]
        for finding in self.chance.sample(others, self.chance.randint(0, 3)):
            denies = {x for f in said | {finding} for x in FINDINGS[f].get("implies-no", [])}
            if not denies & (said | {finding}):
                said.add(finding)
        said = sorted(said)
        fired = {id: "said" for id, rule in self.rules.items() if set(rule["any"]) & set(said)}
        path = os.path.join(self.folder, f"said{self.steps}.json")
        json.dump({"title": "Said at the counter", "locomotive": {"name": "Saltmarsh Mail", "family": "ac-series"},
                   "answers": {f: "yes" for f in said}}, open(path, "w"))
        self.commands.append(["#", "the case file has yes to", *said])
        rules_of = {}
        more = ("--no-learning",) if self.chance.random() < 0.5 else ("--log", os.path.join(self.folder, log + ".sqlite"))
        for words in (("quick", *said), ("diagnose", path)):
            code, out, err = self.run(*words, "--json", *more)
            if code == 4:  # contradicting findings: no plan, so nothing is offered
                self.note("hazards that contradict others give no STOP", *said)
                continue
            if not self.demand(code == 0, words[0] + " fails", *said, code, err):
                continue
            told = json.loads(out)
            gates = {g["rule"]: g for g in told["gates"] if not g.get("cleared")}
            rules_of[words[0]] = set(gates)
            for id in fired:
                if self.demand(id in gates, words[0] + " does not name a rule", id, said, sorted(gates)):
                    self.demand(gates[id]["say"] == self.rules[id]["say"], words[0] + " says another sentence than the rule", id)
                    self.demand(gates[id]["withholds"] == self.rules[id]["withhold"], words[0] + " withholds other than the rule", id, gates[id]["withholds"])
            for step in told["plan"]["steps"]:
                for id in fired:
                    self.demand(allows(self.rules[id], step["kind"], step["id"]), words[0] + " lists a step that a rule withholds",
                                step["kind"], step["id"], step["power"], id, self.rules[id]["withhold"], said)
                self.demand(step["power"] == POWER[step["id"]], words[0] + " has another power than the file", step["id"], step["power"])
        code, out, err = self.run("job", "new", "-q", path, log="said", show=False)
        if code != 0:
            self.note("a job with such hazards is refused", *said, err.strip())
            return
        code, out, err = self.run("job", "next", out.strip().splitlines()[-1], "--json", log="said", show=False)
        if self.demand(code == 0, "job next fails", *said, code, err):
            told = json.loads(out)
            kind, _, id = told["key"].partition(":")
            for rule in fired:
                self.demand(kind not in ("check", "repair") or allows(self.rules[rule], kind, id), "a job offers what a rule withholds", told["key"], rule)
            listed = {each.get("rule") for each in told.get("stop") or []}
            for name, rules in rules_of.items():
                self.demand(rules == listed, f"{name} and job do not agree", said, sorted(rules), sorted(listed))

    # the whole

    def school(self):
        """Some closed jobs to learn from, in the log of the first bench."""
        for case in self.chance.sample(["dry-bearings.json", "slow-spot.json", "two-causes.json"], 2):
            code, out, err = self.run("job", "new", "-q", os.path.join(DEMO, case), log="a")
            short = out.strip().splitlines()[-1]
            job = next(row["job"] for row in self.rows("a") if row["job"].startswith(short))
            self.names[job] = f"J{sum(1 for w in self.commands if w[:2] == ['job', 'new'])}"
            for words in (["repair", job, "repair-oil-bearings"], ["retest", job, "passed"], ["close", job, "cured", "bearing-dry"]):
                self.run("job", *words, log="a")
        code, out, err = self.run("learn", log="a")
        self.demand(code == 0, "learn fails", code, err)

    def go(self, steps):
        if self.learned:
            self.school()
        self.steps = 0  # going to school does not count
        while self.steps < steps:
            self.step()
        for log in self.logs:  # and all that is open, once more, at the end
            for job in self.open_jobs(log)[:6]:
                self.look(log, job)
        shutil.rmtree(self.folder)


# The judge itself: a few stories whose end is plain. A judge that lets all pass would find nothing.
def plain_stories():
    rule = {"id": "rule-x", "any": ["burning-smell"], "withhold": "live", "until": ["check-roll-by-hand", "check-shell-short"], "hold": ["check-wire-look"]}
    clean = lambda id: lambda e: e.checks.append((id, set(), {r["id"] for r in CHECKS[id]["results"]}))
    bad = lambda id: lambda e: e.checks.append((id, {CHECKS[id]["results"][0]["id"]}, {r["id"] for r in CHECKS[id]["results"]}))
    yes, no = (lambda e: e.yes.add("burning-smell")), (lambda e: e.no.add("burning-smell"))
    repair, nothing = (lambda e: setattr(e, "repair", True)), (lambda e: None)
    both = [clean("check-roll-by-hand"), clean("check-shell-short")]
    for name, story, wanted in (
            ("a yes", [yes], True), ("nothing", [nothing], False), ("a no after it", [yes, no], False), ("a repair ends nothing", [yes, repair], True),
            ("cleared", [yes, *both], False), ("half cleared", [yes, both[0]], True), ("cleared before", [*both, yes], True), ("said again", [yes, *both, yes], True),
            ("bad, then a no", [yes, bad("check-shell-short"), no], True),
            ("bad, then clean, the other not again", [yes, both[0], bad("check-shell-short"), both[1]], True),
            ("bad, repaired, all again", [yes, bad("check-shell-short"), repair, *both], False),
            ("bad, all clean, in the middle a repair", [yes, bad("check-shell-short"), both[1], repair, both[0]], True),
            ("a holding check", [yes, bad("check-wire-look"), *both], True),
            ("a holding check, clean", [yes, bad("check-wire-look"), clean("check-wire-look"), *both], False)):
        model = JobModel(name, {"rule-x": rule})
        for number, ops in enumerate(story):
            model.add("a", [{"id": str(number)}], ops)
        check(bool(model.in_force("a")) == wanted, "the judge:", name, model.in_force("a"))
    apart = JobModel("two benches", {"rule-x": rule})
    apart.add("a", [{"id": "0"}], nothing)
    apart.views["b"] = apart.views["a"]
    apart.add("a", [{"id": "1"}], yes)
    apart.add("b", [{"id": "2"}], no)
    apart.views["a"] |= apart.views["b"]
    check(bool(apart.in_force("a")) and not apart.in_force("b"), "the judge: a no by who had not seen the yes ends nothing")
    apart.add("a", [{"id": "3"}], lambda e: e.takes_back.add("1"))
    check(not apart.in_force("a"), "the judge: taken back")


plain_stories()
done = number = 0
if ONLY >= 0:
    Walk(ONLY).go(STEPS_A_WALK)
else:
    while done < STEPS:
        steps = min(STEPS_A_WALK, STEPS - done)
        walk = Walk(number)
        walk.go(steps)
        done, number = done + walk.steps, number + 1
shutil.rmtree(FOLDER)
print(f"{done} steps in {number} walks, {time.time() - START:.0f} s, seed {SEED}")
for name in sorted(counts):
    print(f"  {name}: {counts[name]}")
for name, (times, place) in sorted(notes.items()):
    print(f"  left open by the description, {times} times: {name}; first: {place}")
for name, times in sorted(failures.items()):
    print(f"  {times} failures: {name}")
if ONLY < 0:
    check(counts.get("looks with a rule in force", 0) > done / 5, "the walks meet hazards often enough to mean anything", counts)
    check(done >= STEPS, "the walks come to their end", done)
finish()
