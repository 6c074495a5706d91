//! What a run through phases shows: temperatures phase by phase, how long the inlet takes to come back, what walls had to bear.

use super::reading::Reading;
use crate::case::BuiltPhase;
use crate::error::OutputError;
use crate::heat::material::find;
use crate::network::Network;
use serde::Serialize;

/// Rise of a draw's flow over the phase before that makes a phase a restart.
const RESTART: f64 = 3.0;
/// Distance from the end of the phase within which the inlet's temperature has come back [K].
pub const BACK_WITHIN: f64 = 5.0;

/// A draw in a phase.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawPhase {
    /// Draw.
    pub draw: String,
    /// Mass flow at the end of the phase [kg/s].
    pub mass_flow: f64,
    /// Total temperature at its end [K].
    pub temperature: f64,
    /// Highest total temperature in it [K].
    pub highest: f64,
    /// When that was [s].
    pub highest_at: f64,
    /// After a restart, the time of the record from which on the temperature stays within [`BACK_WITHIN`] of that of the end [s].
    pub back_after: Option<f64>,
}

/// A phase of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PhaseFigures {
    /// Point that holds.
    pub point: String,
    /// Start [s].
    pub from: f64,
    /// End [s].
    pub to: f64,
    /// Road speed [m/s].
    pub speed: f64,
    /// The draws.
    pub draws: Vec<DrawPhase>,
    /// Temperature of each stored bay at the end [K].
    pub bays: Vec<(String, f64)>,
}

/// What a wall had to bear.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WallFigures {
    /// Part.
    pub part: String,
    /// What of it: empty, a layer, the skin; of a wall that stores no heat where its temperature comes from.
    pub what: String,
    /// Material.
    pub material: String,
    /// Highest temperature [K].
    pub highest: f64,
    /// When [s].
    pub at: f64,
    /// Largest fall of the pressure inside below that of the outside [Pa]; none of a part without air.
    pub depression: Option<f64>,
    /// Temperature that the material must not pass [K], and what happens there.
    pub limit: Option<(f64, String)>,
}

impl Reading {
    /// The phases that the result holds.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn phase_figures(&self) -> Result<Vec<PhaseFigures>, OutputError> {
        let time = self.file.time()?;
        let network = &self.built.network;
        let mut draws = Vec::new();
        for joint in network.draws() {
            let draw = network.draw_name(joint).to_owned();
            let (flow, temperature) =
                (self.file.series(&draw, "mass_flow")?, self.file.series(&draw, "total_temperature")?);
            draws.push((draw, flow, temperature));
        }
        let mut bays = Vec::new();
        for bay in &network.thermal.bays {
            let name = network.volumes[bay.volume].name.clone();
            let temperature = self.file.series(&name, "temperature")?;
            bays.push((name, temperature));
        }
        let mut figures: Vec<PhaseFigures> = Vec::new();
        for phase in &self.phases {
            let Some(rows) = rows_of(phase, &time) else { break };
            let of_draw = |number: usize| {
                let (draw, flow, temperature): &(String, Vec<f64>, Vec<f64>) = &draws[number];
                let before = figures.last().map(|before| before.draws[number].mass_flow);
                let mass_flow = flow[rows.1];
                let restarted = before.is_some_and(|before| mass_flow > RESTART * before);
                let own = &temperature[rows.0..=rows.1];
                let alone = first_own(figures.len(), rows.0)..=rows.1;
                let (highest, highest_at) = peak(&time[alone.clone()], &temperature[alone]);
                DrawPhase {
                    draw: draw.clone(),
                    mass_flow,
                    temperature: temperature[rows.1],
                    highest,
                    highest_at,
                    back_after: if restarted { back_after(&time[rows.0..=rows.1], own) } else { None },
                }
            };
            let of_draws = (0..draws.len()).map(of_draw).collect();
            figures.push(PhaseFigures {
                point: phase.point.clone(),
                from: phase.from,
                to: phase.to,
                speed: phase.network.stream.speed,
                draws: of_draws,
                bays: bays.iter().map(|(name, temperature)| (name.clone(), temperature[rows.1])).collect(),
            });
        }
        Ok(figures)
    }

    /// What a wall had to bear that stores no heat but whose material the case names: at its given temperature, or at that of its air.
    fn wall_without_heat(&self, part: &str, time: &[f64]) -> Result<Option<WallFigures>, OutputError> {
        let path = format!("parts.{part}.wall");
        let named = self.case.as_written(&format!("{path}.material")).and_then(find);
        let Some(named) = named else { return Ok(None) };
        let numbers = self.case.numbers();
        let of_path = |path: &str| numbers.iter().find(|number| number.path == path).map(|number| number.value);
        let base = of_path(&format!("{path}.temperature"));
        // Each phase may say another one: the hottest counts.
        let points = self.phases.iter().map(|phase| phase.point.as_str()).chain([self.point.as_str()]);
        let given =
            points.filter_map(|point| of_path(&format!("points.{point}.{path}.temperature")).or(base)).reduce(f64::max);
        let (what, (highest, at)) = match given {
            Some(temperature) => ("as given", (temperature, 0.0)),
            None => ("as its air", peak(time, &self.warmest(part)?)),
        };
        Ok(Some(WallFigures {
            part: part.to_owned(),
            what: what.to_owned(),
            material: named.name.to_owned(),
            highest,
            at,
            depression: self.depression(&self.built.network, part, time)?,
            limit: named.limit.map(|limit| (limit.temperature, limit.what.to_owned())),
        }))
    }

    /// The highest static temperature of the air in a part by record [K].
    fn warmest(&self, part: &str) -> Result<Vec<f64>, OutputError> {
        if self.built.network.volumes.iter().any(|volume| volume.name == part) {
            return self.file.series(part, "temperature");
        }
        let field = self.file.field(part, "temperature")?;
        Ok(field.rows().into_iter().map(|row| row.iter().copied().fold(f64::NEG_INFINITY, f64::max)).collect())
    }

    /// What each wall that stores heat had to bear; empty where none does.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn wall_figures(&self) -> Result<Vec<WallFigures>, OutputError> {
        let time = self.file.time()?;
        let network = &self.built.network;
        let mut figures = Vec::new();
        for node in &network.thermal.nodes {
            let temperatures = self.file.series(&node.part, &node.series_name())?;
            let (highest, at) = peak(&time, &temperatures);
            figures.push(WallFigures {
                part: node.part.clone(),
                what: node.what.clone(),
                material: node.material.name.to_owned(),
                highest,
                at,
                depression: self.depression(network, &node.part, &time)?,
                limit: node.material.limit.map(|limit| (limit.temperature, limit.what.to_owned())),
            });
        }
        for part in network.ducts.iter().chain(network.volumes.iter().map(|volume| &volume.name)) {
            if !network.thermal.nodes.iter().any(|node| node.part == *part) {
                figures.extend(self.wall_without_heat(part, &time)?);
            }
        }
        Ok(figures)
    }

    /// Largest fall of the pressure in a part below that of the outside [Pa], each phase against its own outside.
    fn depression(&self, network: &Network, part: &str, time: &[f64]) -> Result<Option<f64>, OutputError> {
        let lowest: Vec<f64> = if network.ducts.iter().any(|duct| duct == part) {
            let field = self.file.field(part, "pressure")?;
            field.rows().into_iter().map(|row| row.iter().copied().fold(f64::INFINITY, f64::min)).collect()
        } else if network.volumes.iter().any(|volume| volume.name == part) {
            self.file.series(part, "pressure")?
        } else {
            return Ok(None);
        };
        let of_phase = |(number, phase): (usize, &BuiltPhase)| {
            let (from, to) = rows_of(phase, time)?;
            let rows = first_own(number, from)..=to;
            let falls = rows.map(|row| phase.outside_pressure(time[row]) - lowest[row]);
            Some(falls.fold(f64::NEG_INFINITY, f64::max))
        };
        let fallen = self.phases.iter().enumerate().filter_map(of_phase).fold(f64::NEG_INFINITY, f64::max);
        Ok(Some(fallen).filter(|fallen| fallen.is_finite()))
    }
}

/// Highest of `values`, and its time.
fn peak(time: &[f64], values: &[f64]) -> (f64, f64) {
    let higher = |most: (f64, f64), (time, value): (&f64, &f64)| if *value > most.0 { (*value, *time) } else { most };
    time.iter().zip(values).fold((f64::NEG_INFINITY, 0.0), higher)
}

/// First row that belongs to a phase alone: at its start the state is still that to which the phase before has led.
fn first_own(number: usize, from: usize) -> usize {
    if number == 0 { from } else { from + 1 }
}

/// First and last row of a phase that the result holds.
fn rows_of(phase: &BuiltPhase, time: &[f64]) -> Option<(usize, usize)> {
    let from = time.partition_point(|t| *t < phase.from * (1.0 - 1e-12));
    let to = time.partition_point(|t| *t <= phase.to * (1.0 + 1e-12)).checked_sub(1)?;
    (from < to).then_some((from, to))
}

/// Time from the start until all later values lie within [`BACK_WITHIN`] of the last [s].
fn back_after(time: &[f64], values: &[f64]) -> Option<f64> {
    let last = *values.last()?;
    let still = values.iter().rposition(|value| (value - last).abs() > BACK_WITHIN);
    Some(still.map_or(0.0, |row| time[row + 1] - time[0]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_to_come_back_is_that_of_the_last_departure() {
        let time: Vec<f64> = (0..10).map(f64::from).collect();
        let falling: Vec<f64> = (0..10).map(|k| 300.0 + 30.0 * 0.5_f64.powi(k)).collect();
        assert_eq!(back_after(&time, &falling), Some(3.0));
        let bump = [300.0, 300.0, 309.0, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0];
        assert_eq!(back_after(&time, &bump), Some(3.0));
        assert_eq!(back_after(&time, &[300.0; 10]), Some(0.0));
    }
}
