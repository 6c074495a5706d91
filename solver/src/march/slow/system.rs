//! The network as one system of equations in scaled unknowns, and its Jacobian by coloured differences.

use super::colour::colours;
use super::linear::{Factors, Pattern, Singular};
use super::pattern::{Warmed, felt_by, warmed};
use super::present::Present;
use super::transport::{Flows, Transport};
use super::unknowns::{Slot, Unknowns};
use crate::march::Moving;
use crate::network::{Network, StateFault, Work};

/// Relative size of the differences: the root of the rounding error.
const DIFFERENCE: f64 = 1.5e-8;

/// Time in which shares come to what they tend to [s]; what lies still keeps its own.
const IN_THE_LONG_RUN: f64 = 1e9;

/// A network as a system of equations: rates of the states over their sizes [1/s], and mismatches of the joints over the outside's
/// pressure.
#[derive(Debug)]
pub(super) struct System<'a> {
    /// The network as it is now.
    pub(super) network: Present<'a>,
    /// That of the phase, behind its ramp.
    pub(super) still: &'a Network,
    /// The ramp.
    pub(super) moving: Option<&'a dyn Moving>,
    pub(super) unknowns: Unknowns,
    pub(super) pattern: Pattern,
    felt_by: Vec<Vec<usize>>,
    warmed: Vec<Option<Warmed>>,
    /// Heat of the walls at the point about which is differenced [W/m^3].
    heat: Vec<f64>,
    /// First value of each column.
    starts: Vec<usize>,
    colours: Vec<Vec<usize>>,
    /// Time at which courses are read [s].
    pub(super) time: f64,
    pub(super) y: Vec<f64>,
    pub(super) z: Vec<f64>,
    pub(super) work: Work,
    rates: Vec<f64>,
    g: Vec<f64>,
    moved: Vec<f64>,
}

impl<'a> System<'a> {
    pub(super) fn new(network: &'a Network, time: f64, y: Vec<f64>, z: Vec<f64>) -> Result<Self, Singular> {
        let unknowns = Unknowns::of(network);
        let mut felt_by = felt_by(network, &unknowns);
        let colours = colours(&felt_by);
        let warmed = warmed(network, &unknowns);
        for (rows, warmed) in felt_by.iter_mut().zip(&warmed) {
            if let Some(warmed) = warmed {
                rows.push(warmed.row);
                rows.sort_unstable();
            }
        }
        let starts = felt_by.iter().scan(0, |next, rows| {
            let start = *next;
            *next += rows.len();
            Some(start)
        });
        let starts = starts.collect();
        let (rates, g, moved) = (vec![0.0; y.len()], vec![0.0; z.len()], vec![0.0; unknowns.slots.len()]);
        let pattern = Pattern::new(&felt_by)?;
        let work = network.work();
        let heat = vec![0.0; network.arena.slots()];
        Ok(Self {
            network: Present::Still(network),
            still: network,
            moving: None,
            unknowns,
            pattern,
            felt_by,
            warmed,
            heat,
            starts,
            colours,
            time,
            y,
            z,
            work,
            rates,
            g,
            moved,
        })
    }

    /// Number of unknowns.
    pub(super) fn len(&self) -> usize {
        self.unknowns.slots.len()
    }

    /// Writes the scaled unknowns of the present state.
    pub(super) fn gather(&self, x: &mut [f64]) {
        for ((x, slot), size) in x.iter_mut().zip(&self.unknowns.slots).zip(&self.unknowns.sizes) {
            *x = match slot {
                Slot::State(index) => self.y[*index],
                Slot::Flow(index) => self.z[*index],
            } / size;
        }
    }

    /// Balances the joints at the present state, as far as each can be balanced on its own.
    ///
    /// # Errors
    /// The first value that is not that of a gas.
    pub(super) fn balance(&mut self) -> Result<(), StateFault> {
        self.network.look(&self.y, None, &mut self.work)?;
        // What cannot be balanced on its own is left to the solution as a whole.
        let _ = self.network.balance(self.time, &self.y, &mut self.z, &mut self.work);
        Ok(())
    }

    /// Whether an unknown is a state, with a rate; a joint's flow has none.
    pub(super) fn is_state(&self, unknown: usize) -> bool {
        matches!(self.unknowns.slots[unknown], Slot::State(_))
    }

    /// Name of the part to which an unknown belongs, and what it is.
    pub(super) fn describe(&self, unknown: usize) -> (String, &'static str) {
        let network = &*self.network;
        let in_blocks =
            |blocks: &[(usize, usize)]| blocks.iter().position(|block| (block.0..block.0 + block.1).contains(&unknown));
        for (duct, cells) in self.unknowns.cells.iter().enumerate() {
            if let (Some(first), Some(last)) = (cells.first(), cells.last())
                && (first.0..last.0 + last.1).contains(&unknown)
            {
                let quantity = ["density", "momentum", "energy"][(unknown - first.0) % 3];
                return (network.ducts[duct].clone(), quantity);
            }
        }
        if let Some(volume) = in_blocks(&self.unknowns.volumes) {
            let quantity = ["mass", "energy"][unknown - self.unknowns.volumes[volume].0];
            return (network.volumes[volume].name.clone(), quantity);
        }
        let joint = in_blocks(&self.unknowns.joints).or_else(|| {
            let place = in_blocks(&self.unknowns.inertances)?;
            network.joints.iter().position(|joint| joint.place == crate::network::Place::Inertance(place))
        });
        if let Some(node) = in_blocks(&self.unknowns.nodes) {
            return (network.thermal.nodes[node].part.clone(), "temperature of the wall");
        }
        if self.unknowns.powertrain.iter().any(|block| (block.0..block.0 + block.1).contains(&unknown)) {
            return ("engine".to_owned(), "state of the powertrain");
        }
        match joint {
            Some(joint) => (network.joints[joint].name(), "pressure balance"),
            None => ("a mouth".to_owned(), "radiated sound"),
        }
    }

    /// What [`System::describe`] says of the equation that is farthest from holding, when they leave `f`.
    pub(super) fn describe_largest(&self, f: &[f64]) -> (String, &'static str, f64) {
        let unknown = self.farthest(f);
        let (part, quantity) = self.describe(unknown);
        (part, quantity, f[unknown].abs())
    }

    /// The unknown whose equation is farthest from holding when they leave `f`.
    pub(super) fn farthest(&self, f: &[f64]) -> usize {
        let larger = |most: usize, k: usize| if f[k].abs() > f[most].abs() { k } else { most };
        (0..f.len()).fold(0, larger)
    }

    fn set(&mut self, unknown: usize, value: f64) {
        let value = value * self.unknowns.sizes[unknown];
        match self.unknowns.slots[unknown] {
            Slot::State(index) => self.y[index] = value,
            Slot::Flow(index) => self.z[index] = value,
        }
    }

    /// Goes to the scaled unknowns `x`.
    pub(super) fn scatter(&mut self, x: &[f64]) {
        for (unknown, value) in x.iter().enumerate() {
            self.set(unknown, *value);
        }
    }

    /// Goes to `x` and writes what the equations leave there.
    ///
    /// # Errors
    /// The first value that is not that of a gas.
    pub(super) fn evaluate(&mut self, x: &[f64], f: &mut [f64]) -> Result<(), StateFault> {
        self.scatter(x);
        self.evaluate_here(f)
    }

    fn evaluate_here(&mut self, f: &mut [f64]) -> Result<(), StateFault> {
        self.network.residual(self.time, &self.y, &self.z, &mut self.work, &mut self.rates, &mut self.g)?;
        let pressure = self.network.outside.pressure;
        for ((f, slot), size) in f.iter_mut().zip(&self.unknowns.slots).zip(&self.unknowns.sizes) {
            *f = match slot {
                Slot::State(index) => self.rates[*index] / size,
                Slot::Flow(index) => self.g[*index] / pressure,
            };
        }
        Ok(())
    }

    /// Factors of `I / step - J`, without the first term in rows that are no rates; `values` is room for the matrix.
    pub(super) fn stage_factors(&self, jacobian: &[f64], step: f64, values: &mut [f64]) -> Result<Factors, Singular> {
        for (value, jacobian) in values.iter_mut().zip(jacobian) {
            *value = -jacobian;
        }
        for (unknown, place) in self.pattern.diagonal.iter().enumerate() {
            if self.is_state(unknown) {
                values[*place] += 1.0 / step;
            }
        }
        self.pattern.factors(values)
    }

    /// Brings the shares by origin to what the present flows, as they were evaluated last, make of them in the long run.
    pub(super) fn settle_shares(&mut self) -> Result<(), Singular> {
        let mut transport = Transport::new(&self.network)?;
        let mut flows = Flows::none(&self.network);
        flows.add(&self.network, &self.work, 1.0);
        let masses = transport.holders.masses(&self.network, &self.y);
        transport.carry_shares(&self.network, &self.work, &flows, IN_THE_LONG_RUN, &masses, &mut self.y)
    }

    /// Writes the Jacobian at `x`, where the equations leave `f`: column by column, in the order of the pattern.
    ///
    /// # Errors
    /// The first value beside `x` that is not that of a gas.
    pub(super) fn jacobian(&mut self, x: &[f64], f: &[f64], values: &mut [f64]) -> Result<(), StateFault> {
        self.scatter(x);
        let (colours, mut moved) = (std::mem::take(&mut self.colours), std::mem::take(&mut self.moved));
        if self.warmed.iter().any(Option::is_some) {
            self.evaluate_here(&mut moved)?;
            self.heat.copy_from_slice(self.network.arena.heat_row(&self.work.cells));
        }
        let ended = colours.iter().try_for_each(|columns| self.differences(columns, x, f, &mut moved, values));
        (self.colours, self.moved) = (colours, moved);
        ended
    }

    fn differences(
        &mut self,
        columns: &[usize],
        x: &[f64],
        f: &[f64],
        moved: &mut [f64],
        values: &mut [f64],
    ) -> Result<(), StateFault> {
        // Away from zero, where air that moves one way or the other is of another kind: what hardly moves goes on the way it does.
        let beside = |x: f64| x + (DIFFERENCE * x.abs().max(1.0)).copysign(x);
        for column in columns {
            self.set(*column, beside(x[*column]));
        }
        self.evaluate_here(moved)?;
        let heat = self.network.arena.heat_row(&self.work.cells);
        let cooling = |warmed: &Warmed| -(heat[warmed.slot] - self.heat[warmed.slot]) * warmed.over;
        // What these cells do to the rows of their walls is none of the other columns' doing.
        for warmed in columns.iter().filter_map(|column| self.warmed[*column].as_ref()) {
            moved[warmed.row] -= cooling(warmed);
        }
        for column in columns {
            let step = beside(x[*column]) - x[*column];
            let warmed = self.warmed[*column];
            for (value, row) in values[self.starts[*column]..].iter_mut().zip(&self.felt_by[*column]) {
                *value = match &warmed {
                    Some(warmed) if warmed.row == *row => cooling(warmed) / step,
                    _ => (moved[*row] - f[*row]) / step,
                };
            }
        }
        for column in columns {
            self.set(*column, x[*column]);
        }
        Ok(())
    }
}
