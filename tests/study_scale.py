#!/usr/bin/env python3
"""How studies scale on this machine: runs an hour, two threads beside one, memory and files over the number of runs.

Usage: study_scale.py [--sizes 100,10000,100000]

Needs the release program (cargo build --release) and nothing but Python's own library. Prints tables; asserts that every run was done.
"""

import argparse
import os
import pathlib
import re
import subprocess
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "target/release/tractwright"
TUBES = "fields: ['parts.left_tube.sections[1].diameter', 'parts.right_tube.sections[1].diameter']"
SMALL = """points: {road: {speed: 40 m/s}}
parts:
  nose: {kind: mouth, area: 60 cm2}
  tube: {kind: duct, length: 200 mm, diameter: 76 mm, cell: 50 mm}
  turbo: {kind: draw, flow: 150 g/s}
flow: [[nose, tube, turbo]]
"""


def study(folder, text, *arguments, form=()):
    """Runs a study, or another form of the command; its seconds, and the largest memory of the child in MB."""
    (folder / "scale.study.yaml").write_text(text)
    started = time.monotonic()
    command = [PROGRAM, "study", *form, "scale.study.yaml", *arguments]
    child = subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE)
    answer = child.stdout.read().decode()
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.monotonic() - started
    done = re.search(r"(\d+) of (\d+) runs done", answer)
    assert status == 0 and done and done[1] == done[2], answer
    return seconds, usage.ru_maxrss / 1024.0


def demo(count, run=""):
    return (
        "layouts: {sealed: {case: twin_sealed.yaml}}\npoints: [road]\n"
        f"vary: {{tube: {{{TUBES}, from: 66 mm, to: 74 mm, count: {count}}}}}\n{run}"
    )


def threads():
    """Points of the twin-filter demo on one thread and on two."""
    case = (ROOT / "cases/coupe/twin_sealed.yaml").read_text()
    print("twin-filter demo                       runs   1 thread, s  2 threads, s   ratio  runs an hour on 2")
    for name, count, run in [("steady points", 1200, ""), ("waves for 0.3 s", 24, "run: {march: acoustic, until: 0.3 s}\n")]:
        seconds = []
        for number in ["1", "2"]:
            with tempfile.TemporaryDirectory() as folder:
                folder = pathlib.Path(folder)
                (folder / "twin_sealed.yaml").write_text(case)
                seconds.append(study(folder, demo(count, run), "--threads", number)[0])
        ratio, hourly = seconds[0] / seconds[1], 3600.0 * count / seconds[1]
        print(f"{name:36} {count:6} {seconds[0]:13.2f} {seconds[1]:13.2f} {ratio:7.2f} {hourly:18.0f}")


def sizes(counts):
    """A tract of four cells, so that the study weighs more than its runs."""
    heads = ["runs", "time, s", "memory, MB", "journal, MB", "table, MB", "again, s", "gather, s", "memory, MB"]
    print("\ntract of four cells" + "".join(f"{head:>13}" for head in heads))
    for count in counts:
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            (folder / "small.yaml").write_text(SMALL)
            text = (
                "layouts: {small: {case: small.yaml}}\npoints: [road]\n"
                f"vary: {{bore: {{fields: parts.tube.diameter, from: 70 mm, to: 90 mm, count: {count}}}}}\n"
            )
            seconds, memory = study(folder, text)
            again, _ = study(folder, text)
            gathered, least = study(folder, text, form=["gather"])
            size = [(folder / "scale.study" / name).stat().st_size / 1e6 for name in ["runs.journal", "table.h5"]]
            numbers = [f"{seconds:.2f}", f"{memory:.1f}", *(f"{each:.2f}" for each in size), f"{again:.2f}"]
            print(f"{'':19}" + "".join(f"{cell:>13}" for cell in [count, *numbers, f"{gathered:.2f}", f"{least:.1f}"]))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sizes", default="100,10000,100000")
    chosen = parser.parse_args()
    assert PROGRAM.exists(), f"{PROGRAM} is missing: run `cargo build --release` first"
    threads()
    sizes([int(size) for size in chosen.sizes.split(",")])
