//! Walls, shields, hot parts and bays as thermal nodes with what passes between them.

use super::Builder;
use crate::error::Location;
use crate::heat::{self, Enclosure, EnclosureFault, Layer, Layers, Material, View};
use crate::joint::side::Side;
use crate::network::joints::{JointKind, NetworkJoint};
use crate::network::thermal::{Air, AirFilm, Radiating, StoredBay, Surface, Temperature, Thermal, ThermalNode};
use crate::part::{BayAir, Clad, Part, Stand, Warms};
use std::collections::BTreeMap;

/// Emissivity of what surrounds the parts of a bay of given temperature, and its area over theirs.
const SURROUNDINGS: (f64, f64) = (0.9, 10.0);

/// A face that radiates into a bay.
struct Face {
    part: String,
    bay: String,
    temperature: Temperature,
    area: f64,
    emissivity: f64,
    sees: Vec<(String, f64)>,
}

/// What is gathered on the way.
#[derive(Default)]
struct Gathered {
    thermal: Thermal,
    faces: Vec<Face>,
    /// Outermost node of each part.
    outer: BTreeMap<String, usize>,
    touches: Vec<(String, String, f64)>,
}

impl Builder {
    /// All that is thermal, with what does not fit noted.
    pub(super) fn thermal(&mut self, joints: &[NetworkJoint]) -> Thermal {
        let mut gathered = Gathered::default();
        gathered.thermal.ducts = vec![None; self.ducts.len()];
        gathered.thermal.volumes = vec![None; self.volumes.len()];
        self.gather_bays(&mut gathered);
        self.gather_parts(&mut gathered);
        self.gather_radiators(joints, &mut gathered);
        self.connect_touching(&mut gathered);
        self.connect_radiation(&mut gathered);
        gathered.thermal
    }

    fn gather_bays(&mut self, gathered: &mut Gathered) {
        let outside =
            Air::Outside { temperature: self.blueprint.outside.temperature, speed: self.blueprint.stream.speed };
        for (name, _, part) in &self.blueprint.parts {
            let Part::Bay(bay) = part else { continue };
            let BayAir::Stored(stored) = &bay.air else { continue };
            let Some(volume) = self.volumes.iter().position(|volume| volume.name == *name) else { continue };
            let number = gathered.thermal.bays.len();
            gathered.thermal.bays.push(StoredBay { volume, flow_area: stored.flow_area });
            let node = gathered.thermal.nodes.len();
            gathered.thermal.nodes.push(ThermalNode {
                part: name.clone(),
                what: "skin".to_owned(),
                capacity: stored.skin.capacity() * stored.skin_area,
                material: stored.skin_material,
                start: self.blueprint.outside.temperature,
                is_source: false,
                drive: None,
            });
            let length = stored.skin_area.sqrt();
            let surface = |exposure| Surface::Node { node, before: 0.0, area: stored.skin_area, length, exposure };
            let beyond = || crate::network::OUTSIDE.to_owned();
            let film =
                |air, exposure| AirFilm { part: name.clone(), beyond: beyond(), surface: surface(exposure), air };
            gathered.thermal.films.push(film(Air::Bay(number), 1.0));
            gathered.thermal.films.push(film(outside, 1.0));
        }
    }

    fn gather_parts(&mut self, gathered: &mut Gathered) {
        let parts = std::mem::take(&mut self.blueprint.parts);
        for (name, location, part) in &parts {
            match part {
                Part::Duct(duct) => {
                    if let (Some(clad), Some(index)) = (&duct.clad, self.ducts.iter().position(|duct| duct == name)) {
                        let area = self.surface_of(index);
                        gathered.thermal.ducts[index] =
                            Some(self.add_clad(&parts, name, location, clad, area, gathered));
                    }
                }
                Part::Plenum(plenum) => {
                    let index = self.volumes.iter().position(|volume| volume.name == *name);
                    if let (Some(clad), Some(index)) = (&plenum.clad, index) {
                        let node = self.add_clad(&parts, name, location, clad, plenum.surface, gathered);
                        gathered.thermal.volumes[index] = Some((node, plenum.film * plenum.surface));
                    }
                }
                Part::HotPart(hot) => {
                    let node = self.add_node(name, "", hot.capacity, hot.material, &hot.stand, gathered);
                    gathered.thermal.nodes[node].is_source = true;
                    gathered.thermal.nodes[node].drive = hot.drive;
                    self.add_face(&parts, location, name, (node, 0.0), hot.area, &hot.stand, gathered);
                    for (other, conductance) in &hot.touches {
                        gathered.touches.push((name.clone(), other.clone(), *conductance));
                    }
                }
                Part::Shield(shield) => {
                    let capacity = shield.sheet.capacity() * shield.area;
                    let node = self.add_node(name, "", capacity, shield.material, &shield.front, gathered);
                    self.add_face(&parts, location, name, (node, 0.0), shield.area, &shield.front, gathered);
                    let back = Stand {
                        emissivity: shield.back_emissivity,
                        sees: shield.back_sees.clone(),
                        ..shield.front.clone()
                    };
                    self.add_face(&parts, location, name, (node, 0.0), shield.area, &back, gathered);
                }
                _ => {}
            }
        }
        self.blueprint.parts = parts;
    }

    /// Inner surface of a duct [m^2].
    fn surface_of(&self, duct: usize) -> f64 {
        let mesh = &self.meshes[duct];
        mesh.volume.iter().zip(&mesh.hydraulic_diameter).map(|(volume, diameter)| 4.0 * volume / diameter).sum()
    }

    /// Adds the layers of a wall; answers with the innermost node.
    fn add_clad(
        &mut self,
        parts: &[(String, Location, Part)],
        name: &str,
        location: &Location,
        clad: &Clad,
        area: f64,
        gathered: &mut Gathered,
    ) -> usize {
        let first = gathered.thermal.nodes.len();
        let layers: Vec<Layer> = clad.layers.iter().map(|layer| layer.1).collect();
        let wall = match Layers::new(&layers) {
            Ok(wall) => wall,
            Err(fault) => {
                self.problem(location, &format!("parts.{name}.wall"), &fault.to_string(), "layers that make a wall");
                return first;
            }
        };
        for (number, ((material, _), capacity)) in clad.layers.iter().zip(wall.capacities()).enumerate() {
            let what = if layers.len() > 1 { format!("layer {}", number + 1) } else { String::new() };
            let node = self.add_node(name, &what, capacity * area, material, &clad.stand, gathered);
            if number > 0 {
                gathered.thermal.contacts.push((node - 1, node, area / wall.resistances()[number]));
            }
        }
        let last = gathered.thermal.nodes.len() - 1;
        let outer = wall.resistances()[layers.len()];
        self.add_face(parts, location, name, (last, outer), area, &clad.stand, gathered);
        first
    }

    fn add_node(
        &self,
        name: &str,
        what: &str,
        capacity: f64,
        material: &'static Material,
        stand: &Stand,
        gathered: &mut Gathered,
    ) -> usize {
        let node = gathered.thermal.nodes.len();
        gathered.thermal.nodes.push(ThermalNode {
            part: name.to_owned(),
            what: what.to_owned(),
            capacity,
            material,
            start: stand.start.unwrap_or(self.blueprint.outside.temperature),
            is_source: false,
            drive: None,
        });
        gathered.outer.insert(name.to_owned(), node);
        node
    }

    /// A face towards its bay, a node with the resistance of what lies before it [m^2 K/W]: a film, and radiation.
    #[expect(clippy::too_many_arguments, reason = "a face is all of this")]
    fn add_face(
        &mut self,
        parts: &[(String, Location, Part)],
        location: &Location,
        name: &str,
        (node, before): (usize, f64),
        area: f64,
        stand: &Stand,
        gathered: &mut Gathered,
    ) {
        let bay = parts.iter().find(|part| part.0 == stand.bay).map(|part| &part.2);
        let air = match bay {
            Some(Part::Bay(bay)) => match &bay.air {
                BayAir::Given(temperature) => Air::Given { temperature: *temperature, speed: 0.0 },
                BayAir::Stored(_) => {
                    let volumes = &self.volumes;
                    let number = gathered.thermal.bays.iter().position(|bay| volumes[bay.volume].name == stand.bay);
                    Air::Bay(number.unwrap_or(0))
                }
            },
            _ => {
                let known = parts.iter().filter(|part| matches!(part.2, Part::Bay(_))).map(|part| part.0.as_str());
                let nearest = crate::suggest::nearest(&stand.bay, known);
                self.problem(location, &format!("parts.{name}.in"), &format!("`{}`", stand.bay), "the name of a bay");
                if let Some(problem) = self.problems.last_mut() {
                    problem.nearest = nearest;
                }
                return;
            }
        };
        let surface = Surface::Node { node, before, area, length: area.sqrt(), exposure: stand.exposure };
        gathered.thermal.films.push(AirFilm { part: name.to_owned(), beyond: stand.bay.clone(), surface, air });
        gathered.faces.push(Face {
            part: name.to_owned(),
            bay: stand.bay.clone(),
            temperature: Temperature::Node(node),
            area,
            emissivity: stand.emissivity,
            sees: stand.sees.clone(),
        });
    }

    /// Cores that go on warming their bay where no air goes through them.
    fn gather_radiators(&mut self, joints: &[NetworkJoint], gathered: &mut Gathered) {
        for (name, _, part) in &self.blueprint.parts {
            let Part::Radiator(radiator) = part else { continue };
            let Warms::Core { temperature, .. } = radiator.warms else { continue };
            let bay = joints.iter().filter(|joint| joint.parts.contains(name)).find_map(|joint| match &joint.kind {
                JointKind::Series(series) => series.sides.iter().find_map(|side| match side {
                    Side::Volume { volume, .. } => gathered.thermal.bays.iter().position(|bay| bay.volume == *volume),
                    _ => None,
                }),
                JointKind::Wye(_) => None,
            });
            if let (Some(bay), true) = (bay, radiator.still_conductance > 0.0) {
                let surface = Surface::Given { temperature, conductance: radiator.still_conductance };
                gathered.thermal.films.push(AirFilm {
                    part: name.clone(),
                    beyond: name.clone(),
                    surface,
                    air: Air::Bay(bay),
                });
            }
        }
    }

    fn connect_touching(&mut self, gathered: &mut Gathered) {
        for (name, other, conductance) in &std::mem::take(&mut gathered.touches) {
            match (gathered.outer.get(name), gathered.outer.get(other)) {
                (Some(one), Some(two)) => gathered.thermal.contacts.push((*one, *two, *conductance)),
                _ => {
                    let location = self.location(name);
                    let found = format!("`{other}`");
                    self.problem(&location, &format!("parts.{name}.touches"), &found, "a part with a wall in a bay");
                }
            }
        }
    }

    /// One enclosure a bay: its faces, and last what closes it.
    fn connect_radiation(&mut self, gathered: &mut Gathered) {
        let mut bays: Vec<String> = Vec::new();
        for face in &gathered.faces {
            if !bays.contains(&face.bay) {
                bays.push(face.bay.clone());
            }
        }
        for bay in bays {
            let mut faces: Vec<&Face> = gathered.faces.iter().filter(|face| face.bay == bay).collect();
            let skin = self.skin_of(&bay, &faces, gathered);
            faces.push(&skin);
            let mut views = Vec::new();
            for (number, face) in faces.iter().enumerate() {
                for (seen, share) in &face.sees {
                    match faces.iter().position(|other| other.part == *seen) {
                        Some(other) => views.push(View { from: number, to: other, factor: *share }),
                        None => {
                            let location = self.location(&face.part);
                            let found = format!("`{seen}`");
                            let path = format!("parts.{}.sees", face.part);
                            self.problem(&location, &path, &found, &format!("a part in `{bay}`"));
                        }
                    }
                }
            }
            let surfaces: Vec<heat::Surface> =
                faces.iter().map(|face| heat::Surface { area: face.area, emissivity: face.emissivity }).collect();
            match Enclosure::new(&surfaces, &views) {
                Ok(enclosure) => gathered.thermal.radiating.push(Radiating {
                    bay: bay.clone(),
                    surfaces: faces.iter().map(|face| face.temperature).collect(),
                    enclosure,
                }),
                Err(fault) => {
                    let names: Vec<&str> = faces.iter().map(|face| face.part.as_str()).collect();
                    let (part, found) = explain(&fault, &names);
                    let location = self.location(&part);
                    self.problem(&location, &format!("parts.{part}"), &found, "surfaces that see each other wholly");
                }
            }
        }
    }

    /// What closes the enclosure of `bay`.
    fn skin_of(&self, bay: &str, faces: &[&Face], gathered: &Gathered) -> Face {
        let node = gathered.thermal.nodes.iter().position(|node| node.part == bay && node.what == "skin");
        let own = (bay.to_owned(), bay.to_owned());
        match (self.part(bay), node) {
            (Some(Part::Bay(part)), Some(node)) if matches!(part.air, BayAir::Stored(_)) => {
                let area = match &part.air {
                    BayAir::Stored(stored) => stored.skin_area,
                    BayAir::Given(_) => 0.0,
                };
                let emissivity = gathered.thermal.nodes[node].material.emissivity;
                Face {
                    part: own.0,
                    bay: own.1,
                    temperature: Temperature::Node(node),
                    area,
                    emissivity,
                    sees: Vec::new(),
                }
            }
            (part, _) => {
                let temperature = match part {
                    Some(Part::Bay(bay)) => match bay.air {
                        BayAir::Given(temperature) => temperature,
                        BayAir::Stored(_) => self.blueprint.outside.temperature,
                    },
                    _ => self.blueprint.outside.temperature,
                };
                let area = SURROUNDINGS.1 * faces.iter().map(|face| face.area).sum::<f64>();
                Face {
                    part: own.0,
                    bay: own.1,
                    temperature: Temperature::Given(temperature),
                    area,
                    emissivity: SURROUNDINGS.0,
                    sees: Vec::new(),
                }
            }
        }
    }
}

/// The part at fault, and what is wrong with what its faces see.
fn explain(fault: &EnclosureFault, names: &[&str]) -> (String, String) {
    let named = |surface: &usize| names[*surface].to_owned();
    match fault {
        EnclosureFault::SeesTooMuch { surface, sum } => {
            (named(surface), format!("views that sum to {sum:.4}, with those of other parts turned round"))
        }
        EnclosureFault::Contradiction { from, to, factor, expected } => (
            named(from),
            format!("a view of `{}` of {factor:.4} where the one given from there makes {expected:.4}", names[*to]),
        ),
        EnclosureFault::SkinTooSmall { area, least } => (
            names[names.len() - 1].to_owned(),
            format!("a skin of {area:.4} m2 around faces that need at least {least:.4} m2"),
        ),
        other => (names[names.len() - 1].to_owned(), other.to_string()),
    }
}
