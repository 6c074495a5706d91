//! Wyes between ducts: balanced joints through all patterns of flow, and weak waves.

use crate::case_text::{CaseText, InitialState, Stretch, smooth_duct};
use crate::check::{Failure, Limit, Measure, Row};
use crate::checks::wye::{POINTS, Shape, around};
use crate::marched::{Cell, Tract};
use crate::oracle::perfect_gas::PerfectGas;
use std::f64::consts::PI;
use tractwright::flow::Primitive;
use tractwright::joint::wye::WyeState;
use tractwright::network::{JointState, Network};

const GAS: PerfectGas = PerfectGas::AIR;
const PRESSURE: f64 = 1e5;
const TEMPERATURE: f64 = 300.0;
/// Diameter of the first leg [m].
const DIAMETER: f64 = 0.06;
/// Names of the legs.
const LEGS: [&str; 3] = ["trunk", "left", "right"];

/// Three ducts with closed ends that meet in a wye, as case text without a run.
fn three_ducts(shape: &Shape, length: f64) -> CaseText {
    let [_, left, right] = shape.degrees;
    let mut case = CaseText::new(PRESSURE, TEMPERATURE)
        .part("y", format!("kind: wye, legs: {{trunk: 0 deg, left: {left} deg, right: {right} deg}}"));
    for (leg, area) in LEGS.iter().zip(shape.areas) {
        let (end, at_wye) = (format!("{leg}_end"), format!("y.{leg}"));
        case = case
            .part(leg, smooth_duct(length, DIAMETER * area.sqrt()))
            .part(&end, "kind: wall")
            .line(&[&end, leg, &at_wye]);
    }
    case
}

/// Rows of a wye that is balanced between ducts whose pressures go around the circle of all patterns.
///
/// # Errors
/// No flow balances the wye.
pub fn joint_rows(shape: &Shape) -> Result<Vec<Row>, Failure> {
    const GAIN: Limit = Limit { value: 1e-9, why: "round-off of total pressures over a swing of a hundredth of them" };
    const KEPT: Limit = Limit { value: 1e-12, why: "round-off" };
    let step = 2.0 * PI / f64::from(POINTS);
    let jump = Limit { value: 4.0 * step, why: "waves without a loss move the flows by one swing a radian" };
    let tract = Tract::read(&three_ducts(shape, 0.1).run("march: acoustic, until: 1 ms").text())?;
    let mut balance = Balance::new(tract.network());
    let answers = (0..=POINTS)
        .map(|point| balance.at(around(f64::from(point) * step)))
        .collect::<Result<Vec<Answer>, Failure>>()?;
    let largest = answers.iter().flat_map(|answer| answer.flows).fold(0.0, |most: f64, flow| most.max(flow.abs()));
    let moved = answers.windows(2).flat_map(|pair| {
        let change = |leg: usize| (pair[1].flows[leg] - pair[0].flows[leg]).abs() / largest;
        [0, 1, 2].map(|leg| (change(leg), 0.0))
    });
    let least = answers.iter().map(|answer| answer.dissipation).fold(f64::INFINITY, f64::min);
    let name = shape.name;
    let sums = |sum: fn(&Answer) -> f64| answers.iter().map(move |answer| (sum(answer), 0.0));
    Ok(vec![
        Row::worst_by(Measure::Absolute, format!("{name}: step between neighbours, over the flow"), moved, jump),
        Row::at_least(
            format!("{name}: least dissipation, over swing and flow"),
            least / (SWING * PRESSURE * largest),
            0.0,
            GAIN,
        ),
        Row::worst_by(
            Measure::Absolute,
            format!("{name}: sum of mass flows, over the largest"),
            sums(|a| a.mass),
            KEPT,
        ),
        Row::worst_by(
            Measure::Absolute,
            format!("{name}: sum of energy flows, over the largest"),
            sums(|a| a.energy),
            KEPT,
        ),
    ])
}

/// Swing of the pressures in the ducts, over the pressure.
const SWING: f64 = 0.02;

/// What a balanced wye does.
struct Answer {
    flows: [f64; 3],
    /// Total pressure lost, weighted with the flow [Pa kg/s].
    dissipation: f64,
    /// Sum of the mass flows over the largest.
    mass: f64,
    /// Sum of the energy flows over the largest.
    energy: f64,
}

/// A network with one wye, which is balanced again and again.
struct Balance<'a> {
    network: &'a Network,
    wye: usize,
    y: Vec<f64>,
    z: Vec<f64>,
    work: tractwright::network::Work,
}

impl<'a> Balance<'a> {
    fn new(network: &'a Network) -> Self {
        let wye = network.joints.iter().position(|joint| joint.parts.len() == 3).unwrap_or(0);
        let (y, z) = (vec![0.0; network.layout.states()], vec![0.0; network.layout.unknowns]);
        Self { network, wye, y, z, work: network.work() }
    }

    /// The wye between ducts at rest whose pressures lie `swings` above the mean.
    fn at(&mut self, swings: [f64; 3]) -> Result<Answer, Failure> {
        let unbalanced = || Failure::Missing("balance of the wye".to_owned());
        for (duct, swing) in self.network.arena.ducts().zip(swings) {
            let pressure = PRESSURE * (1.0 + SWING * swing);
            let density = pressure / (GAS.gas_constant * TEMPERATURE);
            let state = Primitive { density, velocity: 0.0, pressure };
            for cell in 0..self.network.arena.cells(duct) {
                self.network.arena.set_cell(&mut self.y, duct, cell, state, &[1.0]);
            }
        }
        self.network.look(&self.y, None, &mut self.work).map_err(|_| unbalanced())?;
        self.network.balance(0.0, &self.y, &mut self.z, &mut self.work).map_err(|_| unbalanced())?;
        match &self.work.joints[self.wye] {
            JointState::Wye(state) => Ok(Answer::of(state)),
            JointState::Series(_) => Err(unbalanced()),
        }
    }
}

impl Answer {
    fn of(state: &WyeState) -> Self {
        let legs = [0, 1, 2];
        let flows = legs.map(|leg| state.mass_flows[leg]);
        let largest =
            |values: [f64; 3]| values.iter().fold(f64::MIN_POSITIVE, |most: f64, value| most.max(value.abs()));
        let temperature = |leg: usize| {
            if flows[leg] > 0.0 { state.faces[leg].total_temperature } else { state.mixed_temperature }
        };
        let energies = legs.map(|leg| flows[leg] * GAS.heat_capacity() * temperature(leg));
        Self {
            flows,
            dissipation: legs.iter().map(|leg| flows[*leg] * (state.faces[*leg].total_pressure - PRESSURE)).sum(),
            mass: flows.iter().sum::<f64>() / largest(flows),
            energy: energies.iter().sum::<f64>() / largest(energies),
        }
    }
}

/// Rows of a weak pulse that runs through the trunk into a wye of three equal ducts.
///
/// # Errors
/// The solver refused or stopped.
pub fn pulse() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit =
        Limit { value: 1e-2, why: "an amplitude of a thousandth of the pressure, and the losses of the wye" };
    const LENGTH: f64 = 1.2;
    const CELL: f64 = 0.005;
    let shape = Shape { name: "pulse", degrees: [0.0, 45.0, -45.0], areas: [1.0, 1.0, 1.0] };
    let mut case = three_ducts(&shape, LENGTH);
    // A bump between 0.4 and 0.8 m that runs towards the wye, at 1.2 m.
    let bump = |place: f64| {
        let inside = (0.4..0.8).contains(&place);
        if inside { 0.5 * (1.0 - libm::cos(2.0 * PI * (place - 0.4) / 0.4)) } else { 0.0 }
    };
    for cell in 80..160 {
        let stretch = Stretch { from: CELL * f64::from(cell), to: CELL * f64::from(cell + 1) };
        case = case.initial("trunk", stretch, simple_wave(1e-3 * bump(0.5 * (stretch.from + stretch.to))));
    }
    let until = 1.2 / GAS.sound_speed(TEMPERATURE);
    let tract = Tract::read(&case.run(format!("march: acoustic, until: {until} s, cell: {CELL} m")).text())?;
    let size = |cells: &[Cell]| {
        cells.iter().map(|cell| (cell.state.pressure - PRESSURE) * (cell.high - cell.low)).sum::<f64>()
    };
    let incident = size(&tract.at_start_seen()?.cells("trunk")?);
    let marched = tract.march()?;
    let share = |name: &str| Ok::<_, Failure>(size(&marched.cells(name)?) / incident);
    Ok(vec![
        Row::absolute("share that goes on into the left leg", share("left")?, 2.0 / 3.0, LIMIT),
        Row::absolute("share that goes on into the right leg", share("right")?, 2.0 / 3.0, LIMIT),
        Row::absolute("share that comes back", share("trunk")?, -1.0 / 3.0, LIMIT),
    ])
}

/// Gas in a wave that runs to the right and raises the pressure by a share `rise`. Liepmann and Roshko (1957), section 3.9.
fn simple_wave(rise: f64) -> InitialState {
    let exponent = (GAS.gamma - 1.0) / (2.0 * GAS.gamma);
    let ratio = libm::pow(1.0 + rise, exponent);
    let velocity = 2.0 / (GAS.gamma - 1.0) * GAS.sound_speed(TEMPERATURE) * (ratio - 1.0);
    InitialState { pressure: PRESSURE * (1.0 + rise), temperature: TEMPERATURE * ratio * ratio, velocity }
}
