//! From a blueprint to a network: who joins whom, which losses the case did not name, and what does not fit.

mod jets;
mod lines;
mod series;
mod sides;
mod thermal;
mod vents;

use super::Meter;
use super::Network;
use super::blueprint::Blueprint;
use super::branches::PlainLink;
use super::drive::Drive;
use super::joints::{JointKind, NamedLoss, NetworkJoint, Place};
use super::layout::Layout;
use super::mesh;
use super::volume::Volume;
use crate::error::{CaseError, Location, Problem};
use crate::flow::{Arena, DuctId, DuctMesh, End};
use crate::joint::side::Side;
use crate::joint::wye::{MOST_LEGS, WyeJoint};
use crate::loss::published;
use crate::loss::wye::Wye as WyeLaw;
use crate::loss::{Basis, Loss};
use crate::part::{BayAir, Demand, Part, Vent};
use crate::quantity::quote;
use std::collections::BTreeMap;

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
    /// The vent among them.
    vent: Option<Vent>,
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
    fittings: Vec<mesh::Fittings>,
    volumes: Vec<Volume>,
    vents: BTreeMap<String, Vent>,
    origins: Vec<String>,
    jets: Vec<(String, usize, String, f64)>,
    part_order: Vec<String>,
    radiations: usize,
}

impl Builder {
    fn new(blueprint: Blueprint) -> Self {
        Self {
            blueprint,
            problems: Vec::new(),
            defaults: Vec::new(),
            ducts: Vec::new(),
            meshes: Vec::new(),
            fittings: Vec::new(),
            volumes: Vec::new(),
            vents: BTreeMap::new(),
            origins: vec!["initial air".to_owned()],
            jets: Vec::new(),
            part_order: Vec::new(),
            radiations: 0,
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

    fn collect_bodies(&mut self) {
        self.part_order = self.blueprint.parts.iter().map(|part| part.0.clone()).collect();
        let gas = self.blueprint.gas;
        let mut found = Vec::new();
        for (name, location, part) in &self.blueprint.parts {
            match part {
                Part::Duct(duct) => match mesh::mesh(name, duct, self.blueprint.cell, &gas, &self.blueprint.deviations)
                {
                    Ok((mesh, fittings)) => {
                        self.ducts.push(name.clone());
                        self.meshes.push(mesh);
                        self.fittings.push(fittings);
                    }
                    Err(what) => found.push((location.clone(), name.clone(), what)),
                },
                Part::Plenum(plenum) => {
                    self.volumes.push(Volume {
                        name: name.clone(),
                        size: plenum.volume,
                        wall: plenum.wall_temperature.map(|temperature| (temperature, plenum.film * plenum.surface)),
                        open_area: 0.0,
                        open_admittance: 0.0,
                    });
                    for jet in &plenum.carry_over {
                        self.jets.push((jet.from.clone(), self.volumes.len() - 1, jet.into.clone(), jet.share));
                    }
                }
                Part::Bay(bay) => {
                    if let BayAir::Stored(stored) = &bay.air {
                        let (name, size) = (name.clone(), stored.volume);
                        self.volumes.push(Volume { name, size, wall: None, open_area: 0.0, open_admittance: 0.0 });
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
                Part::Vent(vent) => {
                    losses.insert(name.clone(), (location, vents::opening(&vent, vent.area)));
                    self.vents.insert(name, vent);
                }
                other => self.blueprint.parts.push((name, location, other)),
            }
        }
        losses
    }

    fn assemble(mut self, links: Vec<Link>) -> Result<Network, CaseError> {
        let mut plain = Vec::new();
        let mut legs: BTreeMap<String, Vec<(usize, usize, String)>> = BTreeMap::new();
        let mut joints = Vec::new();
        for link in self.place_vents(links) {
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
        let jets = self.connect_jets(&mut joints);
        if !self.problems.is_empty() {
            return self.fail();
        }
        self.finish(joints, &plain, jets)
    }

    fn wye(&mut self, name: &str, ends: &[(usize, usize, String)]) -> NetworkJoint {
        let angles: Vec<f64> = match self.part(name) {
            Some(Part::Wye(wye)) => wye.legs.iter().map(|leg| leg.1).collect(),
            _ => Vec::new(),
        };
        let law = WyeLaw::new(&angles, self.blueprint.deviations.factor(&published::WYE));
        NetworkJoint {
            parts: ends.iter().map(|leg| leg.2.clone()).collect(),
            losses: vec![NamedLoss {
                part: name.to_owned(),
                what: "wye".into(),
                basis: Basis::Handbook(WYE_SOURCE.into()).times(self.blueprint.deviations.known(published::WYE.law)),
            }],
            kind: JointKind::Wye(WyeJoint { ends: ends.iter().map(|leg| leg.1).collect(), law }),
            origins: [None, None],
            jet: None,
            place: Place::Unknown(0),
        }
    }

    /// The air meters, each at the face that is nearest to its place.
    fn meters(&self) -> Vec<Meter> {
        let of_duct = |(number, name): (usize, &String)| match self.part(name) {
            Some(Part::Duct(duct)) => duct.air_meter.as_deref().map(|law| {
                let mesh = &self.meshes[number];
                let face = ((law.at / mesh.cell_length).round() as usize).min(mesh.face_area.len() - 1);
                Meter { duct: DuctId(number), face, law: *law }
            }),
            _ => None,
        };
        self.ducts.iter().enumerate().filter_map(of_duct).collect()
    }

    /// Refuses an engine with a turbo that no draw feeds.
    fn check_turbos(&mut self, joints: &[NetworkJoint]) {
        let Some(powertrain) = &self.blueprint.powertrain else { return };
        let fed = |turbo: usize| {
            let drives = |side: &Side| matches!(side, Side::Draw { demand: Demand::Engine(own), .. } if *own == turbo);
            joints
                .iter()
                .any(|joint| matches!(&joint.kind, JointKind::Series(series) if series.sides.iter().any(drives)))
        };
        let turbos = powertrain.turbos.iter().enumerate().filter(|(turbo, _)| !fed(*turbo));
        let unfed: Vec<String> = turbos.map(|(_, turbo)| turbo.draw.clone()).collect();
        for draw in unfed {
            let found = format!("{}, which is no draw with `engine: yes` in a flow line", quote(&draw));
            self.problem(&Location::default(), "engine.turbos", &found, "draws such as `{kind: draw, engine: yes}`");
        }
    }

    fn finish(
        mut self,
        mut joints: Vec<NetworkJoint>,
        plain: &[(usize, End, usize, End)],
        jets: usize,
    ) -> Result<Network, CaseError> {
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
        let thermal = self.thermal(&joints);
        self.check_turbos(&joints);
        if !self.problems.is_empty() {
            return self.fail();
        }
        let meters = self.meters();
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
        let drive = self.blueprint.powertrain.take().map(|powertrain| Drive::new(powertrain, &joints));
        let layout = Layout {
            cells: arena.len(),
            origins: self.origins.len(),
            volumes: self.volumes.len(),
            inertances,
            radiations: self.radiations,
            nodes: thermal.nodes.len(),
            powertrain: drive.as_ref().map_or(0, |drive| drive.powertrain.states()),
            unknowns,
            jets,
        };
        Ok(Network {
            gas: self.blueprint.gas,
            stream: self.blueprint.stream,
            outside: self.blueprint.outside,
            arena,
            ducts: self.ducts,
            cell_volumes,
            fittings: self.fittings,
            links,
            volumes: self.volumes,
            joints,
            origins: self.origins,
            meters,
            thermal,
            drive,
            layout,
            defaults: std::mem::take(&mut self.defaults),
            part_order: self.part_order,
        })
    }
}
