//! A twin-turbo engine behind two filters in one box, its tables with points where the checks look, run from text to result and read back.

use crate::check::Failure;
use std::path::Path;
use tractwright::case::Case;
use tractwright::error::{Error, OutputError};
use tractwright::ledger::BranchSummary;
use tractwright::run::{EngineFigures, Options, Reading, Watcher, result_path, run};

/// The case; the point and the drop of the filters are set in.
const TEXT: &str = "
outside: {pressure: 99.6 kPa, temperature: 297 K, gas: {gamma: 1.4, gas_constant: 287.05 J/(kg K)}}
points: {road: {POINT}}
engine:
  displacement: 3.2 L
  turbos: [left_turbo, right_turbo]
  volumetric_efficiency: {engine_speed: 1500 3000 4500 6000 7200 rpm, value: [0.82, 0.93, 0.97, 0.95, 0.88]}
  boost:
    stock: {engine_speed: 1800 3200 4500 6000 7200 rpm, pressure: 175 190 193 195 180 kPa}
    raised: {engine_speed: 2000 3800 6000 7200 rpm, pressure: 175 240 270 270 kPa}
  exhaust_temperature: {engine_speed: 1800 4500 6000 7000 rpm, temperature: 800 910 935 950 degC}
  compressor: {flow: 165 g/s, pressure_ratio: 2.2, efficiency: 0.76, speed: 122 krpm}
  turbine:
    flow: 104 g/s
    inlet_pressure: 205 kPa
    inlet_temperature: 950 degC
    outlet_pressure: 120 kPa
    efficiency: 0.68
    wheel: 54 mm
    inertia: 0.35 kg cm2
    blade_speed_ratio: 0.7
    mechanical_efficiency: 97 %
  wastegate: {diameter: 34 mm}
  cooler: {air_speed: 0 8 20 40 70 m/s, effectiveness: [0.35, 0.5, 0.66, 0.76, 0.82], loss: 7 kPa, flow: 220 g/s}
  exhaust: {back_pressure: 22 kPa, flow: 230 g/s}
  friction: {engine_speed: 1000 4000 7000 rpm, pressure: 75 115 185 kPa}
  indicated_efficiency: 0.40
  fuel: {lambda: 0.85, stoichiometric: 14.6, heating_value: 42.9 MJ/kg}
  warm_charge: {above: 35 degC, loss: 1.6 %, each: 10 K}
vehicle:
  mass: 1590 kg
  gears: [3.8, 2.4, 1.75, 1.35, 1.08, 0.88]
  final_drive: 3.5
  tyre_radius: 335 mm
  drag_area: 0.68 m2
  rolling_resistance: 0.012
  shift_speed: 7000 rpm
  shift_time: 200 ms
  driveline_efficiency: 87 %
  wheel_inertia: 5 kg m2
  engine_inertia: 0.25 kg m2
parts:
  nose: {kind: scoop, area: 130 cm2, recovery: 0.75, lip_radius: 4 mm, pressure_coefficient: 0.2}
  snout: {kind: duct, length: 450 mm, sections: [{at: 0 mm, width: 190 mm, height: 70 mm}, {at: 450 mm, diameter: 110 mm}]}
  box: {kind: plenum, volume: 11 L}
  left_filter: {kind: filter, media_area: 0.21 m2, curve: {flow: FLOW g/s, drop: DROP Pa, at: [20 degC, 101.3 kPa]}}
  left_tube: {kind: duct, length: 620 mm, sections: [{at: 0 mm, diameter: 102 mm}, {at: 180 mm, diameter: 70 mm}]}
  left_turbo: {kind: draw, engine: yes}
  right_filter: {like: left_filter}
  right_tube: {like: left_tube, length: 700 mm}
  right_turbo: {like: left_turbo}
flow:
  - [nose, snout, box]
  - [box, left_filter, left_tube, left_turbo]
  - [box, right_filter, right_tube, right_turbo]
run: {until: steady, cell: 25 mm}
";
/// Points of the filters' curve, as shares of a flow.
const SHARES: [f64; 4] = [0.3, 0.6, 0.9, 1.2];
/// Drop of a clean filter over flow and its square [Pa s/g, Pa s^2/g^2].
const CLEAN: [f64; 2] = [1.25, 3.7e-3];

/// What a run left.
#[derive(Debug)]
pub(super) struct Left {
    /// Engine, row by row.
    pub(super) rows: Vec<EngineFigures>,
    /// What stood before the compressors.
    pub(super) branches: Vec<BranchSummary>,
    /// When it ended [s].
    pub(super) time: f64,
}

impl Left {
    /// The engine at the end.
    pub(super) fn last(&self) -> Result<&EngineFigures, Failure> {
        self.rows.last().ok_or_else(|| Failure::Missing("engine".to_owned()))
    }

    /// Mean total pressure before the compressors [Pa].
    pub(super) fn inlet_pressure(&self) -> f64 {
        self.branches.iter().map(|branch| branch.total_pressure).sum::<f64>() / self.branches.len() as f64
    }
}

/// The engine at a point of the given keys, behind filters that cost `more` [Pa] more at `flow` [g/s], with the square of flow.
pub(super) fn restricted(point: &str, more: f64, flow: f64) -> Result<Left, Failure> {
    let at = |share: f64| CLEAN[0] * share * flow + (CLEAN[1] * flow * flow + more) * share * share;
    let flows = SHARES.map(|share| (share * flow).to_string()).join(" ");
    let drops = SHARES.map(|share| at(share).to_string()).join(" ");
    let text = TEXT.replace("POINT", point).replace("FLOW", &flows).replace("DROP", &drops);
    let case = Case::from_text("engine", &text).map_err(Error::from)?;
    let folder = tempfile::tempdir().map_err(|source| disk(&std::env::temp_dir(), source))?;
    let path = result_path(&case, "road", folder.path()).map_err(Error::from)?;
    let report = run(&case, "road", &path, Options::default(), &mut Unwatched)?;
    let reading = Reading::open(&path)?;
    Ok(Left {
        rows: reading.engine_figures().map_err(Error::from)?,
        branches: reading.summary().map_err(Error::from)?.branches,
        time: report.time,
    })
}

/// The engine at a point of the given keys, behind clean filters.
pub(super) fn clean(point: &str) -> Result<Left, Failure> {
    restricted(point, 0.0, 200.0)
}

fn disk(path: &Path, source: std::io::Error) -> Failure {
    Error::from(OutputError::File { path: path.to_owned(), source }).into()
}

struct Unwatched;

impl Watcher for Unwatched {
    fn progress(&mut self, _time: f64, _end: f64, _steps: u64) {}
}
