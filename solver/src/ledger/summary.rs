//! The summary of a run: what an engineer reads, as numbers.

use super::branch::{Stretch, Way};
use super::integrals::{Places, WALL_HEAT};
use crate::joint::side::Side;
use crate::joint::side::tap_pressure;
use crate::loss::Basis;
use crate::network::{JointKind, Meter, Network};
use crate::part::{Course, Demand};
use serde::Serialize;

/// A stretch of time over which means are taken.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Window {
    /// Start [s].
    pub from: f64,
    /// End [s].
    pub to: f64,
}

/// What a result holds of a window.
#[derive(Debug, Clone)]
pub struct Readings {
    /// The window.
    pub window: Window,
    /// Integrals over the window, in the order of [`Places`].
    pub integrals: Vec<f64>,
    /// Lowest and highest flow of each draw in the window [kg/s].
    pub extremes: Vec<[f64; 2]>,
    /// Integrals over the whole run.
    pub whole: Vec<f64>,
    /// Root causes of warmth, and what each has sent into each draw over the window [kg K]; empty where a march does not follow them.
    pub roots: Vec<String>,
    /// See `roots`.
    pub warmth: Vec<Vec<f64>>,
    /// Mass [kg], energy [J] and mass of each origin [kg] in the network at the start of the run and at its end.
    pub stored: [Vec<f64>; 2],
}

/// A loss of a branch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LossItem {
    /// Part.
    pub part: String,
    /// What of it.
    pub what: String,
    /// `measured`, `handbook`, `ASSUMED` or `solved`.
    pub basis: String,
    /// Where exactly the numbers come from.
    pub source: String,
    /// Total pressure lost [Pa].
    pub lost: f64,
    /// Share of the branch's whole loss.
    pub share: f64,
}

/// What warms the air of a branch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatItem {
    /// Root cause.
    pub cause: String,
    /// Part in which the heat entered.
    pub place: String,
    /// Rise of total temperature [K].
    pub rise: f64,
}

/// What warmed the air of a branch, at the root.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CauseItem {
    /// A hot part, a radiator, a bay, ram, what was there before.
    pub cause: String,
    /// Rise of total temperature [K].
    pub rise: f64,
}

/// Share of the air that came in at one place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OriginShare {
    /// Mouth, gap, inflow or `initial air`.
    pub origin: String,
    /// Share, 0..1.
    pub share: f64,
}

/// One branch: the way of the air to one draw.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BranchSummary {
    /// Name of the draw.
    pub draw: String,
    /// Diameter of the round section at which the branch ends [m].
    pub bore: f64,
    /// What the draw asks for, in words.
    pub demand: String,
    /// Mean mass flow [kg/s].
    pub mass_flow: f64,
    /// Highest minus lowest mass flow [kg/s].
    pub flow_swing: f64,
    /// Share of the flow of all draws.
    pub flow_share: f64,
    /// Mean total pressure [Pa].
    pub total_pressure: f64,
    /// Total pressure over free-stream total pressure.
    pub recovery: f64,
    /// Static pressure that a wall tap at the bore reads [Pa].
    pub static_pressure: f64,
    /// Outside static pressure minus that [Pa].
    pub depression: f64,
    /// Mean total temperature [K].
    pub total_temperature: f64,
    /// Rise of total temperature over the outside [K].
    pub rise: f64,
    /// Where the air came in.
    pub origins: Vec<OriginShare>,
    /// Free-stream total pressure minus the branch's [Pa].
    pub lost: f64,
    /// Where it was lost, from the outside to the draw.
    pub losses: Vec<LossItem>,
    /// What warmed the air.
    pub heat: Vec<HeatItem>,
    /// Rise by root cause, largest first; empty where the march does not follow it.
    pub causes: Vec<CauseItem>,
    /// Loss found by integrating dissipation, over the loss: one when the ledger closes.
    pub dissipation_closure: f64,
    /// Rise found from ram, ingestion and wall heat, over the rise; one when there is none.
    pub heat_closure: f64,
    /// Input on which the most loss rests that is neither measured nor from a handbook.
    pub weakest_input: Option<String>,
}

/// What an air meter reads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeterSummary {
    /// Duct in which it sits.
    pub part: String,
    /// Where [m from the duct's first end].
    pub at: f64,
    /// Bore of the section there [m].
    pub bore: f64,
    /// Bore of the tube in which it was calibrated [m].
    pub calibrated_bore: f64,
    /// Mean mass flow past it, along the duct [kg/s].
    pub mass_flow: f64,
    /// Mean of what it reads [kg/s].
    pub reading: f64,
    /// Reading over flow.
    pub ratio: f64,
}

/// Balances of a whole run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Totals {
    /// Mass that came in minus mass that left minus what is stored more, over what came in.
    pub mass_error: f64,
    /// The same for energy.
    pub energy_error: f64,
    /// Mass flow that comes in, mean of the window [kg/s].
    pub inflow: f64,
}

/// A run in numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// Window of the means.
    pub window: Window,
    /// Outside static pressure [Pa].
    pub outside_pressure: f64,
    /// Outside temperature [K].
    pub outside_temperature: f64,
    /// Road speed [m/s].
    pub speed: f64,
    /// Dynamic pressure of the road speed [Pa].
    pub dynamic_pressure: f64,
    /// Free-stream total pressure [Pa].
    pub free_stream_total_pressure: f64,
    /// The branches, in the order of the case.
    pub branches: Vec<BranchSummary>,
    /// The air meters, in the order of the case.
    pub meters: Vec<MeterSummary>,
    /// Balances.
    pub totals: Totals,
}

/// Fall of the logarithm of total pressure below which a booking is too small for any table: half a pascal.
const NOTHING: f64 = 5e-6;
/// Rise of temperature below which a booking is rounding [K].
const NOTHING_WARM: f64 = 1e-4;

impl Summary {
    /// The summary of `network` over what was read of its run.
    #[must_use]
    pub fn of(network: &Network, readings: &Readings) -> Self {
        let free_stream = network.free_stream();
        let stretch = Stretch::new(network, readings.integrals.clone());
        let duration = readings.window.to - readings.window.from;
        let mut branches: Vec<BranchSummary> = network
            .draws()
            .iter()
            .zip(&readings.extremes)
            .map(|(joint, extremes)| branch(&stretch, *joint, *extremes, duration))
            .collect();
        let drawn: f64 = branches.iter().map(|branch| branch.mass_flow).sum();
        for branch in &mut branches {
            branch.flow_share = branch.mass_flow / drawn;
        }
        for (branch, warmth) in branches.iter_mut().zip(&readings.warmth) {
            let mass = branch.mass_flow * duration;
            let rise = |warmth: &f64| if mass > 0.0 { warmth / mass } else { 0.0 };
            branch.causes = readings
                .roots
                .iter()
                .zip(warmth)
                .map(|(cause, warmth)| CauseItem { cause: cause.clone(), rise: rise(warmth) })
                .collect();
            branch.causes.sort_by(|a, b| b.rise.abs().total_cmp(&a.rise.abs()));
        }
        Self {
            window: readings.window,
            outside_pressure: network.outside.pressure,
            outside_temperature: network.outside.temperature,
            speed: network.stream.speed,
            dynamic_pressure: free_stream.dynamic_pressure(&network.gas),
            free_stream_total_pressure: free_stream.total_pressure(&network.gas),
            branches,
            meters: meters(network, readings),
            totals: totals(network, readings),
        }
    }
}

fn branch(stretch: &Stretch<'_>, joint: usize, extremes: [f64; 2], duration: f64) -> BranchSummary {
    let network = stretch.network;
    let JointKind::Series(series) = &network.joints[joint].kind else {
        unreachable!("a draw stands at the side of a series joint");
    };
    let draw_side = usize::from(!matches!(series.sides[0], Side::Draw { .. }));
    let sign = if draw_side == 1 { 1.0 } else { -1.0 };
    let last = network.joints[joint].losses.len();
    let station = stretch.series_station(joint, if draw_side == 1 { last } else { 0 });
    let (area, demand) = match &series.sides[draw_side] {
        Side::Draw { area, demand, course, .. } => (*area, describe(demand, course)),
        _ => (0.0, String::new()),
    };
    let free_stream = network.free_stream();
    let total_pressure = network.outside.pressure * libm::exp(station.log_pressure);
    let mass_flow = sign * station.mass / duration;
    let static_pressure = tap_pressure(&network.gas, mass_flow, station.temperature, area, total_pressure);
    let way = stretch.follow(joint);
    let lost = free_stream.total_pressure(&network.gas) - total_pressure;
    let rise = station.temperature - network.outside.temperature;
    let (losses, dissipation_closure) = losses(&way, lost);
    let heat: Vec<HeatItem> = way
        .warmings
        .iter()
        .filter(|warming| warming.rise.abs() > NOTHING_WARM)
        .map(|warming| HeatItem { cause: warming.cause.clone(), place: warming.place.clone(), rise: warming.rise })
        .collect();
    let explained: f64 =
        way.warmings.iter().filter(|item| !item.cause.ends_with("storage")).map(|item| item.rise).sum();
    let shares = stretch.shares(joint);
    BranchSummary {
        draw: network.draw_name(joint).to_owned(),
        bore: (4.0 * area / std::f64::consts::PI).sqrt(),
        demand,
        mass_flow,
        flow_swing: (extremes[1] - extremes[0]).max(0.0),
        flow_share: 0.0,
        total_pressure,
        recovery: total_pressure / free_stream.total_pressure(&network.gas),
        static_pressure,
        depression: network.outside.pressure - static_pressure,
        total_temperature: station.temperature,
        rise,
        origins: network
            .origins
            .iter()
            .zip(shares)
            .map(|(origin, share)| OriginShare { origin: origin.clone(), share })
            .collect(),
        lost,
        weakest_input: weakest(&losses),
        losses,
        heat,
        causes: Vec::new(),
        dissipation_closure,
        heat_closure: if rise.abs() > NOTHING_WARM { explained / rise } else { 1.0 },
    }
}

/// The losses of a way in pascals, and how much of them dissipation accounts for.
fn losses(way: &Way, lost: f64) -> (Vec<LossItem>, f64) {
    let whole: f64 = way.drops.iter().map(|drop| drop.fall).sum();
    let made: f64 = way.drops.iter().map(|drop| drop.dissipated).sum();
    let items = way.drops.iter().filter(|drop| drop.fall.abs() > NOTHING).map(|drop| {
        let share = if whole == 0.0 { 0.0 } else { drop.fall / whole };
        LossItem {
            part: drop.part.clone(),
            what: drop.what.clone(),
            basis: drop.basis.as_ref().map_or("solved", Basis::word).to_owned(),
            source: drop
                .basis
                .as_ref()
                .map_or("total pressure of the free stream that this air does not bring", Basis::detail)
                .to_owned(),
            lost: share * lost,
            share,
        }
    });
    (items.collect(), if whole == 0.0 { 1.0 } else { made / whole })
}

fn weakest(losses: &[LossItem]) -> Option<String> {
    losses
        .iter()
        .filter(|loss| loss.basis == "ASSUMED")
        .max_by(|a, b| a.lost.abs().total_cmp(&b.lost.abs()))
        .map(|loss| format!("{}: {} ({})", loss.part, loss.what, loss.source))
}

fn describe(demand: &Demand, course: &Course) -> String {
    let what = match demand {
        Demand::CorrectedFlow { flow, .. } => format!("corrected flow {} g/s", grams(*flow)),
        Demand::Flow(flow) => format!("given flow {} g/s", grams(*flow)),
        Demand::Engine(_) => "engine".to_owned(),
        Demand::Depression(depression) => format!("given depression {depression:.1} Pa"),
    };
    match course {
        Course::Steady => what,
        Course::Table(_) => format!("{what}, by table in time"),
        Course::Pulsed { amplitude, frequency, .. } => {
            format!("{what}, pulsed {:.1} % at {frequency:.1} Hz", 100.0 * amplitude)
        }
    }
}

/// Grams a second to a tenth of a milligram, without the rounding of the conversion.
fn grams(flow: f64) -> f64 {
    (1e7 * flow).round() / 1e4
}

fn meters(network: &Network, readings: &Readings) -> Vec<MeterSummary> {
    let duration = readings.window.to - readings.window.from;
    let meters = network.meters.iter().zip(Places::of(network).meters);
    let summary = |(meter, place): (&Meter, usize)| {
        let [mass_flow, reading] = [0, 1].map(|kind| readings.integrals[place + kind] / duration);
        MeterSummary {
            part: network.ducts[meter.duct.0].clone(),
            at: meter.law.at,
            bore: meter.law.bore(),
            calibrated_bore: meter.law.calibrated_bore(),
            mass_flow,
            reading,
            ratio: reading / mass_flow,
        }
    };
    meters.map(summary).collect()
}

fn totals(network: &Network, readings: &Readings) -> Totals {
    let places = Places::of(network);
    let (mut came, mut left, mut energy_in, mut energy_out, mut window_in) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (joint, found) in network.joints.iter().enumerate() {
        let JointKind::Series(series) = &found.kind else { continue };
        let first = places.joints[joint];
        for (side, kind) in series.sides.iter().enumerate() {
            if matches!(kind, Side::Duct { .. } | Side::Volume { .. }) {
                continue;
            }
            let sign = if side == 0 { 1.0 } else { -1.0 };
            let mass = sign * readings.whole[first];
            let energy = sign * network.gas.heat_capacity * readings.whole[first + 1];
            if mass > 0.0 {
                came += mass
            } else {
                left -= mass
            }
            if mass > 0.0 {
                energy_in += energy
            } else {
                energy_out -= energy
            }
            window_in += (sign * readings.integrals[first]).max(0.0);
        }
    }
    let walls: f64 = places.ducts.iter().map(|place| readings.whole[place + WALL_HEAT]).sum::<f64>()
        + places.volumes.iter().map(|place| readings.whole[*place]).sum::<f64>();
    let [start, end] = &readings.stored;
    let scale = |through: f64, held: f64| if through > 0.0 { through } else { held };
    Totals {
        mass_error: (came - left - (end[0] - start[0])) / scale(came, start[0]),
        energy_error: (energy_in - energy_out + walls - (end[1] - start[1])) / scale(energy_in, start[1]),
        inflow: window_in / (readings.window.to - readings.window.from),
    }
}
