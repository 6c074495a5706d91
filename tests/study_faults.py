#!/usr/bin/env python3
"""Disturbs a study in every way that a night can, and lets the same command go on.

    tests/study_faults.py PROGRAM [--tries N] [--seed S]

After each fault the same command must end with the table of an undisturbed study, value for value; no run that was written may be lost or
done again, and at most the runs in flight may have to be. Prints what was tried how often and what it cost. Needs h5py; mounts (full disk,
read-only folder) need root, and the kill before a write is on the disk needs strace. What cannot be tried is said.
"""

import argparse
import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zlib
from contextlib import contextmanager
from pathlib import Path

import h5py
import numpy

TRACT = """
points: {road: {speed: 40 m/s}}
parts:
  nose: {kind: scoop, area: 90 cm2, recovery: 0.8, lip_radius: 5 mm}
  snout: {kind: duct, length: 300 mm, diameter: 100 mm}
  box: {kind: plenum, volume: 6 L}
  tube: {kind: duct, length: 500 mm, diameter: 70 mm}
  turbo: {kind: draw, corrected_flow: 190 g/s, pulse: {amplitude: 10 %, frequency: 120 Hz}}
flow: [[nose, snout, box, tube, turbo]]
"""
STUDY = """
layouts: {{one: {{case: tract.yaml}}}}
vary:
  bore: {{fields: parts.tube.diameter, from: 62 mm, to: 78 mm, count: {bores}}}
  box: {{fields: parts.box.volume, from: 5 L, to: 9 L, count: {boxes}}}
run: {{until: {until}, cell: 10 mm, record_every: 1 ms}}
keep: {keep}
"""
BORES, BOXES = 6, 5
# A front of two aims, so that both waves of a search are disturbed.
SEARCH = """
layouts: {{one: {{case: tract.yaml}}}}
vary:
  bore: {{fields: parts.tube.diameter, from: 62 mm, to: 78 mm}}
  box: {{fields: parts.box.volume, from: 5 L, to: 9 L}}
aims: [{{figure: recovery, want: most}}, {{figure: bore, want: least}}]
search: {{evaluations: 46, starts: 6}}
run: {{until: {until}, cell: 10 mm, record_every: 1 ms}}
"""
# How a run is marched: with waves into a file that is removed again, or to its steady state without one.
WAVES, STEADY = "40 ms", "steady"
THREADS = 2
# Longest time of a command before it counts as hung [s].
PATIENCE = 120
DONE, FILES, INTERRUPTED = 0, 74, 130


class Untried(Exception):
    """A fault that cannot be made here, and why."""


def entries(folder):
    """The lines of the journal that hold, by their checksum: identity and text, in order."""
    journal = folder / "runs.journal"
    found = []
    for line in journal.read_bytes().split(b"\n") if journal.exists() else []:
        digits, _, text = line.partition(b" ")
        if len(digits) == 8 and text and f"{zlib.crc32(text):08x}".encode() == digits:
            found.append((text.split(b'"id":"')[1][:32].decode(), line))
    return found


def begun(folder):
    """Runs that were begun and are not written."""
    fields = folder / "fields"
    names = {name.name[:32] for name in fields.iterdir()} if fields.exists() else set()
    return names - {identity for identity, _ in entries(folder)}


def flip(path, place):
    """Flips a bit of a file."""
    data = bytearray(path.read_bytes())
    data[place // 8] ^= 1 << (place % 8)
    path.write_bytes(data)


def values(path):
    """Every value of an HDF5 file, by its place."""
    found = {}
    with h5py.File(path, "r") as file:
        file.visititems(lambda name, item: found.update({name: item[()]}) if isinstance(item, h5py.Dataset) else None)
    return found


def same(left, right):
    equal = lambda a, b: numpy.array_equal(a, b, equal_nan=numpy.asarray(a).dtype.kind == "f")
    return left.keys() == right.keys() and all(equal(left[name], right[name]) for name in left)


class Trial:
    """A study, what it comes to undisturbed, and the faults that can be done to it."""

    def __init__(self, program, scratch, until, tries, seed, form=STUDY):
        self.program, self.scratch, self.until, self.tries, self.form = program, scratch, until, tries, form
        self.dice = random.Random(seed)
        scratch.mkdir()
        (scratch / "tract.yaml").write_text(TRACT)
        self.study = self.write("figures.study.yaml", BORES, BOXES, "figures")
        self.folders = 0
        self.whole = self.folder()
        started = time.monotonic()
        self.table = self.finish(self.whole, [])
        self.seconds = time.monotonic() - started
        self.journal = entries(self.whole)
        self.runs = len(self.journal)

    def write(self, name, bores, boxes, keep):
        text = self.form.format(bores=bores, boxes=boxes, until=self.until, keep=keep)
        (self.scratch / name).write_text(text)
        return self.scratch / name

    def folder(self):
        """A new folder, not there yet."""
        self.folders += 1
        return self.scratch / f"night {self.folders}"

    def command(self, folder, study=None):
        call = [self.program, "study", study or self.study, "-o", folder, "--format", "csv"]
        return [str(word) for word in call + ["--threads", THREADS]]

    def run(self, folder, study=None, before=(), more=()):
        command = [*before, *self.command(folder, study), *more]
        return subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE)

    def start(self, folder):
        silent = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL}
        return subprocess.Popen(self.command(folder), stderr=subprocess.PIPE, text=True, **silent)

    def part(self, share=0.5, folder=None):
        """A study of which a share was done, as an interruption leaves it."""
        folder = folder or self.folder()
        folder.mkdir(exist_ok=True)
        lines = [line + b"\n" for _, line in self.journal[: int(share * self.runs)]]
        (folder / "runs.journal").write_bytes(b"".join(lines))
        return folder

    def copy(self, other=None):
        folder = self.folder()
        shutil.copytree(other or self.whole, folder)
        return folder

    def grown(self, folder, child, by=2):
        """Waits until a study has written some runs more than half."""
        wanted = self.runs // 2 + by
        while len(entries(folder)) < wanted:
            assert child.poll() is None, f"the study ended too early: {child.stderr.read()}"
            time.sleep(0.002)

    def finish(self, folder, kept):
        """The same command ends as if nothing had happened: nothing of `kept` is lost or done again, and nothing else is left."""
        done = self.run(folder)
        assert done.returncode == DONE, f"exit code {done.returncode}: {done.stderr}"
        assert done.stdout == getattr(self, "table", done.stdout), f"another table in {folder}"
        now = entries(folder)
        assert now[: len(kept)] == kept, "a run that was written is not there any more"
        runs = len(done.stdout.splitlines()) - 1
        assert len({identity for identity, _ in now}) == len(now) == runs, f"{len(now)} lines for {runs} runs"
        left = {str(path.relative_to(folder)) for path in folder.rglob("*")} - {"fields"}
        assert left == {"runs.journal", "table.h5"}, f"left behind: {left}"
        assert sealed(folder / "table.h5")
        if folder != self.whole:
            assert same(values(folder / "table.h5"), values(self.whole / "table.h5")), f"another table in {folder}"
        return done.stdout

    # Faults. Each answers with how often it was tried and what it cost.

    def killed(self):
        kills = lost = 0
        while kills < self.tries:
            folder = self.folder()
            while len(entries(folder)) < self.runs and kills < self.tries:
                kept = entries(folder)
                child = self.start(folder)
                time.sleep(self.dice.uniform(0.02, 0.5) * self.seconds)
                child.kill()
                if child.wait() == -signal.SIGKILL:
                    kills += 1
                now = entries(folder)
                assert now[: len(kept)] == kept, "a kill cost a run that was written"
                assert len(begun(folder)) <= THREADS, f"in flight: {begun(folder)}"
                lost += len(begun(folder))
            self.finish(folder, entries(folder))
        return kills, f"{lost} runs in flight, at most {THREADS} a kill"

    def asked_to_stop(self, number):
        saved = 0
        for _ in range(self.tries):
            folder = self.part()
            child = self.start(folder)
            self.grown(folder, child)
            child.send_signal(number)
            _, told = child.communicate(timeout=PATIENCE)
            assert child.returncode == INTERRUPTED and "the same command" in told, f"{child.returncode}: {told}"
            journal = (folder / "runs.journal").read_bytes()
            assert journal.endswith(b"\n") and journal.count(b"\n") == len(entries(folder)), "a torn line"
            assert len(begun(folder)) <= THREADS
            saved += len(begun(folder))
            self.finish(folder, entries(folder))
        return self.tries, f"nothing; {saved} runs in flight saved, which go on"

    def full_disk(self):
        lines = lost = 0
        for number in range(self.tries):
            with mounted(self.folder(), "size=64m") as disk:
                folder = self.part(folder=disk)
                kept = entries(folder)
                fill(disk, number % 4)
                full = self.run(folder)
                assert full.returncode == FILES, f"{full.returncode}: {full.stderr}"
                assert str(folder) in full.stderr and "No space left on device" in full.stderr, full.stderr
                now = entries(folder)
                assert now[: len(kept)] == kept, "a full disk cost a run that was written"
                assert len(begun(folder)) <= THREADS, f"in flight: {begun(folder)}"
                lines += len(now) - len(kept)
                lost += len(begun(folder))
                (disk / "ballast").unlink()
                self.finish(folder, now)
        return self.tries, f"{lost} runs in flight; {lines} were still written"

    def read_only(self):
        with mounted(self.folder(), "size=64m") as disk:
            folder = self.part(folder=disk)
            kept = entries(folder)
            subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
            refused = self.run(folder)
            subprocess.run(["mount", "-o", "remount,rw", disk], check=True)
            assert refused.returncode == FILES, f"{refused.returncode}: {refused.stderr}"
            assert str(folder) in refused.stderr and "ead-only" in refused.stderr, refused.stderr
            assert entries(folder) == kept
            self.finish(folder, kept)
        return 1, "nothing; refused before the first run"

    def flipped_in_journal(self):
        lost = 0
        for _ in range(self.tries):
            folder = self.copy()
            path = folder / "runs.journal"
            flip(path, self.dice.randrange(8 * path.stat().st_size))
            held = entries(folder)
            cost = self.runs - len(held)
            # An end of a line that is none any more costs two.
            assert 1 <= cost <= 2, cost
            lost += cost
            self.finish(folder, [])
            assert set(held) <= set(entries(folder)), "a whole line changed"
        return self.tries, f"{lost} runs, those of the line, done again"

    def flipped_in_table(self):
        for _ in range(self.tries):
            folder = self.copy()
            path = folder / "table.h5"
            flip(path, self.dice.randrange(8 * path.stat().st_size))
            assert not sealed(path), "a flipped bit that nobody could notice"
            self.finish(folder, self.journal)
        return self.tries, "nothing; the table is made anew from the journal"

    def flipped_in_fields(self):
        """A run whose kept fields are damaged is done again: it alone."""
        first, study = self.folder(), self.write("fields.study.yaml", 2, 2, "fields")
        told = self.run(first, study)
        assert told.returncode == DONE, told.stderr
        for _ in range(self.tries):
            folder = self.copy(first)
            kept = {path.name: values(path) for path in (folder / "fields").iterdir()}
            untouched = {path.name: hashlib.sha256(path.read_bytes()).digest() for path in (folder / "fields").iterdir()}
            path = self.dice.choice(sorted((folder / "fields").iterdir()))
            flip(path, self.dice.randrange(8 * path.stat().st_size))
            again = self.run(folder, study)
            assert again.returncode == DONE and again.stdout == told.stdout, again.stderr
            assert f"{len(kept) - 1} runs are there already" in again.stderr, again.stderr
            twice = [identity for identity, _ in entries(folder)]
            assert len(twice) == len(kept) + 1 and twice.count(path.name[:32]) == 2, "another run was done again"
            for now in (folder / "fields").iterdir():
                assert now == path or hashlib.sha256(now.read_bytes()).digest() == untouched[now.name], "touched"
                assert same(values(now), kept[now.name]), f"{now} has other values"
        return self.tries, f"{self.tries} runs, those of the damaged files, done again"

    def two_processes(self):
        for _ in range(self.tries):
            folder = self.part()
            first = self.start(folder)
            self.grown(folder, first)
            for share in [[], ["--shard", "1/2"]]:
                second = self.run(folder, more=share)
                assert first.poll() is None, "the first ended too early"
                assert second.returncode == FILES and f"process {first.pid}" in second.stderr, second.stderr
            assert first.wait(timeout=PATIENCE) == DONE, first.stderr.read()
            self.finish(folder, entries(folder))
        return self.tries, "nothing; the second is refused and told who the first is"

    def dated_ahead(self):
        """What a clock that steps back leaves behind: files from the future. That no wall clock is read is a test of the sources."""
        folder = self.part()
        child = self.start(folder)
        self.grown(folder, child)
        child.send_signal(signal.SIGTERM)
        child.communicate(timeout=PATIENCE)
        tomorrow = time.time() + 86_400
        for path in folder.rglob("*"):
            os.utime(path, (tomorrow, tomorrow))
        self.finish(folder, entries(folder))
        return 1, "nothing; files from tomorrow go on as others do"

    def killed_before(self, call, most):
        """A kill when a file is written and not yet brought to the disk, at one of the first `most` calls that would do that."""
        if not shutil.which("strace"):
            raise Untried("strace is missing")
        lost = 0
        for when in range(1, self.tries + 1):
            folder = self.part()
            before = ["strace", "-f", "-qq", "-o", self.scratch / "calls", "-e", f"trace={call}"]
            before += ["-e", f"inject={call}:signal=KILL:when={min(when, most)}"]
            killed = self.run(folder, before=[str(word) for word in before])
            if "ptrace" in killed.stderr or "PTRACE" in killed.stderr:
                raise Untried("strace may not follow a process here")
            assert killed.returncode in [-signal.SIGKILL, 128 + signal.SIGKILL], f"{killed.returncode}: {killed.stderr}"
            assert f"{call}(" in (self.scratch / "calls").read_text(), "nothing was brought to the disk"
            now = entries(folder)
            assert now[: self.runs // 2] == self.journal[: self.runs // 2] and len(begun(folder)) <= THREADS
            lost += len(begun(folder))
            self.finish(folder, now)
        return self.tries, f"{lost} runs in flight"


def sealed(path):
    """Whether the last line of a file is the checksum of all before it."""
    data = path.read_bytes()
    return data[-15:] == f"crc32 {zlib.crc32(data[:-15]):08x}\n".encode()


def fill(disk, pages):
    """Leaves so many pages of a disk free."""
    with open(disk / "ballast", "wb", buffering=0) as ballast:
        room = os.statvfs(disk)
        ballast.write(bytes((room.f_bavail - pages) * room.f_frsize))


@contextmanager
def mounted(folder, options):
    """A disk of its own."""
    if os.geteuid() != 0:
        raise Untried("a disk of its own needs root")
    folder.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", options, "none", folder], capture_output=True, text=True)
    if done.returncode != 0:
        raise Untried(done.stderr.strip())
    try:
        yield folder
    finally:
        subprocess.run(["umount", folder], check=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program", type=Path)
    parser.add_argument("--tries", type=int, default=10, help="how often each fault is made (10)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="only faults whose name holds this text")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="night.") as scratch:
        trial, steady = (
            Trial(chosen.program.resolve(), Path(scratch) / name, name, chosen.tries, chosen.seed)
            for name in [WAVES, STEADY]
        )
        search = Trial(chosen.program.resolve(), Path(scratch) / "search", WAVES, chosen.tries, chosen.seed, SEARCH)
        assert trial.runs == BORES * BOXES
        for name, of in [("study", trial), ("search", search)]:
            print(f"a {name} of {of.runs} runs, {THREADS} at a time, {of.seconds:.1f} s undisturbed; seed {chosen.seed}")
        faults = [
            ("kill -9 at a random moment", trial.killed),
            ("SIGTERM", lambda: trial.asked_to_stop(signal.SIGTERM)),
            ("Ctrl-C", lambda: trial.asked_to_stop(signal.SIGINT)),
            ("kill -9 in a search", search.killed),
            ("SIGTERM in a search", lambda: search.asked_to_stop(signal.SIGTERM)),
            ("Ctrl-C in a search", lambda: search.asked_to_stop(signal.SIGINT)),
            ("full disk, seen by results", trial.full_disk),
            ("full disk, seen by the journal", steady.full_disk),
            ("read-only folder", trial.read_only),
            ("a flipped bit in the journal", trial.flipped_in_journal),
            ("a flipped bit in table.h5", trial.flipped_in_table),
            ("a flipped bit in a kept field file", trial.flipped_in_fields),
            ("two processes on one folder", trial.two_processes),
            ("a clock that stepped back", trial.dated_ahead),
            ("kill between write and sync: journal", lambda: trial.killed_before("fdatasync", 1)),
            ("kill between write and sync: result", lambda: trial.killed_before("fsync", 6)),
            ("kill between write and sync: table.h5", lambda: steady.killed_before("fsync", 1)),
        ]
        faults = [(name, fault) for name, fault in faults if chosen.only in name]
        print(f"{'fault':38}{'tries':>6}  lost")
        failed = False
        for name, fault in faults:
            try:
                tries, lost = fault()
            except Untried as why:
                tries, lost = 0, f"NOT TRIED: {why}"
            except AssertionError as why:
                tries, lost, failed = "?", f"FAILED: {why}", True
            print(f"{name:38}{tries:>6}  {lost}", flush=True)
        sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
