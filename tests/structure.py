"""The house as it stands, read from its includes: rooms look to the left only, what is private stays so.

  python3 tests/structure.py ROOT
"""
import os
import re
import sys

ROOT = sys.argv[1]
# From left to right, as the data goes. A room includes only itself and those before it.
ROOMS = ("input", "measure", "bench", "catalogue", "belief", "plan", "cases", "files", "job", "guide", "statistics", "learn", "report",
         "app", "log")
# Everything but these is handed what it needs: no file, no clock, no environment, no thread.
READERS = ("files", "log")
OUTSIDE = re.compile(r"#include <(fstream|filesystem|thread|mutex|future|atomic|unistd\.h|sys/[a-z]+\.h)>|getenv|system_clock::now|"
                     r"steady_clock|std::time\b|std::cout|std::cerr|std::cin")
# Parts of one class that is too long for one file, and the pages of a header that names them.
WITHOUT_HEADER = {"engine/log/absorb.cpp", "engine/log/check.cpp", "engine/headers.cpp", "engine/report/bench_json.cpp",
                  "engine/report/explain.cpp", "engine/report/record_html.cpp", "engine/learn/prior_strength.cpp"}
wrong = []
seen = 0
for folder, _, names in sorted(os.walk(os.path.join(ROOT, "engine"))):
    for name in sorted(names):
        if not name.endswith((".cpp", ".hpp")):
            continue
        file = os.path.relpath(os.path.join(folder, name), ROOT)
        room = file.split("/")[1]
        text = open(os.path.join(ROOT, file)).read()
        seen += 1
        if file == "engine/headers.cpp":
            continue
        if room not in ROOMS:
            wrong.append(f"{file}: its room is not in the list of {os.path.basename(__file__)}")
            continue
        for line, include in enumerate(text.split("\n"), 1):
            found = re.match(r'#include "(engine/([a-z]+)/[^"]*)"', include)
            if found and (found.group(2) not in ROOMS or ROOMS.index(found.group(2)) > ROOMS.index(room)):
                wrong.append(f"{file}:{line}: {found.group(1)} is to the right of {room}")
            if found and found.group(1).startswith("engine/belief/trellis/") and room != "belief":
                wrong.append(f"{file}:{line}: {found.group(1)} is private to belief")
            if re.match(r'#include "(?!engine/)', include):
                wrong.append(f"{file}:{line}: the engine includes what is not of the engine")
            if "SQLiteCpp" in include and room != "log":
                wrong.append(f"{file}:{line}: SQLite is private to log")
            if re.search(r"catch \(const std::(exception|logic_error|invalid_argument|domain_error|out_of_range)", include):
                wrong.append(f"{file}:{line}: catches mistakes of our own as if they were somebody's input")
            if OUTSIDE.search(include) and room not in READERS and not include.lstrip().startswith("//"):
                wrong.append(f"{file}:{line}: reads or writes outside of what it is handed: {include.strip()}")
        private = "/trellis/" in file
        if name.endswith(".cpp") and not private and file not in WITHOUT_HEADER and not os.path.exists(os.path.join(ROOT, file[:-4] + ".hpp")):
            wrong.append(f"{file}: has no header of its name")
for file in sorted(WITHOUT_HEADER):
    if not os.path.exists(os.path.join(ROOT, file)):
        wrong.append(f"{file}: is let off having a header, but is not there")
for each in wrong:
    print(each)
print(f"{seen} files, {len(wrong)} wrong")
sys.exit(1 if wrong or seen < 100 else 0)
