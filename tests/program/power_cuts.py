"""Power cuts with torn sectors. A small library between the program and the system records what is written to the log's
files and what is synced; then the power is cut in thought at random operations: what was synced is kept, of the rest
each sector of 512 bytes is kept, lost or garbage, and names that no synced folder holds may be gone. From what is left
the program must open the log with every entry that it acknowledged before the cut, and with no half of a group.

Run as: python3 power_cuts.py PROGRAM ROOT [--long] [--seed N]. Needs cc. Garbage stays within the bytes that were being
written: that a torn write leaves its neighbours alone is what SQLite takes for granted (its "powersafe overwrite").
"""
import json
import os
import random
import select
import shutil
import struct
import subprocess
import sys
import tempfile
import uuid

from common import DEMO, PROGRAM, check, finish

LONG = "--long" in sys.argv
SEED = int(sys.argv[sys.argv.index("--seed") + 1]) if "--seed" in sys.argv else 41
CUTS = 1000 if LONG else 80
SECTOR = 512
FOLDER = tempfile.mkdtemp(prefix="wheeltapper-")
DESK = os.path.join(FOLDER, "desk")
LOG = os.path.join(DESK, "log.sqlite")
JOURNAL = os.path.join(FOLDER, "journal")
TOUCHED = ("fault of the program", "std::", "terminate", "json.exception", "Traceback", "Sanitizer")

SHIM = r"""
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>
/* Calls the system itself, so that nothing depends on which library comes next. */
enum { OPENED = 1, WRITTEN, CUT, SYNCED, UNLINKED, RENAMED, LINKED };

static int journal(void) {
  static int fd = -2;
  if (fd == -2) {
    const char* name = getenv("CUT_JOURNAL");
    int low = name ? (int)syscall(SYS_openat, AT_FDCWD, name, O_WRONLY | O_APPEND | O_CLOEXEC, 0) : -1;
    fd = low < 0 ? -1 : fcntl(low, F_DUPFD_CLOEXEC, 700);
    if (low >= 0) syscall(SYS_close, low);
  }
  return fd;
}

static void put(uint32_t op, const char* path, uint64_t inode, uint64_t at, const void* data, uint32_t size) {
  const char* folder = getenv("CUT_FOLDER");
  if (journal() < 0 || !folder || strncmp(path, folder, strlen(folder)) != 0) return;
  uint32_t length = (uint32_t)strlen(path);
  size_t all = 32 + length + (size_t)size;
  char* record = malloc(all);
  if (!record) abort();
  memcpy(record, &op, 4);
  memcpy(record + 4, &length, 4);
  memcpy(record + 8, &inode, 8);
  memcpy(record + 16, &at, 8);
  memcpy(record + 24, &size, 4);
  memset(record + 28, 0, 4);
  memcpy(record + 32, path, length);
  if (size) memcpy(record + 32 + length, data, size);
  /* one write a record: several processes may share the journal */
  if (syscall(SYS_write, journal(), record, all) != (long)all) abort();
  free(record);
}

static void put_fd(uint32_t op, int fd, uint64_t at, const void* data, size_t size) {
  int kept = errno;
  char link[64], path[PATH_MAX];
  struct stat about;
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  ssize_t length = readlink(link, path, sizeof path - 1);
  if (length > 0 && fstat(fd, &about) == 0) {
    path[length] = 0;
    put(op, path, about.st_ino, at, data, (uint32_t)size);
  }
  errno = kept;
}

static void whole(int folder, const char* path, char* out) {
  char base[PATH_MAX] = "", link[64];
  if (path[0] != '/') {
    if (folder == AT_FDCWD) {
      if (!getcwd(base, sizeof base)) base[0] = 0;
    } else {
      snprintf(link, sizeof link, "/proc/self/fd/%d", folder);
      ssize_t length = readlink(link, base, sizeof base - 1);
      base[length > 0 ? length : 0] = 0;
    }
  }
  snprintf(out, 2 * PATH_MAX, "%s%s%s", base, base[0] ? "/" : "", path);
}

static int open_any(int folder, const char* path, int flags, mode_t mode) {
  int fd = (int)syscall(SYS_openat, folder, path, flags, mode);
  if (fd >= 0 && (flags & (O_CREAT | O_TRUNC))) put_fd(OPENED, fd, (flags & O_TRUNC) ? 1 : 0, 0, 0);
  return fd;
}
#define MODE(after) mode_t mode = 0; \
  if (flags & (O_CREAT | __O_TMPFILE)) { va_list more; va_start(more, after); mode = va_arg(more, mode_t); va_end(more); }
int open(const char* path, int flags, ...) { MODE(flags) return open_any(AT_FDCWD, path, flags, mode); }
int open64(const char* path, int flags, ...) { MODE(flags) return open_any(AT_FDCWD, path, flags, mode); }
int openat(int folder, const char* path, int flags, ...) { MODE(flags) return open_any(folder, path, flags, mode); }
int openat64(int folder, const char* path, int flags, ...) { MODE(flags) return open_any(folder, path, flags, mode); }
int creat(const char* path, mode_t mode) { return open_any(AT_FDCWD, path, O_CREAT | O_WRONLY | O_TRUNC, mode); }
int creat64(const char* path, mode_t mode) { return open_any(AT_FDCWD, path, O_CREAT | O_WRONLY | O_TRUNC, mode); }

static ssize_t pwrite_any(int fd, const void* data, size_t size, off_t at) {
  ssize_t done = syscall(SYS_pwrite64, fd, data, size, at);
  if (done > 0) put_fd(WRITTEN, fd, (uint64_t)at, data, (size_t)done);
  return done;
}
ssize_t pwrite(int fd, const void* data, size_t size, off_t at) { return pwrite_any(fd, data, size, at); }
ssize_t pwrite64(int fd, const void* data, size_t size, off_t at) { return pwrite_any(fd, data, size, at); }
ssize_t write(int fd, const void* data, size_t size) {
  ssize_t done = syscall(SYS_write, fd, data, size);
  if (done > 0) {
    int kept = errno;
    off_t end = (off_t)syscall(SYS_lseek, fd, 0, SEEK_CUR);
    errno = kept;
    if (end >= done) put_fd(WRITTEN, fd, (uint64_t)(end - done), data, (size_t)done);
  }
  return done;
}
ssize_t writev(int fd, const struct iovec* parts, int count) {
  ssize_t all = 0;
  for (int i = 0; i < count; ++i) {
    ssize_t done = parts[i].iov_len ? write(fd, parts[i].iov_base, parts[i].iov_len) : 0;
    if (done < 0) return all ? all : done;
    all += done;
    if ((size_t)done < parts[i].iov_len) break;
  }
  return all;
}

static int cut_any(int fd, off_t length) {
  int done = (int)syscall(SYS_ftruncate, fd, length);
  if (done == 0) put_fd(CUT, fd, (uint64_t)length, 0, 0);
  return done;
}
int ftruncate(int fd, off_t length) { return cut_any(fd, length); }
int ftruncate64(int fd, off_t length) { return cut_any(fd, length); }
int fsync(int fd) {
  int done = (int)syscall(SYS_fsync, fd);
  if (done == 0) put_fd(SYNCED, fd, 0, 0, 0);
  return done;
}
int fdatasync(int fd) {
  int done = (int)syscall(SYS_fdatasync, fd);
  if (done == 0) put_fd(SYNCED, fd, 0, 0, 0);
  return done;
}
int close(int fd) {
  if (fd >= 0 && fd == journal()) return 0;  /* the journal outlives whoever closes all they see */
  return (int)syscall(SYS_close, fd);
}

int unlinkat(int folder, const char* path, int flags) {
  char name[2 * PATH_MAX];
  int done = (int)syscall(SYS_unlinkat, folder, path, flags);
  if (done == 0) { whole(folder, path, name); put(UNLINKED, name, 0, 0, 0, 0); }
  return done;
}
int unlink(const char* path) { return unlinkat(AT_FDCWD, path, 0); }
int remove(const char* path) {
  int done = unlinkat(AT_FDCWD, path, 0);
  return done != 0 && (errno == EISDIR || errno == EPERM) ? unlinkat(AT_FDCWD, path, AT_REMOVEDIR) : done;
}
static int two_names(uint32_t op, long done, int from_in, const char* from, int to_in, const char* to) {
  char one[2 * PATH_MAX], other[2 * PATH_MAX];
  if (done == 0) {
    whole(from_in, from, one);
    whole(to_in, to, other);
    put(op, one, 0, 0, other, (uint32_t)strlen(other));
  }
  return (int)done;
}
int renameat2(int from_in, const char* from, int to_in, const char* to, unsigned flags) {
  return two_names(RENAMED, syscall(SYS_renameat2, from_in, from, to_in, to, flags), from_in, from, to_in, to);
}
int renameat(int from_in, const char* from, int to_in, const char* to) { return renameat2(from_in, from, to_in, to, 0); }
int rename(const char* from, const char* to) { return renameat2(AT_FDCWD, from, AT_FDCWD, to, 0); }
int linkat(int from_in, const char* from, int to_in, const char* to, int flags) {
  return two_names(LINKED, syscall(SYS_linkat, from_in, from, to_in, to, flags), from_in, from, to_in, to);
}
int link(const char* from, const char* to) { return linkat(AT_FDCWD, from, AT_FDCWD, to, 0); }
"""
OPENED, WRITTEN, CUT, SYNCED, UNLINKED, RENAMED, LINKED = range(1, 8)


def build_shim():
    source, library = os.path.join(FOLDER, "shim.c"), os.path.join(FOLDER, "shim.so")
    with open(source, "w") as file:
        file.write(SHIM)
    subprocess.run(["cc", "-O1", "-fPIC", "-shared", "-o", library, source], check=True, timeout=600)
    return library


PLAIN = dict(os.environ, XDG_DATA_HOME=os.path.join(FOLDER, "data"), COLUMNS="80")


def recorded(shim):
    return dict(PLAIN, LD_PRELOAD=shim, CUT_JOURNAL=JOURNAL, CUT_FOLDER=DESK,
                ASAN_OPTIONS=os.environ.get("ASAN_OPTIONS", "") + ":verify_asan_link_order=0")


def run(*args, env=PLAIN):
    done = subprocess.run([PROGRAM, *args], stdin=subprocess.DEVNULL, capture_output=True, timeout=600, env=env)
    return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


class File:
    """What the disk holds for sure, and what was written since the last sync."""

    def __init__(self):
        self.durable, self.pending = bytearray(), []

    @staticmethod
    def put(data, at, piece):
        if len(data) < at:
            data.extend(bytes(at - len(data)))
        data[at : at + len(piece)] = piece

    @staticmethod
    def resize(data, length):
        del data[length:]
        data.extend(bytes(length - len(data)))

    def sync(self):
        for kind, at, piece in self.pending:
            if kind == CUT:
                self.resize(self.durable, at)
            else:
                self.put(self.durable, at, piece)
        self.pending = []

    def after_cut(self, chance, keep, garbage):
        data = bytearray(self.durable)
        for kind, at, piece in self.pending:
            if kind == CUT:
                if chance.random() < keep:
                    self.resize(data, at)
                continue
            end = at + len(piece)
            while at < end:
                stop = min(end, (at // SECTOR + 1) * SECTOR)
                sector = piece[len(piece) - (end - at) : len(piece) - (end - stop)]
                if chance.random() < garbage:
                    self.put(data, at, chance.randbytes(stop - at))
                elif chance.random() < keep:
                    self.put(data, at, sector)
                elif len(data) < stop and chance.random() < 0.3:  # the length came to the disk, the bytes did not
                    self.resize(data, stop)
                at = stop
        return data


class Disk:
    """The log's files as operations come: names hang on the folder's sync, contents on the file's."""

    def __init__(self):
        self.by_inode, self.live, self.held, self.waiting = {}, {}, {}, []

    def name(self, *change):
        self.waiting.append(change)
        self.apply(self.live, change)

    @staticmethod
    def apply(names, change):
        what, name, *more = change
        if what == "set":
            names[name] = more[0]
        elif what == "gone":
            names.pop(name, None)
        elif name in names:
            names[more[0]] = names[name]
            if what == "rename":
                del names[name]

    def file(self, name, inode):
        if inode not in self.by_inode:
            self.by_inode[inode] = File()
            self.name("set", name, self.by_inode[inode])
        return self.by_inode[inode]

    def take(self, op, path, inode, at, data):
        name = os.path.relpath(path, DESK)
        if op == SYNCED and name == ".":
            for change in self.waiting:
                self.apply(self.held, change)
            self.waiting = []
        elif not name.startswith("log.sqlite") or name.endswith("-shm") or name.endswith(" (deleted)"):
            if op in (RENAMED, LINKED) and os.path.basename(data.decode()).startswith("log.sqlite"):
                raise AssertionError("the log is put in place under a name that this test does not follow: " + path)
        elif op == OPENED:
            if name not in self.live:  # a new file; its inode may have served another before
                self.by_inode[inode] = File()
                self.name("set", name, self.by_inode[inode])
            if at:
                self.file(name, inode).pending.append((CUT, 0, b""))
        elif op == WRITTEN:
            self.file(name, inode).pending.append((WRITTEN, at, data))
        elif op == CUT:
            self.file(name, inode).pending.append((CUT, at, b""))
        elif op == SYNCED:
            self.file(name, inode).sync()
        elif op == UNLINKED:
            self.name("gone", name)
        elif op in (RENAMED, LINKED):
            self.name("rename" if op == RENAMED else "link", name, os.path.relpath(data.decode(), DESK))

    def cut(self, chance, folder):
        keep = chance.choice((0, 0.1, 0.5, 0.5, 0.9, 1))
        garbage = chance.choice((0, 0, 0.05))
        names = dict(self.held)
        for change in self.waiting[: chance.randint(0, len(self.waiting))]:
            self.apply(names, change)
        contents = {}
        for name, file in sorted(names.items()):
            if id(file) not in contents:
                contents[id(file)] = file.after_cut(chance, keep, garbage)
            with open(os.path.join(folder, name), "wb") as out:
                out.write(contents[id(file)])
        return f"keep {keep}, garbage {garbage}"


def operations():
    """(op, path, inode, at, data, where the record ends in the journal)"""
    with open(JOURNAL, "rb") as file:
        raw = file.read()
    found, at = [], 0
    while at < len(raw):
        op, length, inode, place, size, _ = struct.unpack_from("<IIQQII", raw, at)
        path = raw[at + 32 : at + 32 + length].decode()
        data = raw[at + 32 + length : at + 32 + length + size]
        at += 32 + length + size
        found.append((op, path, inode, place, data, at))
    return found


class Recording:
    """Runs commands one after the other; keeps what the log held after each, and where the journal stood by then."""

    def __init__(self, shim):
        self.env, self.states, self.ends, self.names = recorded(shim), [None], [0], ["nothing yet"]

    def acknowledged(self, name):
        self.ends.append(os.path.getsize(JOURNAL))
        copy = os.path.join(FOLDER, "copy")
        shutil.rmtree(copy, ignore_errors=True)
        os.mkdir(copy)
        for each in os.listdir(DESK):  # nobody writes now; the index in shared memory is made anew
            if each.startswith("log.sqlite") and not each.endswith("-shm"):
                shutil.copy(os.path.join(DESK, each), copy)
        code, out, err = run("log", "export", "--log", os.path.join(copy, "log.sqlite"))
        check(code == 0 and not err, name, "the log can be exported after it", code, err)
        self.states.append(out.splitlines())
        self.names.append(name)

    def do(self, *args):
        code, out, err = run(*args, "--log", LOG, env=self.env)
        check(code == 0, "recorded:", *args, code, err[:300])
        self.acknowledged(" ".join(args)[:60])
        return out.strip()

    def open_beside(self, job):
        """A guided job that waits at its question: while it has the log open nobody takes the journal away."""
        beside = subprocess.Popen([PROGRAM, "job", "go", job, "--log", LOG], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                  stderr=subprocess.DEVNULL, env=self.env)
        check(bool(select.select([beside.stdout], [], [], 20)[0]), "a guided job asks")
        return beside

    def close_beside(self, beside, words):
        try:
            beside.communicate(words.encode(), timeout=600)
        except subprocess.TimeoutExpired:
            beside.kill()
        check(beside.returncode == 0, "the guided job ends", beside.returncode)
        self.acknowledged("job go: " + words.strip())


def notes_to_import(chance, lines):
    job = json.loads(lines[1])["job"]
    note = {"at": "2026-03-04T05:06:07.089Z", "bench": "Ashcombe", "job": job, "kind": "note", "number": 900}
    path = os.path.join(FOLDER, "many.jsonl")
    with open(path, "w") as file:
        file.write(lines[0] + "\n")
        for _ in range(250):  # more than SQLite lets the journal grow before it takes it into the file
            text = "".join(chance.choice("abcdefgh ") for _ in range(18000))
            more = {"id": str(uuid.UUID(int=chance.getrandbits(128), version=4)), "body": {"text": text}}
            file.write(json.dumps(dict(note, **more), sort_keys=True, separators=(",", ":")) + "\n")
    return path


def record(shim):
    tape = Recording(shim)
    first = tape.do("job", "new", "--family", "ac-series", "-q", "--owner", "Tamsin Larkrise")
    tape.do("job", "answer", first, "squeal", "lamp-dim=no")
    tape.do("job", "read", first, "amps=2.4A", "lap-rate=8.5", "rail-volts=12V")
    tape.do("job", "note", first, "Quillwort on the third sleeper")
    second = tape.do("job", "new", os.path.join(DEMO, "dry-bearings.json"), "-q", "--owner", "Tamsin Larkrise")
    tape.do("job", "check", second, "check-plain-look", "none")
    tape.do("job", "repair", second, "repair-oil-bearings", "--minutes", "20")
    tape.do("job", "read", second, "amps=1.6A", "lap-rate=9.9")
    tape.do("job", "read", second, "amps=1.6A", "lap-rate=9.9", "--direction", "reverse")
    tape.do("job", "retest", second, "passed")
    tape.do("job", "close", second, "cured", "bearing-dry")
    beside = tape.open_beside(first)
    for number in range(4):
        tape.do("job", "note", first, f"Gorse {number} " + "pale marl " * (1 + 150 * number))
    third = tape.do("job", "new", "--family", "ac-series", "-q")
    tape.do("job", "answer", third, "shock-or-tingle")
    tape.do("job", "close", third, "referred")
    tape.do("log", "redact", "Tamsin Larkrise")
    tape.do("job", "note", first, "After the name was taken out")
    tape.do("job", "undo", first)
    tape.close_beside(beside, "note Written by the guided job\n")
    tape.do("job", "reopen", second)
    tape.do("job", "note", second, "Reopened " + "brown marl " * 900)
    tape.do("job", "close", second, "not-cured")
    tape.do("log", "redact", "Quillwort")
    tape.do("log", "rebuild")
    tape.do("job", "note", first, "The last one")
    if LONG:
        beside = tape.open_beside(first)
        tape.do("log", "import", notes_to_import(random.Random(SEED), tape.states[-1]))
        tape.do("job", "note", first, "After many")
        tape.close_beside(beside, "note Once more\n")
    return tape


def civil(code, err, *what):
    check(code >= 0 and not any(word in err for word in TOUCHED), *what, "no raw failure", code, err[:300])


def without_times(lines):
    """A redaction that the next opening finishes may carry its own id and time: held against the rest."""
    kept = []
    for line in lines or []:
        entry = json.loads(line)
        if entry.get("kind") == "redacted":
            entry = {key: entry[key] for key in ("job", "number", "kind")}
        kept.append(json.dumps(entry, sort_keys=True))
    return kept


def no_log_yet(log):
    """Nothing, an empty file, or a database without a table: the log was just being made."""
    if not os.path.exists(log) or os.path.getsize(log) == 0:
        return True
    code, _, err = run("job", "list", "--log", log)
    return code == 6 and "the file is empty, no log; `wheeltapper job new` begins one" in err


def look(chance, tape, done, place, what):
    """What the program says of the log that the cut left behind."""
    log = os.path.join(place, "log.sqlite")
    before, after = tape.states[done], tape.states[min(done + 1, len(tape.states) - 1)]
    if done == 0 and no_log_yet(log):
        code, out, err = run("job", "new", "--family", "ac-series", "-q", "--log", log)  # the log was just being made: it can be made now
        check(code == 0, *what, "a log can be begun where the first was cut short", code, err)
        civil(code, err, *what)
        return
    check(os.path.exists(log), *what, "the log is there", os.listdir(place))
    if chance.random() < 0.5:  # a command that writes comes first in half of them
        code, out, err = run("log", "rebuild", "--log", log)
        check(code == 0, *what, "log rebuild", code, err)
        civil(code, err, *what)
    code, out, err = run("job", "list", "--json", "--log", log)
    check(code == 0, *what, "job list", code, err)
    civil(code, err, *what)
    code, out, err = run("log", "check", "--log", log)
    check(code == 0, *what, "log check", code, out[:300], err[:300])
    civil(code, err, *what)
    code, out, err = run("log", "export", "--log", log)
    check(code == 0, *what, "log export", code, err)
    lines = out.splitlines()
    if lines not in (before, after):
        reduced = without_times(lines)
        nothing = done == 0 and len(lines) <= 1
        missing = [line for line in before or [] if line not in lines and line not in (after or [])]
        fits = nothing or reduced in (without_times(before), without_times(after))
        check(fits, *what, "holds what was acknowledged, and the next group whole or not at all: has", len(lines), "lines, had",
              len(before or []), "then", len(after or []), "lost", missing[:2], "err", err[:200])
    else:
        check(True)
    if chance.random() < 0.1:
        jobs = [json.loads(line)["job"] for line in lines[1:]]
        jobs = [each for each in jobs if set(each) != set("0-")]  # not the log's own, which holds who was taken out
        job = jobs[0] if jobs else run("job", "new", "--family", "ac-series", "-q", "--log", log)[1].strip()
        code, out, err = run("job", "note", job, "Gone on with", "--log", log)
        check(code == 0, *what, "can be written on", code, err)
        code, out, err = run("log", "check", "--log", log)
        check(code == 0, *what, "is sound after that", code, out, err)


def replay(tape):
    ops = operations()
    written = sum(op[0] == WRITTEN for op in ops)
    synced = sum(op[0] == SYNCED for op in ops)
    check(written > 100 and synced > 40, "the recording holds writes and syncs", written, synced)
    # The whole recording, kept whole, is the log as it is: else the recording itself misses something.
    disk = Disk()
    for op in ops:
        disk.take(*op[:5])
    for name, file in disk.live.items():
        file.sync()
        with open(os.path.join(DESK, name), "rb") as real:
            check(real.read() == file.durable, "the recording gives the file as it is:", name)
    check("log.sqlite" in disk.live, "the recording has the log", sorted(disk.live))

    chance = random.Random(SEED)
    cuts = []
    for _ in range(CUTS):  # a command first, then an operation in it, so that a long one does not take all cuts
        step = chance.randrange(1, len(tape.ends))
        inside = [i + 1 for i, op in enumerate(ops) if tape.ends[step - 1] < op[5] <= tape.ends[step]]
        cuts.append((chance.choice(inside or [len(ops)]), chance.getrandbits(32)))
    cuts.sort()
    disk, done_ops = Disk(), 0
    for number, (at, seed) in enumerate(cuts):
        while done_ops < at:
            disk.take(*ops[done_ops][:5])
            done_ops += 1
        done = max(k for k, end in enumerate(tape.ends) if end <= ops[at - 1][5])
        place = os.path.join(FOLDER, f"cut{number}")
        os.mkdir(place)
        local = random.Random(seed)
        how = disk.cut(local, place)
        following = tape.names[min(done + 1, len(tape.names) - 1)]
        look(local, tape, done, place, (f"[seed {SEED}, cut {number} after operation {at} of {len(ops)}, {how}, in: {following}]",))
        shutil.rmtree(place)
    print(f"{len(cuts)} cuts in {len(ops)} operations of {len(tape.ends) - 1} commands, seed {SEED}")


os.mkdir(DESK)
open(JOURNAL, "wb").close()
try:
    replay(record(build_shim()))
finally:
    shutil.rmtree(FOLDER)
finish()
