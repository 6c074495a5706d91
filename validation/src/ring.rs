//! A duct that closes on itself: two tubes, each of half the unit length, behind each other in a ring. Dimensionless.

use crate::case_text::{CaseText, GAS_CONSTANT, duct};
use crate::check::Failure;
use crate::oracle::mms::{self, Wall};
use crate::oracle::quadrature::gauss;
use tractwright::case::{Built, Case};
use tractwright::error::Error;
use tractwright::flow::{Arena, DuctMesh, WallTable};
use tractwright::gas::Gas;
use tractwright::march::{Acoustic, Forcing, Unobserved, Until};

/// Values of a cell: density, momentum and energy per volume.
pub type Conserved = [f64; 3];

/// How a ring is marched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scheme {
    /// Limiter of the slopes, in the words of the case file.
    pub limiter: &'static str,
    /// Riemann solver of the faces.
    pub riemann: &'static str,
    /// Predictor: `none` for two Runge-Kutta stages.
    pub predictor: &'static str,
    /// Courant number.
    pub courant: f64,
}

impl Scheme {
    /// The scheme of the table of orders: HLLC, two Runge-Kutta stages, Courant number 0.4.
    #[must_use]
    pub const fn plain(limiter: &'static str) -> Self {
        Self { limiter, riemann: "hllc", predictor: "none", courant: 0.4 }
    }

    /// Keys of `run`.
    #[must_use]
    pub fn keys(&self) -> String {
        let Self { limiter, riemann, predictor, courant } = self;
        format!("limiter: {limiter}, riemann: {riemann}, predictor: {predictor}, courant: {courant}")
    }
}

/// The cells of a ring at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// Cell means, around the ring.
    pub cells: Vec<Conserved>,
    /// Volumes of the cells.
    pub volumes: Vec<f64>,
}

impl Field {
    /// Means over `count` cells of what `content` holds per length, in a ring whose volume from 0 to x is `volume`.
    #[must_use]
    pub fn means(count: u32, volume: impl Fn(f64) -> f64, content: impl Fn(f64) -> Conserved) -> Self {
        let face = |index: u32| f64::from(index) / f64::from(count);
        let volumes: Vec<f64> = (0..count).map(|k| volume(face(k + 1)) - volume(face(k))).collect();
        let held = (0..count).map(|k| gauss(face(k), face(k + 1), &content));
        let cells = held.zip(&volumes).map(|(held, volume)| held.map(|value| value / volume)).collect();
        Self { cells, volumes }
    }

    /// The same in a straight ring of unit area.
    #[must_use]
    pub fn straight(count: u32, content: impl Fn(f64) -> Conserved) -> Self {
        Self::means(count, |x| x, content)
    }

    /// Mean absolute difference of density times area.
    #[must_use]
    pub fn mean_error(&self, exact: &Self) -> f64 {
        let pairs = self.cells.iter().zip(&exact.cells).zip(&exact.volumes);
        pairs.map(|((own, exact), volume)| (own[0] - exact[0]).abs() * volume).sum()
    }
}

/// A ring, ready to march.
#[derive(Debug)]
pub struct Ring {
    built: Built,
    count: u32,
    shape: Shape,
}

/// What a ring looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    /// Straight and smooth.
    Straight,
    /// That of the manufactured solution, with a wall or without.
    Manufactured(Option<Wall>),
}

impl Ring {
    /// Diameter of the straight ring.
    pub const DIAMETER: f64 = 0.1;

    /// A straight ring of `count` cells, an even number, as a case file describes it, with a constant Darcy friction factor.
    ///
    /// # Errors
    /// The solver refused the case.
    pub fn straight(count: u32, scheme: Scheme, friction_factor: f64) -> Result<Self, Failure> {
        let cell = 1.0 / f64::from(count);
        let tube = duct(0.5, &[(0.0, Self::DIAMETER)], friction_factor);
        let text = CaseText::new(1.0, 1.0 / GAS_CONSTANT)
            .part("near", &tube)
            .part("far", &tube)
            .line(&["near", "far", "near"])
            .run(format!("march: acoustic, until: 1 s, record_every: 1 s, cell: {cell} m, {}", scheme.keys()))
            .text();
        let case = Case::from_text("ring", &text).map_err(Error::from)?;
        let built = case.build(&case.points[0].name).map_err(Error::from)?;
        Ok(Self { built, count, shape: Shape::Straight })
    }

    /// The ring of the manufactured solution, with a wall or without.
    ///
    /// A case file has no area that runs like a sine and no wall that follows such laws, so the cells are laid anew.
    ///
    /// # Errors
    /// The solver refused the case.
    pub fn manufactured(count: u32, scheme: Scheme, wall: Option<Wall>) -> Result<Self, Failure> {
        let mut ring = Self { shape: Shape::Manufactured(wall), ..Self::straight(count, scheme, 0.0)? };
        let network = &mut ring.built.network;
        let mut gas = Gas::new(mms::GAMMA, 1.0);
        gas.fixed_viscosity = wall.map(|wall| wall.viscosity);
        let meshes = [0, count / 2].map(|first| half_ring(first, count, wall)).to_vec();
        network.cell_volumes = meshes.iter().map(|mesh| mesh.volume.clone()).collect();
        let mut arena = Arena::new(meshes, gas, network.arena.scalars(), network.arena.scheme());
        for link in &network.links {
            let linked = arena.link(link.from.0, link.from.1, link.to.0, link.to.1);
            linked.map_err(|mismatch| Failure::Missing(format!("closed ring: {mismatch}")))?;
        }
        (network.gas, network.arena) = (gas, arena);
        Ok(ring)
    }

    /// Marches from the cell means `start` to the time `until`; a ring of the manufactured solution gets its source.
    ///
    /// # Errors
    /// The physics stopped the run.
    pub fn march(&self, start: &Field, until: f64) -> Result<Field, Failure> {
        let Built { network, initial, settings, .. } = &self.built;
        let slots: Vec<usize> = network.arena.ducts().flat_map(|duct| network.arena.slots_of(duct)).collect();
        let (stride, mut y) = (network.arena.slots(), initial.clone());
        for (slot, cell) in slots.iter().zip(&start.cells) {
            // The fourth row is the share of the air that was there at the start: all of it.
            for (row, value) in cell.iter().chain(&cell[..1]).enumerate() {
                y[row * stride + slot] = *value;
            }
        }
        let mut settings = *settings;
        (settings.until, settings.record_every) = (Until::Time(until), until);
        let source;
        let mut march = Acoustic::new(network, y, settings);
        if let Shape::Manufactured(wall) = self.shape {
            source = Source { count: self.count, slots: &slots, stride, wall };
            march = march.forced_by(&source);
        }
        march.run(&mut Unobserved)?;
        let cell = |slot: &usize| [0, 1, 2].map(|row| march.y[row * stride + slot]);
        Ok(Field { cells: slots.iter().map(cell).collect(), volumes: start.volumes.clone() })
    }
}

/// Half the cells of the ring of the manufactured solution, from the cell `first` on.
fn half_ring(first: u32, count: u32, wall: Option<Wall>) -> DuctMesh {
    let face = |index: u32| f64::from(first + index) / f64::from(count);
    let cells = count / 2;
    let areas = (0..=cells).map(|index| mms::area(face(index))).collect();
    let mut mesh = DuctMesh::round("half", 0.5, areas);
    mesh.volume = (0..cells).map(|k| mms::volume(face(k + 1)) - mms::volume(face(k))).collect();
    mesh.wall = wall.map(|wall| WallTable::new(move |re| wall.friction(re), move |re| wall.nusselt(re)));
    mesh.wall_temperature = wall.map(|wall| wall.temperature);
    mesh
}

/// The source of the manufactured solution in the cells of a ring.
#[derive(Debug)]
struct Source<'a> {
    count: u32,
    slots: &'a [usize],
    stride: usize,
    wall: Option<Wall>,
}

impl Forcing for Source<'_> {
    fn rates(&self, time: f64, rates: &mut [f64]) {
        let means = Field::means(self.count, mms::volume, |x| mms::source(x, time, self.wall.as_ref()));
        for (slot, cell) in self.slots.iter().zip(&means.cells) {
            for (row, value) in cell.iter().chain(&cell[..1]).enumerate() {
                rates[row * self.stride + slot] = *value;
            }
        }
    }
}
