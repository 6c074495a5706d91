"""Sod's shock tube here and in PyClaw, in turn on one core: how fast, how exact, and the ratio of the two beside its goal.

    python3 validation/beside_pyclaw.py [--repeats 5]

builds `tractwright`, and on its first run a virtual environment under target/ with the `clawpack` package of PyPI, which is compiled
(about two minutes; needs gfortran). PyClaw runs as Classic with Roe's solver, the MC limiter and Courant number 0.9; here both schemes run
whole steps with a wall, origin tags and ledgers (`tractwright speed --sod`): once with a friction factor in each cell, which is what the
goals mean, and once with friction and film by their laws, from tables over the Reynolds number. The least processor time of all repeats
counts.
"""

import argparse
import csv
import io
import logging
import math
import os
import pathlib
import shutil
import subprocess
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
ENVIRONMENT = TARGET / "beside_pyclaw"
CLAWPACK = "clawpack==5.14.0"
CELLS = [200, 400, 800, 1_000, 10_000]
# Between these the number of cells that reaches an error is interpolated.
CELLS_FOR_ERROR = [200, 400, 800]
WANTED_ERROR = 1e-3
SCHEMES = {"ssp_rk2": "SSP-RK2", "hancock": "Hancock"}
WALLS = {"factor": "friction factor", "table": "friction and film by law"}


def prepare():
    """Makes the virtual environment and goes on inside it."""
    python = ENVIRONMENT / "bin" / "python"
    if pathlib.Path(sys.prefix) == ENVIRONMENT:
        return
    if not python.exists() or subprocess.run([python, "-c", "import clawpack.pyclaw"], capture_output=True).returncode:
        install(python)
    os.execv(python, [str(python), __file__, *sys.argv[1:]])


def install(python):
    """Fetches and compiles PyClaw."""
    if not shutil.which("gfortran"):
        command = ["apt-get", "install", "-y", "gfortran"]
        if os.geteuid() != 0:
            command.insert(0, "sudo")
        if not shutil.which(command[0]):
            sys.exit(f"found no gfortran; install it first, such as by `{' '.join(command)}`")
        subprocess.run(command, check=True)
    subprocess.run([sys.executable, "-m", "venv", ENVIRONMENT], check=True)
    # The build looks for its tools on the path.
    paths = os.environ | {"PATH": f"{ENVIRONMENT / 'bin'}{os.pathsep}{os.environ['PATH']}"}
    pip = [python, "-m", "pip", "install", "--quiet"]
    subprocess.run([*pip, "numpy", "meson-python", "meson", "ninja"], check=True, env=paths)
    subprocess.run([*pip, "--no-build-isolation", CLAWPACK], check=True, env=paths)


def star_state(gamma, left, right):
    """Pressure and velocity between the waves: Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed. (2009),
    section 4.2, by halving."""

    def change(pressure, side):
        density, _, undisturbed = side
        if pressure > undisturbed:
            a, b = 2 / ((gamma + 1) * density), (gamma - 1) / (gamma + 1) * undisturbed
            return (pressure - undisturbed) * math.sqrt(a / (pressure + b))
        sound = math.sqrt(gamma * undisturbed / density)
        return 2 * sound / (gamma - 1) * ((pressure / undisturbed) ** ((gamma - 1) / (2 * gamma)) - 1)

    low, high = 1e-9, 10 * max(left[2], right[2])
    for _ in range(200):
        pressure = 0.5 * (low + high)
        excess = change(pressure, left) + change(pressure, right) + right[1] - left[1]
        low, high = (pressure, high) if excess < 0 else (low, pressure)
    return pressure, 0.5 * (left[1] + right[1] + change(pressure, right) - change(pressure, left))


def exact_density(speed):
    """Density of Sod's problem on rays x / t: a rarefaction to the left, a contact, a shock to the right (Toro, section 4.5)."""
    import numpy as np

    gamma, left, right = 1.4, (1.0, 0.0, 1.0), (0.125, 0.0, 0.1)
    pressure, velocity = star_state(gamma, left, right)
    sound = math.sqrt(gamma * left[2] / left[0])
    before_contact = left[0] * (pressure / left[2]) ** (1 / gamma)
    tail = velocity - sound * (pressure / left[2]) ** ((gamma - 1) / (2 * gamma))
    mu = (gamma - 1) / (gamma + 1)
    behind_shock = right[0] * (pressure / right[2] + mu) / (mu * pressure / right[2] + 1)
    shock = behind_shock * velocity / (behind_shock - right[0])
    in_fan = left[0] * np.maximum(2 / (gamma + 1) - mu * speed / sound, 0) ** (2 / (gamma - 1))
    return np.select(
        [speed < -sound, speed < tail, speed < velocity, speed < shock],
        [left[0], in_fan, before_contact, behind_shock],
        right[0],
    )


def density_error(density, end):
    """Mean absolute difference of `density` in cells on [-0.5, 0.5] from the exact means at time `end`."""
    import numpy as np

    points = 200
    places = (np.arange(len(density) * points) + 0.5) / (len(density) * points) - 0.5
    exact = exact_density(places / end).reshape(len(density), points).mean(axis=1)
    return float(np.abs(density - exact).mean())


def pyclaw_run(cells):
    """Steps, processor time of the march [s] and density error."""
    import numpy as np
    from clawpack import pyclaw, riemann

    logging.disable(logging.CRITICAL)
    solver = pyclaw.ClawSolver1D(riemann.euler_with_efix_1D)
    solver.kernel_language = "Fortran"
    solver.limiters, solver.order = pyclaw.limiters.tvd.MC, 2
    solver.cfl_desired, solver.cfl_max = 0.9, 1.0
    solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.extrap
    solver.max_steps, solver.dt_initial = 10**8, 0.1 / cells
    domain = pyclaw.Domain(pyclaw.Dimension(-0.5, 0.5, cells, name="x"))
    state = pyclaw.State(domain, 3)
    state.problem_data.update(gamma=1.4, gamma1=0.4, efix=False)
    left = state.grid.x.centers < 0
    state.q[0], state.q[1] = np.where(left, 1, 0.125), 0
    state.q[2] = np.where(left, 1, 0.1) / 0.4
    solution = pyclaw.Solution(state, domain)
    solver.setup(solution)
    start = time.process_time()
    status = solver.evolve_to_time(solution, 0.2)
    seconds = time.process_time() - start
    return status["numsteps"], seconds, density_error(state.q[0], 0.2)


def own_runs(program, cells):
    """The same here, for each wall and scheme."""
    command = [program, "speed", "--sod", str(cells), "--runs", "2" if cells > 5_000 else "15"]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    rows = csv.DictReader(io.StringIO(text))
    return {(row["walls"], row["scheme"]): (int(row["steps"]), float(row["seconds"]), float(row["l1_density"])) for row in rows}


def measure(program, repeats):
    """Least times of all runs, `{code: {cells: (steps, seconds, error)}}`, taken in turn."""
    best = {}
    for repeat in range(repeats):
        for cells in CELLS:
            print(f"\rrun {repeat + 1} of {repeats}, {cells} cells   ", end="", file=sys.stderr, flush=True)
            for code, found in {"pyclaw": pyclaw_run(cells), **own_runs(program, cells)}.items():
                known = best.setdefault(code, {}).setdefault(cells, found)
                best[code][cells] = min(known, found, key=lambda run: run[1])
    print(file=sys.stderr)
    return best


def time_to_error(runs):
    """Cells and seconds that reach the wanted error, between the measured ones on logarithmic scales."""
    for few, many in zip(CELLS_FOR_ERROR, CELLS_FOR_ERROR[1:]):
        high, low = runs[few][2], runs[many][2]
        if high >= WANTED_ERROR >= low:
            way = math.log(high / WANTED_ERROR) / math.log(high / low)
            return few * (many / few) ** way, runs[few][1] * (runs[many][1] / runs[few][1]) ** way
    sys.exit(f"found no error of {WANTED_ERROR} between {CELLS_FOR_ERROR[0]} and {CELLS_FOR_ERROR[-1]} cells")


def report(best):
    """Prints rates, errors and ratios."""
    own = {(wall, scheme): f"{name}, {walls}" for wall, walls in WALLS.items() for scheme, name in SCHEMES.items()}
    names = {"pyclaw": "PyClaw Classic, Roe, MC", **own}
    print(f"{'':36}{'cells':>8}{'steps':>8}{'ms':>11}{'cell-updates/s':>17}{'L1 of density':>16}")
    for code, name in names.items():
        for cells, (steps, seconds, error) in best[code].items():
            print(f"{name:36}{cells:8}{steps:8}{1e3 * seconds:11.3f}{cells * steps / seconds:17.3e}{error:16.3e}")
    reached = {code: time_to_error(best[code]) for code in names}
    for code, (cells, seconds) in reached.items():
        print(f"{names[code]:36}{cells:8.0f} cells and {1e3 * seconds:.3f} ms to an error of {WANTED_ERROR}")
    for wall, walls in WALLS.items():
        codes = [(wall, scheme) for scheme in SCHEMES]
        print(f"\n{walls:44}{'SSP-RK2':>10}{'Hancock':>10}{'goal':>14}")
        for cells, goal in [(1_000, 8), (10_000, 5)]:
            rate = {code: cells * best[code][cells][0] / best[code][cells][1] for code in names}
            ratios = [rate[code] / rate["pyclaw"] for code in codes]
            ratio_line(f"cell-updates/s at {cells} over PyClaw's", ratios, goal)
        ratios = [reached["pyclaw"][1] / reached[code][1] for code in codes]
        ratio_line(f"PyClaw's time to {WANTED_ERROR} over ours", ratios, 8)
        errors = [best[code][400][2] for code in codes]
        line("L1 of density at 400 cells, SSP-RK2", [f"{errors[0]:.2e}", ""], "1.5e-3", errors[0] <= 1.5e-3)
        line("L1 of density at 400 cells, Hancock", ["", f"{errors[1]:.2e}"], "1.1e-3", errors[1] <= 1.1e-3)


def ratio_line(what, ratios, goal):
    """A ratio that the better scheme should reach."""
    line(what, [f"{ratio:.1f}x" for ratio in ratios], f"{goal}x (better)", max(ratios) >= goal)


def line(what, values, goal, met):
    """A value for each scheme, beside its goal."""
    print(f"{what:44}{values[0]:>10}{values[1]:>10}{goal:>14}  {'met' if met else 'NOT MET'}")


def main():
    """Prepares, measures and reports."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--repeats", type=int, default=5, help="times that all is measured; the least time counts (5)")
    repeats = options.parse_args().repeats
    prepare()
    subprocess.run(["cargo", "build", "--quiet", "--release", "--bin", "tractwright"], check=True, cwd=ROOT)
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    report(measure(TARGET / "release" / "tractwright", repeats))


if __name__ == "__main__":
    main()
