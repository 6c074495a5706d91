//! What stands on the side of a joint.

use super::{Body, Builder};
use crate::flow::End;
use crate::joint::radiation::Radiation;
use crate::joint::side::{Fed, Rim, Side};
use crate::loss::ram::{Beside, FreeStream, MouthAir};
use crate::network::blueprint::OUTSIDE;
use crate::part::{Bay, BayAir, Course, Demand, Draw, Mouth, OpenEnd, Part};

/// Area through which an inflow enters a volume [m^2]: so wide that its velocity head does not count.
const WIDE: f64 = 1.0;

impl Builder {
    pub(super) fn side(
        &mut self,
        body: &Body,
        opening: Option<f64>,
        other: &Body,
        first_loss: &Option<String>,
        origin: &mut Option<usize>,
    ) -> Result<Side, (String, String)> {
        let no_area = || {
            (
                format!("{} joined to {} without an opening", self.describe(body), self.describe(other)),
                "a gap, orifice plate, filter or duct between them".to_owned(),
            )
        };
        match body {
            Body::Duct(duct, end) => Ok(Side::Duct { end: 2 * duct + usize::from(*end == End::Last) }),
            Body::Volume(volume) => {
                let fed = matches!(other, Body::Terminal(name) if matches!(self.part(name), Some(Part::Inflow(_) | Part::Radiator(_))));
                let area = opening.or(fed.then_some(WIDE)).ok_or_else(no_area)?;
                Ok(Side::Volume { volume: *volume, area, height: 0.0, faced: Vec::new(), rim: Rim::Plain })
            }
            Body::Leg(..) => Err((self.describe(body), "a duct".into())),
            Body::Terminal(name) if name == OUTSIDE => {
                let area = opening.ok_or_else(no_area)?;
                *origin = Some(self.origin(first_loss.as_deref().unwrap_or(OUTSIDE)));
                let outside = self.blueprint.outside;
                let beside = Beside::still(outside.pressure);
                Ok(Side::Still { beside, temperature: outside.temperature, area })
            }
            Body::Terminal(name) => {
                let name = name.clone();
                self.terminal(&name, opening, no_area(), first_loss, origin)
            }
        }
    }

    pub(super) fn terminal(
        &mut self,
        name: &str,
        opening: Option<f64>,
        no_area: (String, String),
        first_loss: &Option<String>,
        origin: &mut Option<usize>,
    ) -> Result<Side, (String, String)> {
        let outside = self.blueprint.outside;
        match self.part(name) {
            Some(Part::Bay(Bay { air: BayAir::Given(temperature), pressure_coefficient })) => {
                let (beside, temperature) = (self.beside(*pressure_coefficient), *temperature);
                *origin = Some(self.origin(first_loss.as_deref().unwrap_or(name)));
                Ok(Side::Still { beside, temperature, area: opening.ok_or(no_area)? })
            }
            Some(Part::Mouth(mouth)) => {
                let (kind, area) = (mouth.radiation, mouth.area);
                if let Some(volume) = self.breathed(mouth) {
                    let radiation = self.radiation(kind, outside.pressure, outside.temperature, area);
                    return Ok(Side::Volume {
                        volume,
                        area,
                        height: 0.0,
                        faced: Vec::new(),
                        rim: Rim::Mouth(radiation),
                    });
                }
                let (air, basis) = (self.mouth_air(name, mouth)?, mouth.basis.clone());
                *origin = Some(self.origin(name));
                let radiation = self.radiation(kind, air.static_pressure, air.total_temperature, area);
                Ok(Side::Mouth { air: Box::new(air), radiation, basis })
            }
            Some(Part::Draw(draw)) => {
                let draw = self.driven(name, draw.clone())?;
                if can_reverse(&draw.demand, &draw.course) {
                    *origin = Some(self.origin(name));
                }
                Ok(Side::Draw {
                    demand: draw.demand,
                    course: draw.course,
                    area: opening.ok_or(no_area)?,
                    outside: outside.pressure,
                    backflow_temperature: draw.backflow_temperature.unwrap_or(outside.temperature),
                })
            }
            Some(Part::Inflow(inflow)) => {
                let inflow = inflow.clone();
                *origin = Some(self.origin(name));
                let fed = Fed::Given { flow: inflow.flow, temperature: inflow.temperature };
                Ok(Side::Inflow { fed, course: inflow.course })
            }
            Some(Part::Radiator(radiator)) => {
                let (radiator, speed) = (*radiator, self.blueprint.stream.speed);
                *origin = Some(self.origin(name));
                let fed = Fed::Radiator { radiator, speed, outside: outside.temperature };
                Ok(Side::Inflow { fed, course: Course::Steady })
            }
            Some(Part::Wall) => Ok(Side::Wall),
            _ => Err((format!("`{name}`"), "a part that air can end in".into())),
        }
    }

    /// Number of the volume that a mouth breathes from: a bay that stores its air.
    pub(super) fn breathed(&self, mouth: &Mouth) -> Option<usize> {
        let bay = mouth.from.as_ref()?;
        matches!(self.part(bay), Some(Part::Bay(_)))
            .then(|| self.volumes.iter().position(|known| known.name == *bay))?
    }

    fn mouth_air(&self, name: &str, mouth: &Mouth) -> Result<MouthAir, (String, String)> {
        let (gas, outside, stream) = (&self.blueprint.gas, self.blueprint.outside, &self.blueprint.stream);
        let road = || FreeStream::road(gas, outside.pressure, outside.temperature, stream.speed);
        let air = match &mouth.from {
            Some(bay) => match self.part(bay) {
                Some(Part::Bay(Bay { air: BayAir::Given(temperature), pressure_coefficient })) => {
                    FreeStream::bay(self.beside(*pressure_coefficient), *temperature)
                }
                _ => return Err((format!("`from: {bay}` in `{name}`"), "`outside` or the name of a bay".into())),
            },
            None => match &stream.fan {
                None => road(),
                Some(fan) => match fan.reaches.iter().find(|reached| reached.0 == name) {
                    Some((_, coverage)) => {
                        let blown = fan.temperature.unwrap_or(outside.temperature);
                        FreeStream::fan(outside.pressure, outside.temperature, blown, fan.speed, *coverage)
                    }
                    None => road(),
                },
            },
        };
        Ok(mouth.air(gas, &air, &self.blueprint.deviations))
    }

    /// A draw with the number of its turbo, where the engine drives it.
    fn driven(&self, name: &str, draw: Draw) -> Result<Draw, (String, String)> {
        if !matches!(draw.demand, Demand::Engine(_)) {
            return Ok(draw);
        }
        let turbos = self.blueprint.powertrain.iter().flat_map(|powertrain| &powertrain.turbos);
        match turbos.enumerate().find(|turbo| turbo.1.draw == name) {
            Some((turbo, _)) => Ok(Draw { demand: Demand::Engine(turbo), ..draw }),
            None => Err((format!("`engine: yes` in `{name}`"), "an `engine` whose `turbos` name it".into())),
        }
    }

    /// The air before an open end of `area` [m^2], numbered; it rests at `pressure` [Pa] and `temperature` [K].
    fn radiation(
        &mut self,
        kind: Option<OpenEnd>,
        pressure: f64,
        temperature: f64,
        area: f64,
    ) -> Option<Box<Radiation>> {
        let radiation = Radiation::new(self.radiations, kind?, &self.blueprint.gas, pressure, temperature, area);
        self.radiations += 1;
        Some(Box::new(radiation))
    }

    /// Pressure at a place of the car with this pressure coefficient.
    pub(super) fn beside(&self, pressure_coefficient: f64) -> Beside {
        let outside = self.blueprint.outside;
        let density = outside.pressure / (self.blueprint.gas.gas_constant * outside.temperature);
        let per_square = pressure_coefficient * 0.5 * density;
        Beside { still: outside.pressure, per_square, speed: self.blueprint.stream.speed }
    }

    pub(super) fn origin(&mut self, name: &str) -> usize {
        if let Some(found) = self.origins.iter().position(|origin| origin == name) {
            return found;
        }
        self.origins.push(name.to_owned());
        self.origins.len() - 1
    }
}

fn can_reverse(demand: &Demand, course: &Course) -> bool {
    let negative = match course {
        Course::Steady => false,
        Course::Table(points) => points.iter().any(|point| point.1 < 0.0),
        Course::Pulsed { amplitude, .. } => amplitude.abs() > 1.0,
    };
    match demand {
        Demand::Flow(flow) => negative || *flow < 0.0,
        Demand::Depression(_) => true,
        Demand::CorrectedFlow { .. } | Demand::Engine(_) => false,
    }
}

/// Refuses sides that cannot meet in one joint.
pub(super) fn check_sides(sides: &[Side; 2], names: &[String; 2]) -> Result<(), (String, String)> {
    let given = |side: &Side| matches!(side, Side::Still { .. } | Side::Mouth { .. });
    let forced = |side: &Side| matches!(side, Side::Draw { .. } | Side::Inflow { .. } | Side::Wall);
    let pair = format!("`{}` joined to `{}`", names[0], names[1]);
    if let [Side::Volume { volume: one, .. }, Side::Volume { volume: other, .. }] = sides
        && one == other
    {
        return Err((format!("{pair}, which is the same air"), "another volume, a duct or a draw".into()));
    }
    if given(&sides[0]) && given(&sides[1]) {
        return Err((format!("{pair}, two openings to air of given pressure"), "a duct or plenum between them".into()));
    }
    if forced(&sides[0]) && forced(&sides[1]) {
        return Err((pair, "a duct or plenum between them".into()));
    }
    if forced(&sides[0]) && given(&sides[1]) || given(&sides[0]) && forced(&sides[1]) {
        return Err((pair, "a duct or plenum between them".into()));
    }
    Ok(())
}
