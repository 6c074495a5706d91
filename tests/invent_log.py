"""Makes the invented log of the demo: the hidden car, run with its waves at thirty states, read by eight gauges, with noise.

    python3 tests/invent_log.py target/release/tractwright            writes cases/measured/road.csv anew
    python3 tests/invent_log.py target/release/tractwright FOLDER     writes it into FOLDER

Nothing here was measured. Noise is Gaussian: 20 Pa on pressures, 0.4 K on temperatures, 0.5 % on flows, 0.2 m/s on the speed; the gauge of the
left turbo reads 40 Pa too much. Seed 7. Some rows are spoilt as loggers spoil them.
"""

import csv
import io
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path

CASES = Path(__file__).resolve().parent.parent / "cases" / "measured"
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


def main():
    program = str(Path(sys.argv[1]).resolve())
    folder = Path(sys.argv[2]) if len(sys.argv) > 2 else CASES
    all_states = list(states())
    (folder / "road.csv").write_text(log_text(all_states, true_readings(program, all_states)))


if __name__ == "__main__":
    main()
