//! A joint of two sides: its losses in order, with those that its ducts bring along.

use super::sides::check_sides;
use super::{Body, Builder, Default, Link};
use crate::flow::End;
use crate::joint::series::SeriesJoint;
use crate::joint::side::Side;
use crate::loss::area_change::AreaChange;
use crate::loss::entry::{Edge, Entry as EntryLoss};
use crate::loss::{Direction, Loss, Place as LossPlace};
use crate::network::blueprint::OUTSIDE;
use crate::network::joints::{JointKind, NamedLoss, NetworkJoint, Place};
use crate::part::{Demand, Part};

/// Relative difference of area below which two ducts are one passage.
const EQUAL_AREA: f64 = 1e-6;
/// Relative difference of area below which a mouth and its duct are one passage.
const FITTING_AREA: f64 = 0.02;
/// End correction of an opening between two volumes, over its radius, on each side, flanged (Rayleigh, Theory of Sound, section 307,
/// improved by King 1936).
const END_CORRECTION: f64 = 0.8217;

impl Builder {
    pub(super) fn end_area(&self, duct: usize, end: End) -> f64 {
        let faces = &self.meshes[duct].face_area;
        if end == End::First { faces[0] } else { faces[faces.len() - 1] }
    }

    pub(super) fn same_area(&self, a: usize, a_end: End, b: usize, b_end: End) -> bool {
        let (first, second) = (self.end_area(a, a_end), self.end_area(b, b_end));
        (first - second).abs() <= EQUAL_AREA * first
    }

    pub(super) fn series(&mut self, link: Link) -> Option<NetworkJoint> {
        let Link { bodies, names, losses, vent, location } = link;
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
        let exits = [0, 1].map(|k| if spends_its_jet(k, &laws) { Some(f64::INFINITY) } else { openings[k] });
        self.add_edges(&bodies, areas, spans, &mut laws, &mut named);
        self.add_lips(&bodies, &mut laws, &mut named);
        let laws: Vec<Box<dyn Loss>> = laws.into_iter().map(|law| self.blueprint.deviations.moved(law)).collect();
        named.iter_mut().zip(&laws).for_each(|(loss, law)| loss.basis = law.basis());
        let mut origins = [None, None];
        let mut sides = Vec::new();
        for k in 0..2 {
            let label = named.iter().map(|loss| loss.part.clone()).next();
            let still = matches!(bodies[k], Body::Volume(_)) || self.is_still(&bodies[k]);
            let opening = if still { exits[k] } else { openings[k] };
            let side = self.side(&bodies[k], opening, &bodies[1 - k], &label, &mut origins[k]);
            match side {
                Ok(side) => sides.push(side),
                Err((found, expected)) => {
                    self.problem(&location, "flow", &found, &expected);
                    return None;
                }
            }
        }
        if let Some(vent) = vent {
            self.raise(&mut sides, &bodies, &vent);
        }
        let second = sides.pop()?;
        let sides = [sides.pop()?, second];
        if let Err((found, expected)) = check_sides(&sides, &names) {
            self.problem(&location, "flow", &found, &expected);
            return None;
        }
        let bounded = !sides.iter().all(holds_its_pressure);
        let opening = openings.iter().flatten().fold(smallest, |least, area| least.min(*area));
        let corrected = sides.iter().filter(|side| !radiates_by_itself(side, opening)).count();
        let ends = corrected as f64 * END_CORRECTION * (opening / std::f64::consts::PI).sqrt();
        let inertance = (!bounded).then(|| (length + ends) / opening);
        for side in &sides {
            if let Side::Volume { volume, .. } = side {
                // What is fed in does not answer to the volume's pressure.
                self.volumes[*volume].open_area += if opening.is_finite() { opening } else { 0.0 };
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
    pub(super) fn passage(&self, body: &Body) -> Option<f64> {
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
    pub(super) fn add_edges(
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
            let loss = NamedLoss { part, what: "step".into(), basis: law.basis() };
            // Losses between the two stand in the narrower one, whichever way the line is read.
            let at = if before > after { 0 } else { laws.len() };
            named.insert(at, loss);
            laws.insert(at, Box::new(law));
        }
        for k in 0..2 {
            let Body::Duct(duct, end) = &bodies[k] else { continue };
            let still = matches!(&bodies[1 - k], Body::Volume(_))
                || self.is_still(&bodies[1 - k])
                || self.opens_from_filter(k, laws, bodies);
            if !still || spends_its_jet(k, laws) {
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

    /// Adds the lips of mouths that breathe from a volume; of any other mouth the lip is a matter of the stream before it.
    fn add_lips(&self, bodies: &[Body; 2], laws: &mut Vec<Box<dyn Loss>>, named: &mut Vec<NamedLoss>) {
        for (k, body) in bodies.iter().enumerate() {
            let Body::Terminal(name) = body else { continue };
            let Some(Part::Mouth(mouth)) = self.part(name) else { continue };
            if self.breathed(mouth).is_none() {
                continue;
            }
            let (at, enters) = [(0, Direction::Forward), (laws.len(), Direction::Reverse)][k];
            let law = EntryLoss::new(Edge::Lip(mouth.lip_radius), mouth.area, enters);
            named.insert(at, NamedLoss { part: name.clone(), what: "mouth".into(), basis: law.basis() });
            laws.insert(at, Box::new(law));
        }
    }

    /// Whether the duct on side `k` breathes out of the wide inside of a filter rather than out of another passage.
    pub(super) fn opens_from_filter(&self, k: usize, laws: &[Box<dyn Loss>], bodies: &[Body; 2]) -> bool {
        let Body::Duct(duct, end) = &bodies[k] else { return false };
        beside(k, laws).is_some_and(|law| law.spans_area_change() && law.area() > 1.5 * self.end_area(*duct, *end))
    }

    pub(super) fn step_tolerance(&self, bodies: &[Body; 2]) -> f64 {
        let mouth =
            |body: &Body| matches!(body, Body::Terminal(name) if matches!(self.part(name), Some(Part::Mouth(_))));
        if bodies.iter().any(mouth) { FITTING_AREA } else { EQUAL_AREA }
    }

    pub(super) fn step_owner(&self, bodies: &[Body; 2]) -> String {
        match (&bodies[1], &bodies[0]) {
            (Body::Duct(duct, _), _) | (_, Body::Duct(duct, _)) => self.ducts[*duct].clone(),
            (Body::Terminal(name), _) => name.clone(),
            _ => String::new(),
        }
    }

    pub(super) fn is_passage(&self, body: &Body) -> bool {
        match body {
            Body::Duct(..) => true,
            Body::Terminal(name) => matches!(self.part(name), Some(Part::Mouth(_) | Part::Draw(_))),
            _ => false,
        }
    }

    pub(super) fn is_still(&self, body: &Body) -> bool {
        matches!(body, Body::Terminal(name) if name == OUTSIDE || matches!(self.part(name), Some(Part::Bay(_))))
    }
}

/// Whether the `side` is a mouth whose radiation already holds the inertia of the air before this `opening` [m^2].
fn radiates_by_itself(side: &Side, opening: f64) -> bool {
    let area = match side {
        Side::Mouth { air, .. } => air.area(),
        Side::Volume { area, .. } => *area,
        _ => return false,
    };
    side.radiation().is_some() && area <= opening
}

/// The law that stands next to side `k`.
fn beside(k: usize, laws: &[Box<dyn Loss>]) -> Option<&dyn Loss> {
    if k == 0 { laws.first() } else { laws.last() }.map(AsRef::as_ref)
}

/// Whether what leaves the joint on side `k` comes out of a law that has spent its head already.
fn spends_its_jet(k: usize, laws: &[Box<dyn Loss>]) -> bool {
    beside(k, laws).is_some_and(Loss::spends_its_jet)
}

/// Whether a side keeps its pressure whatever flows at this instant. Between two of them only the inertia of the air in the opening bounds
/// how fast the flow changes.
fn holds_its_pressure(side: &Side) -> bool {
    match side {
        Side::Volume { .. } | Side::Still { .. } | Side::Mouth { .. } => true,
        Side::Draw { demand, .. } => matches!(demand, Demand::Depression(_)),
        Side::Duct { .. } | Side::Inflow { .. } | Side::Wall => false,
    }
}
