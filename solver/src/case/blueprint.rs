//! From a case at a point to what a network is built from.

use super::{Case, Phase, Point, PointCase, Ramp, Start, Task, Until};
use crate::error::{CaseError, Problem};
use crate::flow::DuctId;
use crate::loss::Deviations;
use crate::march::{self, March, Moving};
use crate::network::{self, AirStream, Blueprint, Entry, Network, Stretch};
use crate::part::Part;

/// Slowest periods over which means are formed when the case does not say.
const AVERAGED_PERIODS: f64 = 3.0;
/// Least time between two rows of a run through phases [s].
const RECORD_EVERY_PHASES: f64 = 1.0;
/// Longest roll-on [s]: a car that needs longer does not reach the speed.
const LONGEST_ROLL_ON: f64 = 120.0;
/// Rows of a pull or roll-on, and the longest time between two [s].
const DRIVEN_ROWS: f64 = 200.0;
const LONGEST_ROW: f64 = 0.1;
/// Largest share of a run that they may take: what comes before is the start.
const MOST_AVERAGED: f64 = 0.5;

impl Case {
    /// The network of this case at the point `name`, with the state with which it starts and the way in which it is run.
    ///
    /// # Errors
    /// No such point, or all that does not fit together.
    pub fn build(&self, name: &str) -> Result<Built, CaseError> {
        let phases = self.phases(name);
        let Some(first) = phases.first() else { return self.build_plain(name) };
        let mut built = self.build_plain(&first.point)?;
        built.settings.march = March::Slow;
        built.settings.until = march::Until::Time(phases.iter().map(|phase| phase.length).sum());
        if built.settings.record_every < RECORD_EVERY_PHASES {
            built.settings.record_every = RECORD_EVERY_PHASES;
        }
        Ok(built)
    }

    /// The phases of the point `name`; none where it is one state of the car.
    #[must_use]
    pub fn phases(&self, name: &str) -> &[Phase] {
        self.points.iter().find(|point| point.name == name).map_or(&[], |point| &point.phases)
    }

    /// The networks of the phases of the point `name`, one after another; that of the point itself where it has none.
    ///
    /// # Errors
    /// As for [`Case::build`]; or the phases do not have the same parts.
    pub fn build_phases(&self, name: &str) -> Result<Vec<BuiltPhase>, CaseError> {
        let whole = self.build(name)?;
        let phases = self.phases(name);
        if phases.is_empty() {
            let end = match whole.settings.until {
                march::Until::Time(end) | march::Until::Settled { at_most: end, .. } => end,
                march::Until::Steady => f64::INFINITY,
            };
            let (point, network) = (name.to_owned(), whole.network);
            return Ok(vec![BuiltPhase { point, from: 0.0, to: end, ramp: None, network }]);
        }
        let (mut from, mut built) = (0.0, Vec::new());
        let mut before: Option<&Point> = None;
        for phase in phases {
            let network = self.build_plain(&phase.point)?.network;
            if network.layout != whole.network.layout {
                let problem = Problem {
                    location: phase.location.clone(),
                    path: format!("points.{name}.phases"),
                    found: format!("`{}`, at which air can enter or leave in other places", phase.point),
                    expected: "points that differ in numbers alone".to_owned(),
                    nearest: None,
                };
                return Err(CaseError { problems: vec![problem] });
            }
            let to = from + phase.length;
            let point = self.points.iter().find(|point| point.name == phase.point);
            let ramp = match (before, point) {
                (Some(before), Some(point)) if phase.ramp > 0.0 => {
                    Some(Ramp::new(self, [before, point], from, phase.ramp, &network)?)
                }
                _ => None,
            };
            built.push(BuiltPhase { point: phase.point.clone(), from, to, ramp, network });
            (from, before) = (to, point);
        }
        Ok(built)
    }

    /// As [`Case::build`] for a point without phases, with as many cells in each duct as `like` has in the duct of that name. What is
    /// found in the network is then smooth in the lengths of ducts, which otherwise decide on the number of cells. The published laws of loss
    /// are moved by `deviations`.
    ///
    /// # Errors
    /// As for [`Case::build`].
    pub fn build_meshed_as(&self, name: &str, like: &Network, deviations: Deviations) -> Result<Built, CaseError> {
        let case = self.at_point(name)?;
        let settings = settings(&case);
        let averaged = case.run.average_over;
        let mut blueprint = self.blueprint_as(case, deviations);
        for (part, _, drawn) in &mut blueprint.parts {
            if let (Part::Duct(duct), Some(id)) = (drawn, like.ducts.iter().position(|name| name == part)) {
                duct.cell = Some(duct.length / like.arena.cells(DuctId(id)) as f64);
            }
        }
        finish(blueprint, settings, averaged)
    }

    fn build_plain(&self, name: &str) -> Result<Built, CaseError> {
        self.build_deviating(name, Deviations::default())
    }

    /// As [`Case::build`] for a point without phases, with the published laws of loss moved by `deviations`.
    ///
    /// # Errors
    /// As for [`Case::build`].
    pub fn build_deviating(&self, name: &str, deviations: Deviations) -> Result<Built, CaseError> {
        let case = self.at_point(name)?;
        let settings = settings(&case);
        let averaged = case.run.average_over;
        finish(self.blueprint_as(case, deviations), settings, averaged)
    }

    pub(super) fn blueprint(&self, case: PointCase) -> Blueprint {
        self.blueprint_as(case, Deviations::default())
    }

    /// The blueprint with the published laws moved by `deviations`, but for those on which the case gives a factor.
    fn blueprint_as(&self, case: PointCase, deviations: Deviations) -> Blueprint {
        let location = |name: &str| self.location(&format!("parts.{name}"));
        Blueprint {
            gas: case.outside.gas,
            outside: network::Outside { pressure: case.outside.pressure, temperature: case.outside.temperature },
            stream: AirStream {
                speed: case.point.air_speed(),
                fan: case.point.fan.map(|fan| network::Fan {
                    speed: fan.speed,
                    temperature: fan.temperature,
                    reaches: fan.reaches,
                }),
            },
            parts: case.parts.into_iter().map(|(name, part)| (name.clone(), location(&name), part)).collect(),
            powertrain: case.powertrain,
            lines: case.flow.iter().map(|line| line.stops.iter().map(entry).collect()).collect(),
            initial: case.initial.iter().map(stretch).collect(),
            cell: case.run.cell,
            scheme: case.run.scheme,
            deviations: deviations.but_known(|law| self.loss_factors.of(law)),
        }
    }
}

/// A stretch of time with the network that holds in it.
#[derive(Debug)]
pub struct BuiltPhase {
    /// Point that holds.
    pub point: String,
    /// Start [s].
    pub from: f64,
    /// End [s].
    pub to: f64,
    /// How its numbers come to be what they are; none where they are so from the start.
    pub ramp: Option<Ramp>,
    /// The network behind the ramp.
    pub network: Network,
}

impl BuiltPhase {
    /// The ramp as a march takes it.
    #[must_use]
    pub fn moving(&self) -> Option<&dyn Moving> {
        self.ramp.as_ref().map(|ramp| ramp as &dyn Moving)
    }

    /// Time from which its numbers stay [s]; its start where they move to its very end.
    #[must_use]
    pub fn still_from(&self) -> f64 {
        self.ramp.as_ref().map(Ramp::until).filter(|until| *until < self.to).unwrap_or(self.from)
    }

    /// Pressure of the undisturbed air at `time` [s], in pascals.
    #[must_use]
    pub fn outside_pressure(&self, time: f64) -> f64 {
        let moving = self.ramp.as_ref().filter(|ramp| time < ramp.until());
        moving.map_or(self.network.outside.pressure, |ramp| ramp.outside(time).pressure)
    }
}

/// A case at a point, ready to march.
#[derive(Debug)]
pub struct Built {
    /// The network.
    pub network: Network,
    /// State at the start.
    pub initial: Vec<f64>,
    /// How it is marched.
    pub settings: march::Settings,
    /// Last stretch of the run over which means are formed [s], when the case says so.
    pub averaged: Option<f64>,
}

impl Built {
    /// Time from which means are formed in a run that ended at `end` [s]: some slowest periods before it, when the case does not say.
    #[must_use]
    pub fn averaged_from(&self, end: f64) -> f64 {
        // A steady state is booked over one stretch, all of which counts.
        if self.settings.until == march::Until::Steady {
            return 0.0;
        }
        let ringing = || self.network.ringing_window(AVERAGED_PERIODS).0.min(MOST_AVERAGED * end);
        (end - self.averaged.unwrap_or_else(ringing)).max(0.0)
    }
}

/// A run in which the engine or the car changes its speed, of at most `length` [s].
fn driven(settings: march::Settings, length: f64) -> march::Settings {
    let record_every = (length / DRIVEN_ROWS).min(LONGEST_ROW);
    march::Settings {
        march: March::Slow,
        from_steady: true,
        until: march::Until::Time(length),
        record_every,
        ..settings
    }
}

fn finish(blueprint: Blueprint, settings: march::Settings, averaged: Option<f64>) -> Result<Built, CaseError> {
    let stretches = blueprint.initial.clone();
    let network = Network::build(blueprint)?;
    let initial = network.initial_state(&stretches);
    Ok(Built { network, initial, settings, averaged })
}

fn settings(case: &PointCase) -> march::Settings {
    let settings = march::Settings {
        march: case.run.march,
        from_steady: case.run.start == Start::Steady && case.initial.is_empty(),
        courant: case.run.courant,
        record_every: case.run.record_every,
        until: match case.run.until {
            Until::Time(end) => march::Until::Time(end),
            Until::Steady => march::Until::Steady,
            Until::Settled { below, at_most } => march::Until::Settled { at_most, tolerance: below },
        },
    };
    match case.point.task {
        Task::Hold => settings,
        Task::Pull { to, rate } => driven(settings, (to - case.point.engine_speed) / rate),
        Task::Step { time, .. } => driven(settings, time),
        Task::RollOn { .. } => driven(settings, LONGEST_ROLL_ON),
    }
}

fn entry(stop: &super::Stop) -> Entry {
    Entry { name: stop.part.clone(), leg: stop.leg.clone(), location: stop.location.clone() }
}

fn stretch(stretch: &super::InitialStretch) -> Stretch {
    Stretch {
        part: stretch.part.clone(),
        from: stretch.from.unwrap_or(f64::NEG_INFINITY),
        to: stretch.to.unwrap_or(f64::INFINITY),
        pressure: stretch.pressure,
        temperature: stretch.temperature,
        velocity: stretch.velocity,
    }
}
