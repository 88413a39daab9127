"""Folders given with --knowledge that try to weaken what the shipped knowledge protects, and folders that only add to it.

A weakening must be refused by every command that reads the folder, with exit code 3 and a message that names the file and
the place in it. What makes things stricter, and what has nothing to do with safety, must load. All are made by editing
items of the shipped files, so that nothing but the edit can be the reason; that the items load without it is seen first.

    python3 overlay_attacks.py PROGRAM ROOT [--long] [--seed N]
"""
import copy
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile

from bench_oracle import items
from common import DEMO, PROGRAM, ROOT, check, finish

LONG = "--long" in sys.argv
SEED = int(sys.argv[sys.argv.index("--seed") + 1]) if "--seed" in sys.argv else 11
FOLDER = tempfile.mkdtemp(prefix="wheeltapper-")
KINDS = ("rules", "cautions", "checks", "repairs", "findings", "causes")
SHIPPED = {kind: items(ROOT, kind) for kind in KINDS}
RULES, CAUTIONS, CHECKS, REPAIRS, FINDINGS = (SHIPPED[kind] for kind in KINDS[:5])
HAZARDS = sorted({f for rule in RULES.values() for f in rule["any"]})
STRENGTH = {"live": 0, "everything": 1, "touch": 2}
SIGNALS = ["danger", "warning", "caution", "notice"]  # the gravest first
OPENS = ["nothing", "cover", "motor", "press"]
WAITED_FOR = sorted({c for rule in RULES.values() for c in rule["until"]})
HELD = sorted({c for rule in RULES.values() for c in rule.get("hold", [])} - set(WAITED_FOR))
chance = random.Random(SEED)

attacks, allowed = [], []  # (name, kind, id, edit)


def attack(name, kind, id, edit):
    attacks.append((name, kind, id, edit))


def allow(name, kind, id, edit):
    allowed.append((name, kind, id, edit))


def put(**keys):
    return lambda item: item.update({key.replace("_", "-"): value for key, value in keys.items()})


def without(key, value):
    return lambda item: item[key].remove(value)


def first(of, holds):
    """The first few items of which something is so: which ones they are may change with the shipped files."""
    return [id for id, item in of.items() if holds(item)]


# Rules: what fires them, what they withhold, what clears them, what they say.
for id in first(RULES, lambda r: len(r["any"]) > 1):
    for finding in RULES[id]["any"]:
        attack(f"fires no more on {finding}", "rules", id, without("any", finding))
attack("fires on something else", "rules", "rule-shock", put(any=["squeal"]))
attack("fires on something else", "rules", "rule-burning-smell", put(any=["squeal"]))
for id, rule in RULES.items():
    for weaker in STRENGTH:
        if STRENGTH[weaker] < STRENGTH[rule["withhold"]]:
            attack(f"withholds {weaker} instead of {rule['withhold']}", "rules", id, put(withhold=weaker))
for id in first(RULES, lambda r: r["until"]):
    attack("waits for one check less", "rules", id, without("until", RULES[id]["until"][-1]))
    attack("waits for no check", "rules", id, put(until=[]))
    other = next(c for c in CHECKS if c not in RULES[id]["until"] and CHECKS[c]["power"] == "unplugged")
    attack("waits for an easier check", "rules", id, put(until=[other, *RULES[id]["until"][1:]]))
for id in first(RULES, lambda r: not r["until"]):
    attack("is cleared by a check where nothing clears it", "rules", id, put(until=["check-plain-look"]))
for id in first(RULES, lambda r: r.get("hold")):
    attack("is held by one check less", "rules", id, without("hold", RULES[id]["hold"][0]))
    attack("is held by none", "rules", id, lambda item: item.pop("hold"))
for id in first(RULES, lambda r: r["refer"]):
    attack("refers to nobody", "rules", id, put(refer=False))
for id in RULES:
    attack("says nothing", "rules", id, put(say="-"))
    attack("has a caution less", "rules", id, without("cautions", RULES[id]["cautions"][0]))
attack("has no cautions", "rules", "rule-shock", put(cautions=[]))
attack("says half of it", "rules", "rule-shock", lambda item: item.update(say=item["say"].split(". ")[0] + "."))
attack("says it in other words", "rules", "rule-fibre", put(say="Fibre is mostly harmless: brush it off and go on."))
# Cautions: signal word and text.
for id in first(CAUTIONS, lambda c: c["signal"] != "notice")[:12]:
    at = SIGNALS.index(CAUTIONS[id]["signal"])
    for weaker in SIGNALS[at + 1 :]:
        attack(f"{weaker} instead of {CAUTIONS[id]['signal']}", "cautions", id, put(signal=weaker))
for id in list(CAUTIONS)[:12]:
    attack("says nothing", "cautions", id, put(text="-"))
attack("says half of it", "cautions", "caution-unplug-first", lambda item: item.update(text=item["text"].split(". ")[0] + "."))
# Checks and repairs: power, cautions, what comes apart.
for kind, power_of in (("checks", CHECKS), ("repairs", REPAIRS)):
    for was in ("unplugged", "live", "unplugged-then-live"):
        for now in ("unplugged", "live", "unplugged-then-live"):
            for id in first(power_of, lambda i: i.get("power") == was and was != now)[:2]:
                attack(f"{now} instead of {was}", kind, id, put(power=now))
    for id in first(power_of, lambda i: i["cautions"])[:4]:
        attack("has a caution less", kind, id, without("cautions", power_of[id]["cautions"][-1]))
        attack("has no cautions", kind, id, put(cautions=[]))
    for was in OPENS[1:]:
        for id in first(power_of, lambda i: i["opens"] == was)[:2]:
            attack(f"opens nothing instead of {was}", kind, id, put(opens="nothing"))
# Checks that rules wait for: what they look for.
def other_finding(result):
    result.pop("causes", None)
    result.pop("specificity", None)
    result["finding"] = "squeal"


for id in [*WAITED_FOR, *HELD]:
    if len(CHECKS[id]["results"]) > 1:
        attack("looks for one thing less", "checks", id, lambda item: item["results"].pop(0))
    at = next((n for n, r in enumerate(CHECKS[id]["results"]) if r.get("finding")), 0)
    attack("a result shows another finding", "checks", id, lambda item, at=at: other_finding(item["results"][at]))
    attack("a result goes by another id", "checks", id, lambda item: item["results"][0].update(id="nothing-much"))
# Findings that fire a rule.
for id in ("shock-or-tingle", "burning-smell", "hot-transformer", "breaker-trips"):
    attack("has another name", "findings", id, put(name="All is well"))
for id in ("shock-or-tingle", "fibre-seen", "smoke-from-motor"):
    attack("is read off a meter", "findings", id, put(reading={"test": "above", "reading": "amps", "run": "loaded", "edges": [90]}))
    attack("gets levels", "findings", id, lambda item: item.update({"levels": ["none to speak of", "some", "much"], "leak": [0.01, 0.005]}))
for id in first({h: FINDINGS[h] for h in HAZARDS if h in FINDINGS}, lambda f: f.get("reading")):
    attack("its edges are moved", "findings", id, lambda item: item["reading"].update(edges=[e + 40 for e in item["reading"]["edges"]]))
    attack("is read no more", "findings", id, lambda item: item.pop("reading"))
for id in first({h: FINDINGS[h] for h in HAZARDS if h in FINDINGS}, lambda f: f.get("levels")):
    attack("its levels have other names", "findings", id, put(levels=["hot", "no warmer than usual", "cold"]))
for id in first({h: FINDINGS[h] for h in HAZARDS if h in FINDINGS}, lambda f: len(f.get("words", [])) > 1)[:5]:
    attack("loses a word", "findings", id, lambda item: item["words"].pop(0))
    attack("loses all words", "findings", id, lambda item: item.pop("words"))

# What only adds, and what is no matter of safety.
like = lambda kind, model, **keys: {**copy.deepcopy(SHIPPED[kind][model]), **{k.replace("_", "-"): v for k, v in keys.items()}}
allow("fires on one finding more", "rules", "rule-hot-leads", lambda item: item["any"].append("squeal"))
allow("waits for one check more", "rules", "rule-trips-empty", lambda item: item["until"].append("check-plain-look"))
allow("waits for one check more", "rules", "rule-locked", lambda item: item["until"].append("check-plain-look"))
allow("says more", "rules", "rule-water", lambda item: item.update(say=item["say"] + " The shop's own electrician has a key."))
allow("says more, ahead of it", "rules", "rule-breaker-trips", lambda item: item.update(say="Hands off the throttle. " + item["say"]))
allow("has a caution more", "rules", "rule-cord", lambda item: item["cautions"].append("caution-hot-surfaces"))
allow("withholds more", "rules", "rule-fibre", put(withhold="touch"))
allow("refers to somebody", "rules", "rule-burning-smell", put(refer=True))
for id in first(CAUTIONS, lambda c: c["signal"] in ("warning", "caution", "notice"))[:3]:
    allow("a graver word", "cautions", id, put(signal="danger"))
allow("says more", "cautions", "caution-mains-closed", lambda item: item.update(text=item["text"] + " Red tags hang at the door."))
allow("another source", "cautions", "caution-hot-surfaces", put(source="the shop's own book"))
allow("has a caution more", "checks", "check-roll-by-hand", lambda item: item["cautions"].append("caution-hot-surfaces"))
allow("takes longer, has other steps", "checks", "check-plain-look", put(minutes=9, steps=["Unplug at the wall.", "Look, smell and rock it as the shop's sheet says."]))
allow("opens more", "checks", "check-wire-look", put(opens="motor"))
allow("has a caution more", "repairs", "repair-oil-bearings", lambda item: item["cautions"].append("caution-hot-surfaces"))
allow("is cured more often", "causes", "gear-grease-hard", lambda item: item["cured-by"].update({"repair-regrease": 0.95}))
allow("another chance", "findings", "burning-smell", lambda item: item.update(leak=item["leak"] / 2))
allow("a finding of no rule with other words", "findings", "squeal", put(name="Squeals like the gate", question="Does it squeal?"))
allow("a cause with another rate", "causes", "bearing-dry", lambda item: item["rate"].update({"ac-series": item["rate"]["ac-series"] * 1.1}))
if FINDINGS["burning-smell"].get("words"):
    allow("one word more", "findings", "shock-or-tingle", lambda item: item["words"].append("bites"))
NEW = [  # (name, kind, item): ids that are not shipped
    ("a new rule", "rules", like("rules", "rule-locked", id="rule-own-squeal", name="Squeals, shop rule", any=["squeal"])),
    ("a new rule that nothing clears", "rules", like("rules", "rule-shock", id="rule-own-sparks", name="Grinds, shop rule", any=["grinding"])),
    ("a new check", "checks", like("checks", "check-roll-by-hand", id="check-own-look", name="Look at the shop's lamp", results=[
        {"id": "dim", "shows": "The lamp is dim", "finding": "lamp-dim"}])),
    ("a new check for the mains lead's colour", "checks", like("checks", "check-plain-look", id="check-own-sheet", name="Read the shop's sheet",
                                                                results=[{"id": "lever", "shows": "A lever stands wrong", "finding": "lever-not-in-place-seen"}])),
    ("a new repair", "repairs", like("repairs", "repair-regrease", id="repair-own-grease", name="Grease it the shop's way")),
    ("a new caution", "cautions", like("cautions", "caution-unplug-first", id="caution-own-door", signal="notice", text="Shut the garden door.")),
    ("a new cause", "causes", like("causes", "bearing-dry", id="own-cause", name="Sand from the garden line")),
]


# ------------------------------------------------------------------------------------------------------------- running

def run(*words):
    done = subprocess.run([PROGRAM, *words], stdin=subprocess.DEVNULL, capture_output=True, timeout=600,
                          env=dict(os.environ, XDG_DATA_HOME=os.path.join(FOLDER, "data"), COLUMNS="80"))
    return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


made = 0


def folder_of(files):
    """A folder of these files: name -> {kind: [items]}."""
    global made
    made += 1
    folder = os.path.join(FOLDER, f"own{made}")
    for name, content in files.items():
        path = os.path.join(folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        json.dump(content, open(path, "w"), indent=1)
    return folder


def as_patch(shipped, item):
    """What is laid over is a merge patch: a key that the edit took away is null in it."""
    if not (isinstance(shipped, dict) and isinstance(item, dict)):
        return item
    return {**{key: as_patch(shipped.get(key), value) for key, value in item.items()}, **{key: None for key in shipped if key not in item}}


def edited(kind, id, edit):
    item = copy.deepcopy(SHIPPED[kind][id])
    edit(item)
    return as_patch(SHIPPED[kind][id], item)


def refused(what, folder, places, words=("quick", "squeal")):
    """Exit code 3, and one of the places, each a file, a kind and a number, is named."""
    code, out, err = run(*words, "--knowledge", folder)
    named = any(re.search(re.escape(file) + f"#/{kind}/{at}(/|:|\\b)", err) for file, kind, at in places)
    check(code == 3 and named and "fault of the program" not in err, "loads or is refused strangely:", what, words[0], "exit code", code, err[:300])


def loads(what, folder, words=("quick", "squeal")):
    code, out, err = run(*words, "--knowledge", folder)
    check(code == 0 and not err, "does not load:", what, words[0], "exit code", code, err[:300])


# Without an edit all of them load: so it is the edit that is refused.
same = {}
for _, kind, id, _ in [*attacks, *allowed]:
    same.setdefault(kind, {})[id] = SHIPPED[kind][id]
loads("the shipped items themselves", folder_of({kind + ".json": {kind: list(each.values())} for kind, each in same.items()}))
check(len(attacks) >= 40 and len(allowed) + len(NEW) >= 12, "enough of both", len(attacks), len(allowed) + len(NEW))

for name, kind, id, edit in attacks:
    item = edited(kind, id, edit)
    check(item != SHIPPED[kind][id], "the edit changes something", name, kind, id)
    refused(f"{id} {name}", folder_of({"own.json": {kind: [item]}}), [("own.json", kind, 0)])

for name, kind, id, edit in allowed:
    loads(f"{id} {name}", folder_of({"own.json": {kind: [edited(kind, id, edit)]}}))
for name, kind, item in NEW:
    loads(name, folder_of({"own.json": {kind: [item]}}))

# A hazard that no cause brings about any more is a hazard still, and its rule stands.
no_cause = {c: {"id": c, "shows": {"burning-smell": None}} for c, card in SHIPPED["causes"].items() if "burning-smell" in card["shows"]}
code, out, err = run("quick", "burning-smell", "--knowledge", folder_of({"own.json": {"causes": list(no_cause.values())}}))
check(code == 0 and "STOP" in out and len(no_cause) > 5, "a hazard without causes stops", code, err[:300], out[:300])

# Every command that reads the folder refuses it, before it writes a thing.
LOG = os.path.join(FOLDER, "log.sqlite")
code, job, err = run("job", "new", "-q", os.path.join(DEMO, "burning-smell.json"), "--log", LOG)
job = job.strip()
code, before, err = run("log", "digest", "--log", LOG)
check(code == 0 and job, "a job to try it on", err)
for name, kind, id, edit in [a for a in attacks if a[2] in ("rule-shock", "rule-burning-smell", "caution-unplug-first")][:6]:
    folder = folder_of({"own.json": {kind: [edited(kind, id, edit)]}})
    for words in (("diagnose", os.path.join(DEMO, "burning-smell.json")), ("explain", "burning-smell"), ("show", "rules"), ("lint",),
                  ("job", "new", "--family", "ac-series", "-q", "--log", LOG), ("job", "next", job, "--log", LOG), ("job", "answer", job, "burning-smell=no", "--log", LOG),
                  ("learn", "--log", LOG)):
        refused(f"{id} {name}", folder, [("own.json", kind, 0)], words)
check(run("log", "digest", "--log", LOG)[1] == before, "what is refused writes nothing")

# Two overlays in one folder: a file that only adds does not cover one that weakens, whichever is read first.
weak, more = edited("rules", "rule-shock", put(withhold="live")), edited("rules", "rule-water", lambda i: i.update(say=i["say"] + " Ask at the desk."))
for one, two in (("a.json", "b.json"), ("b.json", "a.json")):
    refused("a weak file beside a strict one", folder_of({one: {"rules": [more]}, two: {"rules": [weak]}}), [(two, "rules", 0)])
    # the same item twice: neither may win over the other without a word
    strict = edited("rules", "rule-shock", lambda i: i.update(say=i["say"] + " Ask at the desk."))
    refused("a weak and a strict form of one rule", folder_of({one: {"rules": [strict]}, two: {"rules": [weak]}}), [(one, "rules", 0), (two, "rules", 0)])
    refused("a weak rule behind a strict one in another file", folder_of({one: {"rules": [more, weak]}, two: {"causes": [NEW[-1][2]]}}), [(one, "rules", 1)])
    # a rule may wait for a check of the folder's own only beside those it has
    own = next(item for name, kind, item in NEW if item["id"] == "check-own-look")
    refused("a check of one's own instead of the shipped ones", folder_of({one: {"checks": [own]}, two: {"rules": [
        edited("rules", "rule-locked", put(until=["check-own-look"]))]}}), [(two, "rules", 0)])
    loads("a check of one's own beside the shipped ones", folder_of({one: {"checks": [own]}, two: {"rules": [
        edited("rules", "rule-locked", lambda i: i["until"].append("check-own-look"))]}}))
    # a caution of one's own in place of a shipped one
    mild = next(item for name, kind, item in NEW if kind == "cautions")
    refused("a mild caution in the place of a shipped one", folder_of({one: {"cautions": [mild]}, two: {"rules": [
        edited("rules", "rule-shock", lambda i: i["cautions"].__setitem__(0, "caution-own-door"))]}}), [(two, "rules", 0)])
loads("two files that only add", folder_of({"a.json": {"rules": [more]}, "b.json": {"cautions": [edited("cautions", "caution-hot-surfaces", put(signal="danger"))]}}))
# in a folder of the folder: refused, or not read at all, but never in use
deep = folder_of({"more/own.json": {"rules": [weak]}})
code, out, err = run("quick", "shock-or-tingle", "--json", "--knowledge", deep)
in_use = code == 0 and any(g["rule"] == "rule-shock" and g["withholds"] == "live" for g in json.loads(out)["gates"])
check(code in (0, 3) and not in_use, "a weak rule in a folder of the folder is in use", code, err)

# At random: some that weaken among some that add, over one to three files; and some that only add.
combinations = 600 if LONG else 45
for number in range(combinations):
    bad = chance.sample(attacks, chance.randint(1, 3)) if number % 3 else []
    good = chance.sample(allowed, chance.randint(0 if bad else 2, 5))
    taken, files, places = set(), {}, []
    names = chance.sample(["a.json", "m.json", "z.json", "house.json"], chance.randint(1, 3))
    every = [(each, True) for each in bad] + [(each, False) for each in good]
    chance.shuffle(every)
    said = []
    for (name, kind, id, edit), weakens in every:
        if (kind, id) in taken:
            continue
        taken.add((kind, id))
        file = f"{kind}-{chance.choice(names)}"  # a file holds items of one kind
        listed = files.setdefault(file, {}).setdefault(kind, [])
        if weakens:
            places.append((file, kind, len(listed)))
        listed.append(edited(kind, id, edit))
        said.append(f"{id} {name}")
    for name, kind, item in chance.sample(NEW, chance.randint(0, 2)):
        files.setdefault(f"{kind}-{chance.choice(names)}", {}).setdefault(kind, []).append(item)
    what = f"combination {number} of seed {SEED}: " + "; ".join(said)
    if places:
        refused(what, folder_of(files), places)
    elif not bad:
        loads(what, folder_of(files))
shutil.rmtree(FOLDER)
print(f"{len(attacks)} attacks, {len(allowed) + len(NEW)} that are allowed, {combinations} combinations, seed {SEED}")
finish()
