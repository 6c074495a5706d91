#!/usr/bin/env python3
"""Breaks the physics one place at a time and counts how many breaks the tests catch.

    tests/mutate.py [SIZE] [--seed SEED] [--after N] [--list] [--only TEXT]

Draws SIZE places (80) from all at which an operator, a sign, a constant or a choice of the physics modules can be broken, breaks each
in a copy of the workspace, and runs the tests, fastest first, until one fails. Prints what each break came to, then the share caught
and the survivors. Breaks that do not compile are not counted.
"""

import argparse
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

WORKSPACE = Path(__file__).resolve().parent.parent
SCRATCH = WORKSPACE / "target" / "mutate"
PHYSICS = ["gas.rs", "flow", "loss", "joint", "network", "ledger", "march"]
# Tests, and what chooses or places memory without changing a result.
LEFT_OUT = re.compile(r"(^|/)(tests|tests\.rs|storm\.rs|dispatch\.rs|row\.rs)(/|$)")
# Tests in the order of their speed: name, what cargo builds, which of the tests. The page of the checks would catch every change of a
# value, right or wrong.
STAGES = [
    ("properties", ["-p", "tractwright-tests", "--test", "integration"], ["properties"]),
    ("checks", ["-p", "tractwright-validation", "--lib"], ["--", "--skip", "stands_on_the_page"]),
    ("units", ["-p", "tractwright", "--lib"], []),
]
# A test run counts as failed after this many times the seconds that it takes unbroken, and some more: some breaks loop for ever.
PATIENCE = 4
LEAST_PATIENCE = 20

# What to look for, and by what to replace it.
BREAKS = [
    (re.compile(r"(?<= )\+(?= )"), lambda _: "-"),
    (re.compile(r"(?<=[\w)\]] )-(?= )"), lambda _: "+"),
    (re.compile(r"(?<= )\*(?= )"), lambda _: "/"),
    (re.compile(r"(?<= )/(?= )"), lambda _: "*"),
    (re.compile(r"\+="), lambda _: "-="),
    (re.compile(r"-="), lambda _: "+="),
    (re.compile(r"\*="), lambda _: "/="),
    (re.compile(r"(?<= )<=?(?= )"), lambda _: ">"),
    (re.compile(r"(?<= )>=?(?= )"), lambda _: "<"),
    (re.compile(r"=="), lambda _: "!="),
    (re.compile(r"&&"), lambda _: "||"),
    (re.compile(r"\|\|(?= \w)"), lambda _: "&&"),
    # A sign: after an opening, an operator or a comma.
    (re.compile(r"(?<=[(\[,=*/] )-(?=[\w(])|(?<=[(\[])-(?=[a-z(])"), lambda _: ""),
    # A constant, by a tenth: not a tolerance, and not the 0 and 1 of plain counting.
    (re.compile(r"(?<![\w.])\d[\d_]*\.\d[\d_]*(?:e\d)?(?![\w.])"), lambda found: f"({found} * 1.1)"),
    (re.compile(r"\.max\("), lambda _: ".min("),
    (re.compile(r"\.min\("), lambda _: ".max("),
    (re.compile(r"\bgreater\("), lambda _: "lesser("),
    (re.compile(r"\blesser\("), lambda _: "greater("),
    (re.compile(r"\.abs\(\)"), lambda _: ""),
    (re.compile(r"\.sqrt\(\)"), lambda _: ""),
    (re.compile(r"\btrue\b"), lambda _: "false"),
    (re.compile(r"\bfalse\b"), lambda _: "true"),
]


def code_of(line):
    """The line with comments, texts and attributes blanked out."""
    line = re.sub(r'"(?:[^"\\]|\\.)*"', lambda text: " " * len(text.group()), line)
    line = re.sub(r"//.*", "", line)
    return "" if line.lstrip().startswith(("#[", "use ", "//")) else line


def places():
    """All places that can be broken: file, number of the line, the line, the broken line."""
    root = WORKSPACE / "solver" / "src"
    files = [path for name in PHYSICS for path in sorted((root / name).rglob("*.rs"))]
    files += [root / name for name in PHYSICS if name.endswith(".rs")]
    for path in files:
        if LEFT_OUT.search(str(path.relative_to(root))):
            continue
        for number, line in enumerate(path.read_text().splitlines()):
            if line.startswith("#[cfg(test)]") and "mod" not in line:
                break
            code = code_of(line)
            for pattern, broken in BREAKS:
                for found in pattern.finditer(code):
                    if re.fullmatch(r"0\.0|1\.0", found.group()):
                        continue
                    new = line[: found.start()] + broken(found.group()) + line[found.end() :]
                    yield path.relative_to(WORKSPACE), number, line, new


def copy():
    """Copies the files of the workspace; what has not changed keeps its time, so that little is built anew."""
    listed = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    names = subprocess.run(listed, cwd=WORKSPACE, check=True, capture_output=True, text=True).stdout.splitlines()
    for name in names:
        source, copy = WORKSPACE / name, SCRATCH / "source" / name
        if source.is_file() and not (copy.is_file() and copy.read_bytes() == source.read_bytes()):
            copy.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(source, copy)


def passes(built, chosen, patience):
    """Whether tests build and, unless `chosen` says not to run them, pass; None when they do not end within `patience` [s]."""
    command = ["cargo", "test", "-q", "--target-dir", str(SCRATCH / "build"), *built, *chosen]
    silent = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    # Half of a build is what only a debugger reads.
    environment = {**os.environ, "CARGO_PROFILE_DEV_DEBUG": "0"}
    child = subprocess.Popen(command, cwd=SCRATCH / "source", env=environment, start_new_session=True, **silent)
    try:
        return child.wait(patience) == 0
    except subprocess.TimeoutExpired:
        os.killpg(child.pid, signal.SIGKILL)
        child.wait()
        return None


def verdict(patience):
    """What catches the break that stands in the copy; None when nothing does. Keeps in `patience` how long each stage takes at most."""
    for name, built, chosen in STAGES:
        if not passes(built, ["--no-run"], None):
            return "unviable"
        start = time.monotonic()
        passed = passes(built, ["--", *chosen], patience.get(name))
        if not passed:
            return name if passed is False else "endless"
        patience.setdefault(name, LEAST_PATIENCE + PATIENCE * (time.monotonic() - start))
    return None


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("size", nargs="?", type=int, default=80)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--after", type=int, default=0, help="leave out so many of the sample, to go on with it")
    parser.add_argument("--list", action="store_true", help="list the places and break none")
    parser.add_argument("--only", default="", help="only places whose file and line hold this text")
    chosen = parser.parse_args()

    every = [place for place in places() if chosen.only in f"{place[0]}:{place[1] + 1}"]
    sample = random.Random(chosen.seed).sample(every, min(chosen.size, len(every)))[chosen.after :]
    print(f"{len(sample)} of {len(every)} places, seed {chosen.seed}", flush=True)
    if chosen.list:
        for path, number, _, new in sample:
            print(f"{path}:{number + 1}: {new.strip()}")
        return

    copy()
    patience = {}
    failed = verdict(patience)
    if failed is not None:
        sys.exit(f"the tests fail before anything is broken: {failed}")
    print("patience: " + ", ".join(f"{name} {most:.0f} s" for name, most in patience.items()), flush=True)
    counted, survivors = 0, []
    for path, number, line, new in sample:
        start, copied = time.monotonic(), SCRATCH / "source" / path
        text = copied.read_text()
        lines = text.splitlines(keepends=True)
        lines[number] = lines[number].replace(line, new)
        copied.write_text("".join(lines))
        found = verdict(patience)
        copied.write_text(text)
        place = f"{path}:{number + 1}: {line.strip()}  ->  {new.strip()}"
        print(f"{found or 'SURVIVES':10} {time.monotonic() - start:4.0f} s  {place}", flush=True)
        counted += found != "unviable"
        if found is None:
            survivors.append(place)
    share = 100.0 * (counted - len(survivors)) / max(counted, 1)
    print(f"\ncaught {counted - len(survivors)} of {counted}, {share:.0f} %; survivors:")
    print("\n".join(survivors))


if __name__ == "__main__":
    main()
