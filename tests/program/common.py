"""What the program tests share: running the real program, counting checks, closing with a count."""
import os
import subprocess
import sys

PROGRAM, ROOT = os.path.abspath(sys.argv[1]), sys.argv[2]
FEW = "--few" in sys.argv  # under sanitizers, where each process costs ten times as much
DEMO = os.path.join(ROOT, "cases", "demo")
_passed, _failed = 0, 0


def run(*args, **more):
    env = dict(os.environ, **more.pop("env", {}))
    done = subprocess.run([PROGRAM, *args], capture_output=True, timeout=600, env=env, **more)
    return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


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
