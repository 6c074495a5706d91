//! From a blueprint to a network: who joins whom, which losses the case did not name, and what does not fit.

use super::Network;
use super::blueprint::{Blueprint, Entry, OUTSIDE};
use super::branches::PlainLink;
use super::joints::{JointKind, NamedLoss, NetworkJoint, Place};
use super::layout::Layout;
use super::mesh;
use super::volume::Volume;
use crate::error::{CaseError, Location, Problem};
use crate::flow::{Arena, DuctId, DuctMesh, End};
use crate::joint::series::SeriesJoint;
use crate::joint::side::{Faced, Side};
use crate::joint::wye::{MOST_LEGS, WyeJoint};
use crate::loss::area_change::AreaChange;
use crate::loss::entry::Entry as EntryLoss;
use crate::loss::ram::{FreeStream, MouthAir};
use crate::loss::wye::Wye as WyeLaw;
use crate::loss::{Basis, Direction, Loss, Place as LossPlace};
use crate::part::{Course, Demand, Mouth, Part};
use std::collections::{BTreeMap, BTreeSet};

/// Relative difference of area below which two ducts are one passage.
const EQUAL_AREA: f64 = 1e-6;
/// Relative difference of area below which a mouth and its duct are one passage.
const FITTING_AREA: f64 = 0.02;
/// End correction of an opening between two volumes, over its radius, both sides flanged (PHYSICS: 0.8217 a each side; Levine and
/// Schwinger's flanged limit, Rayleigh, Theory of Sound, section 307).
const END_CORRECTION: f64 = 2.0 * 0.8217;

/// Where the law of a wye comes from.
const WYE_SOURCE: &str = "branches by Hager 1984 and Bassett et al. 2001, straight run by Idelchik chapter 7";

/// Something that the case left to the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Default {
    /// Part.
    pub part: String,
    /// What was chosen, in words.
    pub what: String,
}

/// What a flow line can lead to.
#[derive(Debug, Clone, PartialEq)]
enum Body {
    Duct(usize, End),
    Volume(usize),
    /// Part that ends a line: mouth, draw, inflow, wall, bay or the outside.
    Terminal(String),
    Leg(String, usize),
}

/// A joint as the lines describe it.
struct Link {
    bodies: [Body; 2],
    names: [String; 2],
    losses: Vec<(String, Box<dyn Loss>)>,
    location: Location,
}

impl Network {
    /// Builds the network of `blueprint`.
    ///
    /// # Errors
    /// All that does not fit: loose ends, parts joined that cannot be, names that are not parts.
    pub fn build(blueprint: Blueprint) -> Result<Self, CaseError> {
        Builder::new(blueprint).build()
    }
}

struct Builder {
    blueprint: Blueprint,
    problems: Vec<Problem>,
    defaults: Vec<Default>,
    ducts: Vec<String>,
    meshes: Vec<DuctMesh>,
    volumes: Vec<Volume>,
    origins: Vec<String>,
    jets: Vec<(String, usize, String, f64)>,
    part_order: Vec<String>,
}

impl Builder {
    fn new(blueprint: Blueprint) -> Self {
        Self {
            blueprint,
            problems: Vec::new(),
            defaults: Vec::new(),
            ducts: Vec::new(),
            meshes: Vec::new(),
            volumes: Vec::new(),
            origins: vec!["initial air".to_owned()],
            jets: Vec::new(),
            part_order: Vec::new(),
        }
    }

    fn build(mut self) -> Result<Network, CaseError> {
        self.collect_bodies();
        let mut losses = self.take_losses();
        let links = self.walk_lines(&mut losses);
        for (name, (location, _)) in losses {
            self.problem(&location, &name, "a loss that no flow line names", "each part in a flow line");
        }
        self.check_all_used(&links);
        if !self.problems.is_empty() {
            return self.fail();
        }
        self.assemble(links)
    }

    fn fail<T>(mut self) -> Result<T, CaseError> {
        self.problems.sort_by(|a, b| a.location.cmp(&b.location));
        Err(CaseError { problems: self.problems })
    }

    fn problem(&mut self, location: &Location, path: &str, found: &str, expected: &str) {
        self.problems.push(Problem {
            location: location.clone(),
            path: path.to_owned(),
            found: found.to_owned(),
            expected: expected.to_owned(),
            nearest: None,
        });
    }

    fn part(&self, name: &str) -> Option<&Part> {
        self.blueprint.parts.iter().find(|part| part.0 == name).map(|part| &part.2)
    }

    fn duct_basis(&self, name: &str) -> Option<Basis> {
        if let Some(Part::Duct(duct)) = self.part(name) { Some(duct.basis.clone()) } else { None }
    }

    fn collect_bodies(&mut self) {
        self.part_order = self.blueprint.parts.iter().map(|part| part.0.clone()).collect();
        let gas = self.blueprint.gas;
        let mut found = Vec::new();
        for (name, location, part) in &self.blueprint.parts {
            match part {
                Part::Duct(duct) => match mesh::mesh(name, duct, self.blueprint.cell, &gas) {
                    Ok(mesh) => {
                        self.ducts.push(name.clone());
                        self.meshes.push(mesh);
                    }
                    Err(what) => found.push((location.clone(), name.clone(), what)),
                },
                Part::Plenum(plenum) => {
                    self.volumes.push(Volume {
                        name: name.clone(),
                        size: plenum.volume,
                        wall: plenum.wall.map(|(temperature, film)| (temperature, film * plenum.surface)),
                        open_area: 0.0,
                        open_admittance: 0.0,
                    });
                    for jet in &plenum.carry_over {
                        self.jets.push((jet.from.clone(), self.volumes.len() - 1, jet.into.clone(), jet.share));
                    }
                }
                Part::Wye(wye) if wye.legs.len() > MOST_LEGS => {
                    found.push((location.clone(), name.clone(), format!("{} legs", wye.legs.len())));
                }
                _ => {}
            }
        }
        for (location, name, what) in found {
            self.problem(&location, &format!("parts.{name}"), &what, "a part that can be built");
        }
    }

    /// Takes the losses out of the blueprint: each can stand in one place only.
    fn take_losses(&mut self) -> BTreeMap<String, (Location, Box<dyn Loss>)> {
        let parts = std::mem::take(&mut self.blueprint.parts);
        let mut losses = BTreeMap::new();
        for (name, location, part) in parts {
            match part {
                Part::Loss(loss) => {
                    losses.insert(name, (location, loss));
                }
                other => self.blueprint.parts.push((name, location, other)),
            }
        }
        losses
    }

    fn walk_lines(&mut self, losses: &mut BTreeMap<String, (Location, Box<dyn Loss>)>) -> Vec<Link> {
        let lines = std::mem::take(&mut self.blueprint.lines);
        let mut links = Vec::new();
        let mut placed = BTreeSet::new();
        for line in &lines {
            let mut open: Option<(Body, String)> = None;
            let mut pending: Vec<(String, Box<dyn Loss>)> = Vec::new();
            for entry in line {
                if let Some((_, loss)) = losses.remove(&entry.name) {
                    if open.is_none() {
                        self.problem(
                            &entry.location,
                            "flow",
                            &format!("`{}` at the start of a line", entry.name),
                            "a mouth, volume, duct or `outside` before a loss",
                        );
                    }
                    placed.insert(entry.name.clone());
                    pending.push((entry.name.clone(), loss));
                    continue;
                }
                if placed.contains(&entry.name) {
                    self.problem(
                        &entry.location,
                        "flow",
                        &format!("the loss `{}` a second time", entry.name),
                        "each loss in one place; `like:` makes another",
                    );
                    continue;
                }
                let Some(arriving) = self.body(entry, End::First) else { continue };
                if let Some((body, name)) = open.take() {
                    links.push(Link {
                        bodies: [body, arriving],
                        names: [name, entry.name.clone()],
                        losses: std::mem::take(&mut pending),
                        location: entry.location.clone(),
                    });
                }
                open = self.body(entry, End::Last).map(|body| (body, entry.name.clone()));
            }
            if let (Some((last, _)), Some(entry)) = (pending.last(), line.last()) {
                let found = format!("`{last}` at the end of a line");
                self.problem(&entry.location, "flow", &found, "a volume, duct, draw or `outside` behind a loss");
            }
        }
        links
    }

    fn body(&mut self, entry: &Entry, end: End) -> Option<Body> {
        let arriving = end == End::First;
        if entry.name == OUTSIDE {
            return Some(Body::Terminal(OUTSIDE.to_owned()));
        }
        if let Some(duct) = self.ducts.iter().position(|name| *name == entry.name) {
            return Some(Body::Duct(duct, end));
        }
        if let Some(volume) = self.volumes.iter().position(|volume| volume.name == entry.name) {
            return Some(Body::Volume(volume));
        }
        match self.part(&entry.name) {
            Some(Part::Wye(wye)) => {
                let leg = entry.leg.as_ref().and_then(|leg| wye.legs.iter().position(|known| known.0 == *leg));
                if leg.is_none() && arriving {
                    let known: Vec<_> = wye.legs.iter().map(|leg| format!("{}.{}", entry.name, leg.0)).collect();
                    let found = format!("`{}`", display(entry));
                    self.problem(&entry.location, "flow", &found, &format!("one of its legs: {}", known.join(", ")));
                }
                leg.map(|leg| Body::Leg(entry.name.clone(), leg))
            }
            Some(Part::Duct(_)) => None,
            Some(_) => Some(Body::Terminal(entry.name.clone())),
            None => {
                if arriving {
                    let found = format!("`{}`", display(entry));
                    self.problem(&entry.location, "flow", &found, "the name of a part");
                    let names: Vec<&str> = self.blueprint.parts.iter().map(|part| part.0.as_str()).collect();
                    let nearest = crate::suggest::nearest(&entry.name, names.iter().copied());
                    if let Some(problem) = self.problems.last_mut() {
                        problem.nearest = nearest;
                    }
                }
                None
            }
        }
    }

    fn check_all_used(&mut self, links: &[Link]) {
        let mut uses: BTreeMap<String, usize> = BTreeMap::new();
        for body in links.iter().flat_map(|link| &link.bodies) {
            *uses.entry(self.describe(body)).or_default() += 1;
        }
        let mut wanted: Vec<(String, String, Location)> = Vec::new();
        for (name, location, part) in &self.blueprint.parts {
            let all: Vec<String> = match part {
                Part::Duct(_) => vec![format!("first end of `{name}`"), format!("last end of `{name}`")],
                Part::Wye(wye) => wye.legs.iter().map(|leg| format!("leg `{name}.{}`", leg.0)).collect(),
                Part::Plenum(_) | Part::Bay(_) | Part::Loss(_) => continue,
                _ => vec![format!("`{name}`")],
            };
            wanted.extend(all.into_iter().map(|what| (name.clone(), what, location.clone())));
        }
        for (name, what, location) in wanted {
            let count = uses.get(&what).copied().unwrap_or(0);
            if count != 1 {
                let found = if count == 0 {
                    format!("{what} joined to nothing")
                } else {
                    format!("{what} joined {count} times")
                };
                self.problem(&location, &format!("parts.{name}"), &found, "each end in exactly one flow line");
            }
        }
        let idle: Vec<_> = self
            .volumes
            .iter()
            .filter(|volume| !uses.contains_key(&format!("`{}`", volume.name)))
            .map(|volume| volume.name.clone())
            .collect();
        for name in idle {
            let location = self.location(&name);
            self.problem(
                &location,
                &format!("parts.{name}"),
                "a plenum that no flow line names",
                "air that goes through it",
            );
        }
    }

    fn location(&self, name: &str) -> Location {
        self.blueprint.parts.iter().find(|part| part.0 == name).map(|part| part.1.clone()).unwrap_or_default()
    }

    fn describe(&self, body: &Body) -> String {
        match body {
            Body::Duct(duct, End::First) => format!("first end of `{}`", self.ducts[*duct]),
            Body::Duct(duct, End::Last) => format!("last end of `{}`", self.ducts[*duct]),
            Body::Volume(volume) => format!("`{}`", self.volumes[*volume].name),
            Body::Terminal(name) => format!("`{name}`"),
            Body::Leg(name, leg) => match self.part(name) {
                Some(Part::Wye(wye)) => format!("leg `{name}.{}`", wye.legs[*leg].0),
                _ => format!("`{name}`"),
            },
        }
    }

    fn assemble(mut self, links: Vec<Link>) -> Result<Network, CaseError> {
        let mut plain = Vec::new();
        let mut legs: BTreeMap<String, Vec<(usize, usize, String)>> = BTreeMap::new();
        let mut joints = Vec::new();
        for link in links {
            match (&link.bodies[0], &link.bodies[1]) {
                (Body::Leg(wye, leg), Body::Duct(duct, end)) | (Body::Duct(duct, end), Body::Leg(wye, leg))
                    if link.losses.is_empty() =>
                {
                    let number = 2 * duct + usize::from(*end == End::Last);
                    legs.entry(wye.clone()).or_default().push((*leg, number, self.ducts[*duct].clone()));
                }
                (Body::Leg(..), _) | (_, Body::Leg(..)) => {
                    let found =
                        format!("{} joined to {}", self.describe(&link.bodies[0]), self.describe(&link.bodies[1]));
                    self.problem(&link.location, "flow", &found, "a duct at each leg of a wye, without a loss between");
                }
                (Body::Duct(a, a_end), Body::Duct(b, b_end))
                    if link.losses.is_empty() && self.same_area(*a, *a_end, *b, *b_end) =>
                {
                    plain.push((*a, *a_end, *b, *b_end));
                }
                _ => {
                    if let Some(joint) = self.series(link) {
                        joints.push(joint);
                    }
                }
            }
        }
        for (wye, mut ends) in legs {
            ends.sort_by_key(|leg| leg.0);
            joints.push(self.wye(&wye, &ends));
        }
        if !self.problems.is_empty() {
            return self.fail();
        }
        Ok(self.finish(joints, &plain))
    }

    fn end_area(&self, duct: usize, end: End) -> f64 {
        let faces = &self.meshes[duct].face_area;
        if end == End::First { faces[0] } else { faces[faces.len() - 1] }
    }

    fn same_area(&self, a: usize, a_end: End, b: usize, b_end: End) -> bool {
        let (first, second) = (self.end_area(a, a_end), self.end_area(b, b_end));
        (first - second).abs() <= EQUAL_AREA * first
    }

    fn series(&mut self, link: Link) -> Option<NetworkJoint> {
        let Link { bodies, names, losses, location } = link;
        let areas = [self.passage(&bodies[0]), self.passage(&bodies[1])];
        let mut laws: Vec<Box<dyn Loss>> = Vec::new();
        let mut named = Vec::new();
        let place = LossPlace { before: areas[0], after: areas[1] };
        let (mut spans, mut smallest, mut length) = (false, f64::INFINITY, 0.0);
        for (name, mut law) in losses {
            if let Err(missing) = law.place(place) {
                self.problem(&location, &format!("parts.{name}"), &missing, "a loss that can stand here");
                continue;
            }
            spans |= law.spans_area_change();
            smallest = smallest.min(law.area());
            length += law.thickness();
            named.push(NamedLoss { part: name, what: String::new(), basis: law.basis() });
            laws.push(law);
        }
        let openings = [
            areas[0].or(laws.first().map(|law| law.area())).or(areas[1]),
            areas[1].or(laws.last().map(|law| law.area())).or(areas[0]),
        ];
        self.add_edges(&bodies, areas, spans, &mut laws, &mut named);
        let mut origins = [None, None];
        let mut sides = Vec::new();
        for k in 0..2 {
            let label = named.iter().map(|loss| loss.part.clone()).next();
            let side = self.side(&bodies[k], openings[k], &bodies[1 - k], &label, &mut origins[k]);
            match side {
                Ok(side) => sides.push(side),
                Err((found, expected)) => {
                    self.problem(&location, "flow", &found, &expected);
                    return None;
                }
            }
        }
        let second = sides.pop()?;
        let sides = [sides.pop()?, second];
        if let Err((found, expected)) = check_sides(&sides, &names) {
            self.problem(&location, "flow", &found, &expected);
            return None;
        }
        let bounded =
            sides.iter().any(|side| !matches!(side, Side::Volume { .. } | Side::Still { .. } | Side::Mouth { .. }));
        let opening = openings.iter().flatten().fold(smallest, |least, area| least.min(*area));
        let inertance =
            (!bounded).then(|| (length + END_CORRECTION * (opening / std::f64::consts::PI).sqrt()) / opening);
        for side in &sides {
            if let Side::Volume { volume, .. } = side {
                self.volumes[*volume].open_area += opening;
                self.volumes[*volume].open_admittance += inertance.map_or(0.0, |inertance| 1.0 / inertance);
            }
        }
        Some(NetworkJoint {
            parts: names.to_vec(),
            kind: JointKind::Series(SeriesJoint { sides, losses: laws, inertance }),
            losses: named,
            origins,
            jet: None,
            place: if inertance.is_some() { Place::Inertance(0) } else { Place::Unknown(0) },
        })
    }

    /// Area of the passage that `body` offers; `None` where a volume or still air stands.
    fn passage(&self, body: &Body) -> Option<f64> {
        match body {
            Body::Duct(duct, end) => Some(self.end_area(*duct, *end)),
            Body::Terminal(name) => match self.part(name) {
                Some(Part::Mouth(mouth)) => Some(mouth.area),
                Some(Part::Draw(draw)) => draw.bore.map(|bore| std::f64::consts::FRAC_PI_4 * bore * bore),
                _ => None,
            },
            _ => None,
        }
    }

    /// Adds the losses that the ends of the ducts bring along: the edge of an inlet, the step between unequal passages.
    fn add_edges(
        &mut self,
        bodies: &[Body; 2],
        areas: [Option<f64>; 2],
        spans: bool,
        laws: &mut Vec<Box<dyn Loss>>,
        named: &mut Vec<NamedLoss>,
    ) {
        let passages = [self.is_passage(&bodies[0]), self.is_passage(&bodies[1])];
        if let (Some(before), Some(after)) = (areas[0], areas[1])
            && passages[0]
            && passages[1]
            && !spans
            && (before - after).abs() > self.step_tolerance(bodies) * before
        {
            let law = AreaChange::new(LossPlace { before: Some(before), after: Some(after) });
            let part = self.step_owner(bodies);
            let ratio = 100.0 * after / before;
            self.defaults
                .push(Default { part: part.clone(), what: format!("step to {ratio:.1} % of the area before it") });
            named.push(NamedLoss { part, what: "step".into(), basis: law.basis() });
            laws.push(Box::new(law));
        }
        for k in 0..2 {
            let Body::Duct(duct, end) = &bodies[k] else { continue };
            let still = matches!(&bodies[1 - k], Body::Volume(_))
                || self.is_still(&bodies[1 - k])
                || self.opens_from_filter(k, laws, bodies);
            if !still {
                continue;
            }
            let name = self.ducts[*duct].clone();
            let Some(Part::Duct(part)) = self.part(&name) else { continue };
            let edge = if *end == End::First { part.inlet } else { part.outlet };
            let law = EntryLoss::new(
                edge,
                self.end_area(*duct, *end),
                if k == 1 { Direction::Forward } else { Direction::Reverse },
            );
            let what = if *end == End::First { "inlet" } else { "outlet edge" };
            let loss = NamedLoss { part: name, what: what.into(), basis: law.basis() };
            if k == 0 {
                laws.insert(0, Box::new(law));
                named.insert(0, loss);
            } else {
                laws.push(Box::new(law));
                named.push(loss);
            }
        }
    }

    /// Whether the duct on side `k` breathes out of the wide inside of a filter rather than out of another passage.
    fn opens_from_filter(&self, k: usize, laws: &[Box<dyn Loss>], bodies: &[Body; 2]) -> bool {
        let beside = if k == 0 { laws.first() } else { laws.last() };
        let Body::Duct(duct, end) = &bodies[k] else { return false };
        beside.is_some_and(|law| law.spans_area_change() && law.area() > 1.5 * self.end_area(*duct, *end))
    }

    fn step_tolerance(&self, bodies: &[Body; 2]) -> f64 {
        let mouth =
            |body: &Body| matches!(body, Body::Terminal(name) if matches!(self.part(name), Some(Part::Mouth(_))));
        if bodies.iter().any(mouth) { FITTING_AREA } else { EQUAL_AREA }
    }

    fn step_owner(&self, bodies: &[Body; 2]) -> String {
        match (&bodies[1], &bodies[0]) {
            (Body::Duct(duct, _), _) | (_, Body::Duct(duct, _)) => self.ducts[*duct].clone(),
            (Body::Terminal(name), _) => name.clone(),
            _ => String::new(),
        }
    }

    fn is_passage(&self, body: &Body) -> bool {
        match body {
            Body::Duct(..) => true,
            Body::Terminal(name) => matches!(self.part(name), Some(Part::Mouth(_) | Part::Draw(_))),
            _ => false,
        }
    }

    fn is_still(&self, body: &Body) -> bool {
        matches!(body, Body::Terminal(name) if name == OUTSIDE || matches!(self.part(name), Some(Part::Bay(_))))
    }

    fn side(
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
                Ok(Side::Volume { volume: *volume, area: opening.ok_or_else(no_area)?, faced: Vec::new() })
            }
            Body::Leg(..) => Err((self.describe(body), "a duct".into())),
            Body::Terminal(name) if name == OUTSIDE => {
                let area = opening.ok_or_else(no_area)?;
                *origin = Some(self.origin(first_loss.as_deref().unwrap_or(OUTSIDE)));
                let outside = self.blueprint.outside;
                Ok(Side::Still { pressure: outside.pressure, temperature: outside.temperature, area })
            }
            Body::Terminal(name) => {
                let name = name.clone();
                self.terminal(&name, opening, no_area(), first_loss, origin)
            }
        }
    }

    fn terminal(
        &mut self,
        name: &str,
        opening: Option<f64>,
        no_area: (String, String),
        first_loss: &Option<String>,
        origin: &mut Option<usize>,
    ) -> Result<Side, (String, String)> {
        let outside = self.blueprint.outside;
        match self.part(name) {
            Some(Part::Bay(bay)) => {
                let pressure = outside.pressure + bay.pressure_coefficient * self.dynamic_pressure();
                let temperature = bay.temperature;
                *origin = Some(self.origin(first_loss.as_deref().unwrap_or(name)));
                Ok(Side::Still { pressure, temperature, area: opening.ok_or(no_area)? })
            }
            Some(Part::Mouth(mouth)) => {
                let (air, basis) = (self.mouth_air(name, mouth)?, mouth.basis.clone());
                *origin = Some(self.origin(name));
                Ok(Side::Mouth { air, basis })
            }
            Some(Part::Draw(draw)) => {
                let draw = draw.clone();
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
                Ok(Side::Inflow { flow: inflow.flow, temperature: inflow.temperature, course: inflow.course })
            }
            Some(Part::Wall) => Ok(Side::Wall),
            _ => Err((format!("`{name}`"), "a part that air can end in".into())),
        }
    }

    fn mouth_air(&self, name: &str, mouth: &Mouth) -> Result<MouthAir, (String, String)> {
        let (gas, outside, stream) = (&self.blueprint.gas, self.blueprint.outside, &self.blueprint.stream);
        let road = || FreeStream::road(gas, outside.pressure, outside.temperature, stream.speed);
        let air = match &mouth.from {
            Some(bay) => match self.part(bay) {
                Some(Part::Bay(bay)) => {
                    let pressure = outside.pressure + bay.pressure_coefficient * self.dynamic_pressure();
                    FreeStream::still(pressure, bay.temperature)
                }
                _ => return Err((format!("`from: {bay}` in `{name}`"), "`outside` or the name of a bay".into())),
            },
            None => match &stream.fan {
                None => road(),
                Some(fan) => match fan.reaches.iter().find(|reached| reached.0 == name) {
                    Some((_, coverage)) => FreeStream::fan(outside.pressure, outside.temperature, fan.speed, *coverage),
                    None => road(),
                },
            },
        };
        Ok(mouth.air(gas, &air))
    }

    fn dynamic_pressure(&self) -> f64 {
        let outside = self.blueprint.outside;
        let density = outside.pressure / (self.blueprint.gas.gas_constant * outside.temperature);
        0.5 * density * self.blueprint.stream.speed * self.blueprint.stream.speed
    }

    fn origin(&mut self, name: &str) -> usize {
        if let Some(found) = self.origins.iter().position(|origin| origin == name) {
            return found;
        }
        self.origins.push(name.to_owned());
        self.origins.len() - 1
    }

    fn wye(&mut self, name: &str, ends: &[(usize, usize, String)]) -> NetworkJoint {
        let angles: Vec<f64> = match self.part(name) {
            Some(Part::Wye(wye)) => wye.legs.iter().map(|leg| leg.1).collect(),
            _ => Vec::new(),
        };
        let law = WyeLaw::new(&angles);
        NetworkJoint {
            parts: ends.iter().map(|leg| leg.2.clone()).collect(),
            losses: vec![NamedLoss {
                part: name.to_owned(),
                what: "wye".into(),
                basis: Basis::Handbook(WYE_SOURCE.into()),
            }],
            kind: JointKind::Wye(WyeJoint { ends: ends.iter().map(|leg| leg.1).collect(), law }),
            origins: [None, None],
            jet: None,
            place: Place::Unknown(0),
        }
    }

    fn finish(mut self, mut joints: Vec<NetworkJoint>, plain: &[(usize, End, usize, End)]) -> Network {
        let jets = self.connect_jets(&mut joints);
        // Jets must be known before the outlets that they face are balanced.
        joints.sort_by_key(|joint| joint.jet.is_none());
        let (mut unknowns, mut inertances) = (0, 0);
        for joint in &mut joints {
            joint.place = match joint.place {
                Place::Inertance(_) => {
                    inertances += 1;
                    Place::Inertance(inertances - 1)
                }
                Place::Unknown(_) => Place::Unknown(unknowns),
            };
            unknowns += joint.unknowns();
        }
        let duct_bases = self.ducts.iter().filter_map(|name| self.duct_basis(name)).collect();
        let cell_volumes = self.meshes.iter().map(|mesh| mesh.volume.clone()).collect();
        let mut arena = Arena::new(self.meshes, self.blueprint.gas, self.origins.len(), self.blueprint.scheme);
        let mut links = Vec::new();
        for (a, a_end, b, b_end) in plain {
            let link = PlainLink { from: (DuctId(*a), *a_end), to: (DuctId(*b), *b_end) };
            // Equal areas were what made the link a plain one.
            if arena.link(link.from.0, link.from.1, link.to.0, link.to.1).is_ok() {
                links.push(link);
            }
        }
        let layout = Layout {
            cells: arena.len(),
            origins: self.origins.len(),
            volumes: self.volumes.len(),
            inertances,
            unknowns,
            jets,
        };
        Network {
            gas: self.blueprint.gas,
            stream: self.blueprint.stream,
            outside: self.blueprint.outside,
            arena,
            ducts: self.ducts,
            duct_bases,
            cell_volumes,
            links,
            volumes: self.volumes,
            joints,
            origins: self.origins,
            layout,
            defaults: std::mem::take(&mut self.defaults),
            part_order: self.part_order,
        }
    }

    /// Numbers the jets and tells each faced outlet of its own.
    fn connect_jets(&self, joints: &mut [NetworkJoint]) -> usize {
        let mut count = 0;
        for (from, volume, into, share) in &self.jets {
            let sender = joints.iter().position(|joint| touches(joint, *volume, from));
            let taker = joints.iter().position(|joint| touches(joint, *volume, into));
            let (Some(sender), Some(taker)) = (sender, taker) else { continue };
            let jet = match joints[sender].jet {
                Some((jet, _)) => jet,
                None => {
                    let JointKind::Series(series) = &joints[sender].kind else { continue };
                    let side = usize::from(is_volume(&series.sides[1], *volume));
                    joints[sender].jet = Some((count, side));
                    count += 1;
                    count - 1
                }
            };
            if let JointKind::Series(series) = &mut joints[taker].kind {
                for side in &mut series.sides {
                    if let Side::Volume { volume: own, faced, .. } = side
                        && *own == *volume
                    {
                        faced.push(Faced { jet, share: *share });
                    }
                }
            }
        }
        count
    }
}

fn display(entry: &Entry) -> String {
    match &entry.leg {
        Some(leg) => format!("{}.{leg}", entry.name),
        None => entry.name.clone(),
    }
}

fn is_volume(side: &Side, volume: usize) -> bool {
    matches!(side, Side::Volume { volume: own, .. } if *own == volume)
}

/// Whether `joint` connects `volume` to the part `name`, directly or by one of its losses.
fn touches(joint: &NetworkJoint, volume: usize, name: &str) -> bool {
    let JointKind::Series(series) = &joint.kind else { return false };
    series.sides.iter().any(|side| is_volume(side, volume))
        && (joint.parts.iter().any(|part| part == name) || joint.losses.iter().any(|loss| loss.part == name))
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
        Demand::CorrectedFlow { .. } => false,
    }
}

/// Refuses sides that cannot meet in one joint.
fn check_sides(sides: &[Side; 2], names: &[String; 2]) -> Result<(), (String, String)> {
    let given = |side: &Side| matches!(side, Side::Still { .. } | Side::Mouth { .. });
    let forced = |side: &Side| matches!(side, Side::Draw { .. } | Side::Inflow { .. } | Side::Wall);
    let pair = format!("`{}` joined to `{}`", names[0], names[1]);
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
