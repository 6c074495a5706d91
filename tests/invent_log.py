"""Makes the invented logs of the demo: a hidden car, run with its waves at thirty states of a road test, and another one in three dyno pulls.

    python3 tests/invent_log.py target/release/tractwright            writes cases/measured/road.csv and cases/power/pulls.csv anew
    python3 tests/invent_log.py target/release/tractwright FOLDER     writes them into FOLDER

Nothing here was measured. Noise is Gaussian. On the road: 20 Pa on pressures, 0.4 K on temperatures, 0.5 % on flows, 0.2 m/s on the speed; the
gauge of the left turbo reads 40 Pa too much; some rows are spoilt as loggers spoil them. On the dyno: 1.5 kW at the wheels, 1 g/s, 12 Pa, 0.3 K;
the gauge of the left turbo reads 60 Pa too much. Seeds 7 and 8.
"""

import csv
import io
import json
import math
import random
import subprocess
import sys
import tempfile
from pathlib import Path

CASES = Path(__file__).resolve().parent.parent / "cases" / "measured"
ENGINES = CASES.parent / "power"
FLOWS = [90, 110, 130, 150, 165, 180, 190, 200, 210, 215]  # g/s a turbo
SPEEDS = [25, 45, 65]  # m/s
OFFSET = 40.0  # Pa, of the gauge of the left turbo
PRESSURES = {
    "p_snout": ("snout:400mm", -1),
    "p_box": ("box", 1),
    "p_left_clean": ("left_tube:20mm", 1),
    "p_left": ("left_turbo", 1),
    "p_right_clean": ("right_tube:20mm", 1),
    "p_right": ("right_turbo", 1),
}
TEMPERATURES = {"T_left": "left_turbo", "T_right": "right_turbo"}


def states():
    """Flow, speed and outside of each state, as they are."""
    for pull, speed in enumerate(SPEEDS):
        for flow in FLOWS:
            yield {
                "speed": speed,
                "flows": (flow, flow * 0.99),
                "pressure": 99.6 - 0.05 * pull,
                "temperature": 24.0 + 0.4 * pull,
            }


def case_text(all_states):
    """The hidden case with a point for each state."""
    lines = ["extends: hidden_truth.yaml", "points:"]
    for number, state in enumerate(all_states):
        left, right = state["flows"]
        lines.append(
            f"  s{number:02}: {{speed: {state['speed']} m/s, outside: {{pressure: {state['pressure']} kPa, "
            f"temperature: {state['temperature']} degC}}, "
            f"parts: {{left_turbo: {{flow: {left} g/s}}, right_turbo: {{flow: {right} g/s}}}}}}"
        )
    lines += ["measured: null"]
    return "\n".join(lines) + "\n"


def series(program, result, place):
    """Rows of a time series at a place, by the names of its columns."""
    command = [program, "summary", result, "--at", place]
    out = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    return list(csv.DictReader(io.StringIO(out)))


def mean_of(program, result, place, quantity):
    """Mean of the last tenth of a second of a quantity at a place."""
    out = subprocess.run(
        [program, "summary", result, "--at", place, "--quantity", quantity], check=True, capture_output=True, text=True
    ).stdout
    rows = [(float(row[0]), float(row[1])) for row in list(csv.reader(io.StringIO(out)))[1:]]
    last = [value for time, value in rows if time >= rows[-1][0] - 0.1]
    return sum(last) / len(last)


def true_readings(program, all_states):
    """What the gauges would read without noise and offset."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("coupe.yaml", "hidden_truth.yaml"):
            (Path(folder) / name).write_text((CASES / name).read_text())
        case = Path(folder) / "states.yaml"
        case.write_text(case_text(all_states))
        subprocess.run([program, "run", case, "-o", Path(folder) / "out"], check=True, capture_output=True)
        readings = []
        for number, state in enumerate(all_states):
            result = Path(folder) / "out" / f"states.s{number:02}.h5"
            outside = 1e3 * state["pressure"]
            row = {}
            for name, (place, sign) in PRESSURES.items():
                row[name] = sign * (outside - mean_of(program, result, place, "pressure"))
            document = json.loads(
                subprocess.run(
                    [program, "summary", result, "--format", "json"], check=True, capture_output=True, text=True
                ).stdout
            )
            branches = {branch["draw"]: branch for branch in document["results"][0]["summary"]["branches"]}
            for name, draw in TEMPERATURES.items():
                row[name] = branches[draw]["total_temperature"] - 273.15
            readings.append(row)
        return readings


def comma(value, decimals):
    return f"{value:.{decimals}f}".replace(".", ",")


def log_text(all_states, readings):
    """The log as its logger wrote it."""
    noise = random.Random(7)
    lines = [
        "Invented log: no car was measured",
        "Coupe;road test;three speeds",
        "",
        "t [s];p_amb [mbar];T_amb [°C];v [km/h];m_left [g/s];m_right [g/s];p_snout [Pa];p_box [Pa];p_left_clean [Pa];"
        "p_left [Pa];p_right_clean [Pa];p_right [Pa];T_left [°C];T_right [°C];oil [°C]",
    ]
    for number, (state, row) in enumerate(zip(all_states, readings)):
        left, right = state["flows"]
        cells = [
            comma(10.0 * number, 1),
            comma(10.0 * state["pressure"] + noise.gauss(0, 0.1), 1),
            comma(state["temperature"] + noise.gauss(0, 0.1), 1),
            comma(3.6 * (state["speed"] + noise.gauss(0, 0.2)), 1),
            comma(left * (1 + noise.gauss(0, 0.005)), 1),
            comma(right * (1 + noise.gauss(0, 0.005)), 1),
        ]
        for name in PRESSURES:
            offset = OFFSET if name == "p_left" else 0.0
            cells.append(comma(row[name] + offset + noise.gauss(0, 20), 0))
        cells += [comma(row[name] + noise.gauss(0, 0.4), 1) for name in TEMPERATURES]
        cells.append("104")
        lines.append(";".join(cells))
        if number == 4:  # a row that the logger wrote twice
            lines.append(";".join(cells))
        if number == 11:  # a row that broke off
            lines.append(";".join(cells[:5]))
        if number == 17:  # a value that is none
            lines.append(";".join([comma(10.0 * number + 5, 1)] + cells[1:9] + ["ERR"] + cells[10:]))
    return "\n".join(lines) + "\n"


def pulls_text(program):
    """The log of three pulls, one after another, with what the brake does between them."""
    noise = random.Random(8)
    with tempfile.TemporaryDirectory() as folder:
        command = [program, "run", ENGINES / "hidden_pull.yaml", "-o", folder]
        subprocess.run(command, check=True, capture_output=True)
        result = Path(folder) / "hidden_pull.dyno_stock.h5"
        command = [program, "summary", result, "--format", "json"]
        document = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
        engine = document["results"][0]["engine"]
        places = {place: series(program, result, place) for place in ("box", "left_turbo", "right_turbo")}
    lines = ["# Invented log: no engine was measured", "time,n,power,air,baro,room,box,left,right,T_left", "s,rpm,kW,g/s,hPa,°C,mbar,Pa,Pa,°C"]
    every = 5  # records of 0.04 s
    clock = 0.0

    def row(number):
        now = engine[number]
        read = {place: float(rows[number]["pressure, Pa"]) for place, rows in places.items()}
        warm = float(places["left_turbo"][number]["temperature, K"]) - 273.15
        cells = [
            f"{clock:.1f}",
            f"{now['crank_speed'] * 60 / (2 * math.pi) + noise.gauss(0, 3):.0f}",
            f"{1e-3 * now['power'] * 0.86 * 1.007 + noise.gauss(0, 1.5):.1f}",
            f"{1e3 * sum(turbo['air'] for turbo in now['turbos']) + noise.gauss(0, 1):.1f}",
            f"{996 + noise.gauss(0, 0.05):.1f}",
            f"{24 + noise.gauss(0, 0.1):.1f}",
            f"{0.01 * (read['box'] - 99600 + noise.gauss(0, 12)):.2f}",
            f"{99600 - read['left_turbo'] + 60 + noise.gauss(0, 12):.0f}",
            f"{99600 - read['right_turbo'] + noise.gauss(0, 12):.0f}",
            f"{warm + noise.gauss(0, 0.3):.1f}",
        ]
        lines.append(",".join(cells))

    for pull in range(3):
        for number in range(0, len(engine), every):
            row(number)
            clock += 0.2
        if pull < 2:  # the brake takes the engine down again, which is no part of a pull
            for number in range(len(engine) - 1, 0, -4 * every):
                row(number)
                clock += 0.2
    return "\n".join(lines) + "\n"


def main():
    program = str(Path(sys.argv[1]).resolve())
    road, dyno = (Path(sys.argv[2]), Path(sys.argv[2])) if len(sys.argv) > 2 else (CASES, ENGINES)
    all_states = list(states())
    (road / "road.csv").write_text(log_text(all_states, true_readings(program, all_states)))
    (dyno / "pulls.csv").write_text(pulls_text(program))


if __name__ == "__main__":
    main()
