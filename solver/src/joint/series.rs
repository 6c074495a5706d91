//! A joint of two sides with losses in series between them.
//!
//! The unknown is the mass flow. The near side supplies a total pressure that falls with it; the far side demands one that rises with
//! it, and every loss on the way adds to that ([`crate::loss`]). The mismatch of the two falls with the flow, so that its root is
//! unique, and a bracketed secant finds it. A duct cannot deliver more than its sonic flow: there the bracket ends, and if the
//! mismatch still asks for more, the joint is choked.

use super::side::{Reach, Side};
use super::wave::Face;
use super::{BALANCED, View};
use crate::loss::{Direction, Loss, Stream};

/// Evaluations that a balance may take; from the guess of the step before it takes three or four.
const MOST_EVALUATIONS: usize = 200;
/// Slope of a mismatch that has none yet [Pa s/kg]: a flow of a kilogram a second for a hundredth of a bar.
const LEAST_SLOPE: f64 = 1e3;
/// Slope of the mismatch of a prescribed flow [Pa s/kg]: about that of a duct of 70 mm, so that rows of a system weigh alike.
const FORCED_SLOPE: f64 = 1e5;
/// Slope of the mismatch of a flow that a side cannot give [Pa s/kg]: steeper than that of any part, so that a mismatch which can vanish does
/// so first.
const CAPPED_SLOPE: f64 = 1e12;
/// How far beyond what a side can give its flow is driven there, over that: farther than differences reach. Below, the state of its face goes
/// with the root of what is missing, which no tangent follows; beyond, the face is the sonic one.
const BEYOND_SONIC: f64 = 1e-7;
/// Evaluations after which every second step halves the bracket.
const PATIENCE: usize = 12;
/// Lowest total pressure behind a forced flow, over that before it: below it the passage is taken to be choked.
const LOWEST_BEHIND: f64 = 0.05;

/// Two sides and the losses between them.
#[derive(Debug)]
pub struct SeriesJoint {
    /// The sides, in the order of the flow line.
    pub sides: [Side; 2],
    /// The losses, in the order of the flow line.
    pub losses: Vec<Box<dyn Loss>>,
    /// Length over area of the air in the joint [1/m], where no duct bounds it: its flow is then a state, not an unknown.
    pub inertance: Option<f64>,
}

/// A joint at a given mass flow.
#[derive(Debug, Clone, Default)]
pub struct SeriesState {
    /// Mass flow [kg/s], positive in the order of the flow line.
    pub mass_flow: f64,
    /// Total temperature [K] of the stream.
    pub total_temperature: f64,
    /// Total pressure [Pa] at the first side, behind each loss, and so at the second side: losses + 1 values.
    pub total_pressures: Vec<f64>,
    /// State at the faces of the ducts that are joined.
    pub faces: [Option<Face>; 2],
    /// What the joint has to spare: supplied minus demanded total pressure in the direction of the flow line [Pa].
    pub mismatch: f64,
    /// How fast the mismatch falls with the flow [Pa s/kg], by the leading order of every law.
    pub slope: f64,
    /// Whether a side or passage gives all that it can and the joint would take more.
    pub choked: bool,
}

impl SeriesState {
    /// Room for the state of `joint`.
    #[must_use]
    pub fn of(joint: &SeriesJoint) -> Self {
        Self { total_pressures: vec![0.0; joint.losses.len() + 1], ..Self::default() }
    }
}

impl SeriesJoint {
    /// Mass flow [kg/s] that a side fixes, positive in the order of the flow line.
    #[must_use]
    pub fn prescribed(&self, view: &View<'_>) -> Option<f64> {
        self.sides[0].prescribed(view).or_else(|| self.sides[1].prescribed(view).map(|flow| -flow))
    }

    /// Writes the state of the joint at `mass_flow` [kg/s].
    pub fn evaluate(&self, view: &View<'_>, mass_flow: f64, state: &mut SeriesState) {
        let direction = Direction::of(mass_flow);
        let (near, far) = if direction == Direction::Forward { (0, 1) } else { (1, 0) };
        let flow = mass_flow.abs();
        let supply = self.sides[near].supply(view, flow);
        let demand = self.sides[far].demand(view, flow, supply.total_temperature);
        state.mass_flow = mass_flow;
        state.total_temperature = supply.total_temperature;
        state.faces[near] = supply.face;
        state.faces[far] = demand.face;
        let stream = Stream { mass_flow: flow, total_temperature: supply.total_temperature };
        let needed = self.climb(view, &stream, direction, demand.total_pressure, state);
        let last = state.total_pressures.len() - 1;
        state.total_pressures[if near == 0 { 0 } else { last }] = supply.total_pressure;
        let spare = supply.total_pressure - needed;
        state.mismatch = if near == 0 { spare } else { -spare };
        state.slope = falling(&supply, &demand, needed, flow);
    }

    /// Total pressure needed at the near side for `behind` at the far one; notes the values in between.
    fn climb(
        &self,
        view: &View<'_>,
        stream: &Stream,
        direction: Direction,
        behind: f64,
        state: &mut SeriesState,
    ) -> f64 {
        let mut pressure = behind;
        match direction {
            Direction::Forward => {
                for (index, loss) in self.losses.iter().enumerate().rev() {
                    state.total_pressures[index + 1] = pressure;
                    pressure = loss.total_pressure_before(view.gas, stream, direction, pressure);
                }
            }
            Direction::Reverse => {
                for (index, loss) in self.losses.iter().enumerate() {
                    state.total_pressures[index] = pressure;
                    pressure = loss.total_pressure_before(view.gas, stream, direction, pressure);
                }
            }
        }
        pressure
    }

    /// Writes the state of the joint and its mismatch at `mass_flow` [kg/s]; where a side prescribes the flow, the state at that flow, and a
    /// mismatch that drives `mass_flow` to it.
    pub fn compare(&self, view: &View<'_>, mass_flow: f64, state: &mut SeriesState) {
        match self.prescribed(view) {
            Some(flow) => {
                let passed = self.force(view, flow, state);
                state.mismatch = FORCED_SLOPE * (passed - mass_flow);
            }
            None => {
                self.evaluate(view, mass_flow, state);
                self.cap(view, mass_flow, state);
            }
        }
    }

    /// Replaces a mismatch that asks a side for more than it can give by one that drives the flow to what it can: of the conditions
    /// `mismatch = 0` and `flow = capacity`, that which the flow meets first.
    fn cap(&self, view: &View<'_>, mass_flow: f64, state: &mut SeriesState) {
        let [most, least] = [0, 1].map(|side| (1.0 + BEYOND_SONIC) * self.sides[side].capacity(view));
        let most = CAPPED_SLOPE * (most - mass_flow);
        let least = CAPPED_SLOPE * (-least - mass_flow);
        state.choked = state.mismatch > most || state.mismatch < least;
        state.mismatch = state.mismatch.min(most).max(least);
    }

    /// Finds the mass flow that balances the joint, starting from `guess` [kg/s], and leaves its state in `state`.
    ///
    /// # Errors
    /// The remaining mismatch [Pa] when no flow balances the joint.
    pub fn balance(&self, view: &View<'_>, guess: f64, state: &mut SeriesState) -> Result<f64, f64> {
        if let Some(flow) = self.prescribed(view) {
            return Ok(self.force(view, flow, state));
        }
        state.choked = false;
        let mut limits = Limits::new(self, view);
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut flow = limits.apply(guess);
        let mut before: Option<(f64, f64)> = None;
        for evaluation in 0..MOST_EVALUATIONS {
            self.evaluate(view, flow, state);
            let mismatch = state.mismatch;
            let scale = state.total_pressures.iter().fold(0.0, |most: f64, p| most.max(p.abs()));
            if mismatch.abs() <= BALANCED * scale {
                return Ok(flow);
            }
            if mismatch > 0.0 {
                low = flow
            } else {
                high = flow
            }
            // Written so that an open end of the bracket, where the width is infinite, does not count as closed.
            let width = high - low;
            let closed = width <= 0.0 || width.is_finite() && width <= f64::EPSILON * low.abs().max(high.abs());
            let spent = mismatch > 0.0 && flow >= limits.most || mismatch < 0.0 && flow <= limits.least;
            if closed || spent {
                state.choked = spent;
                return Ok(flow);
            }
            let slope = match before {
                Some((other_flow, other)) if (mismatch - other) / (flow - other_flow) < 0.0 => {
                    (mismatch - other) / (flow - other_flow)
                }
                // Two volumes at rest have no slope yet: any falling line opens the bracket.
                _ => -state.slope.max(LEAST_SLOPE),
            };
            before = Some((flow, mismatch));
            let next = limits.apply(flow - mismatch / slope);
            let halved = 0.5 * (low + high);
            let inside = next > low && next < high || next >= limits.most || next <= limits.least;
            let patient = evaluation < PATIENCE || evaluation % 2 == 0;
            flow = if !halved.is_finite() || inside && patient { next } else { halved };
        }
        Err(state.mismatch)
    }

    /// Passes a flow that a side prescribes, or as much of it as the other side can give.
    fn force(&self, view: &View<'_>, flow: f64, state: &mut SeriesState) -> f64 {
        let near = usize::from(flow < 0.0);
        let certain = self.sides[near].certain(view);
        let most = if flow.abs() <= certain { certain } else { self.sides[near].choking_flow(view) };
        state.choked = flow.abs() > most;
        let mut flow = flow.clamp(-most, most);
        self.pass(view, flow, state);
        if !self.losses.is_empty() && self.sides[1 - near].prescribed(view).is_some() {
            // Behind the losses stands a draw that takes what it wants: the most that they let through is found by halving.
            if self.headroom(view, flow, state) < 0.0 {
                state.choked = true;
                let (mut low, mut high) = (0.0, flow);
                for _ in 0..60 {
                    let middle = 0.5 * (low + high);
                    if self.headroom(view, middle, state) < 0.0 { high = middle } else { low = middle }
                }
                flow = low;
            }
            self.pass(view, flow, state);
        }
        flow
    }

    /// Supplied total pressure minus that needed for `flow` when almost nothing is left behind the losses [Pa].
    fn headroom(&self, view: &View<'_>, flow: f64, state: &mut SeriesState) -> f64 {
        let direction = Direction::of(flow);
        let supply = self.sides[usize::from(flow < 0.0)].supply(view, flow.abs());
        let stream = Stream { mass_flow: flow.abs(), total_temperature: supply.total_temperature };
        supply.total_pressure - self.climb(view, &stream, direction, LOWEST_BEHIND * supply.total_pressure, state)
    }

    /// State at a forced flow: the side that is not prescribed fixes the pressures.
    fn pass(&self, view: &View<'_>, flow: f64, state: &mut SeriesState) {
        self.evaluate(view, flow, state);
        let near = usize::from(flow < 0.0);
        let direction = Direction::of(flow);
        let last = state.total_pressures.len() - 1;
        state.mismatch = 0.0;
        if self.sides[near].prescribed(view).is_some() {
            // The stream is pushed in: what the far side demands, and the losses on top, stand before it.
            let far = self.sides[1 - near].demand(view, flow.abs(), state.total_temperature).total_pressure;
            let stream = Stream { mass_flow: flow.abs(), total_temperature: state.total_temperature };
            let needed = self.climb(view, &stream, direction, far, state);
            state.total_pressures[if near == 0 { 0 } else { last }] = needed;
            return;
        }
        let supplied = state.total_pressures[if near == 0 { 0 } else { last }];
        if self.losses.is_empty() {
            state.total_pressures.fill(supplied);
            return;
        }
        // The losses answer backwards, so the pressure behind them is the root of what they need before them.
        let stream = Stream { mass_flow: flow.abs(), total_temperature: state.total_temperature };
        let (mut low, mut high) = (LOWEST_BEHIND * supplied, supplied);
        let mut behind = supplied;
        for _ in 0..100 {
            let excess = self.climb(view, &stream, direction, behind, state) - supplied;
            if excess.abs() <= BALANCED * supplied {
                break;
            }
            if excess > 0.0 {
                high = behind
            } else {
                low = behind
            }
            let next = behind - excess;
            behind = if next > low && next < high { next } else { 0.5 * (low + high) };
        }
        state.total_pressures[if near == 0 { 0 } else { last }] = supplied;
    }
}

/// How much each side can give. Its true capacity is found only when a flow comes near it.
struct Limits<'a> {
    joint: &'a SeriesJoint,
    view: &'a View<'a>,
    certain: [f64; 2],
    most: f64,
    least: f64,
}

impl<'a> Limits<'a> {
    fn new(joint: &'a SeriesJoint, view: &'a View<'a>) -> Self {
        let certain = [joint.sides[0].certain(view), joint.sides[1].certain(view)];
        Self { joint, view, certain, most: f64::INFINITY, least: f64::NEG_INFINITY }
    }

    /// `flow`, or as much of it as the side that it comes from can give.
    fn apply(&mut self, flow: f64) -> f64 {
        if flow > self.certain[0] && self.most == f64::INFINITY {
            self.most = self.joint.sides[0].capacity(self.view);
        }
        if flow < -self.certain[1] && self.least == f64::NEG_INFINITY {
            self.least = -self.joint.sides[1].capacity(self.view);
        }
        flow.clamp(self.least, self.most)
    }
}

fn falling(supply: &Reach, demand: &Reach, needed: f64, flow: f64) -> f64 {
    let lost = needed - demand.total_pressure;
    let quadratic = if flow > 0.0 { 2.0 * lost / flow } else { 0.0 };
    supply.impedance + demand.impedance + quadratic
}
