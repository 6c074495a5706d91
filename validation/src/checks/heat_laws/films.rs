//! Films on outer surfaces.

use crate::check::{Failure, Findings, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::oracle::convection;
use tractwright::gas::Gas;
use tractwright::heat::film::{Film, Shape};
use tractwright::heat::nusselt;

const FORMULA: Limit = Limit { value: 1e-8, why: "the same closed formula; the table has ten digits" };
const PROPERTIES: Limit =
    Limit { value: 0.01, why: "Sutherland's laws for viscosity and conductivity against an equation of state" };
const JOINED: Limit =
    Limit { value: 0.05, why: "the parabola between laminar and mixed flow, over the larger of both in its middle" };
const RANK: f64 = 0.7;

type Law = fn(f64, f64) -> f64;

/// A surface of the table: its name there, its shape, its laws by the solver and from the literature, and its name in rows.
struct Kind {
    word: &'static str,
    shape: Shape,
    law: Law,
    known: Law,
    name: &'static str,
}

const STILL: [Kind; 4] = [
    Kind {
        word: "upright_plate",
        shape: Shape::UprightPlate,
        law: nusselt::upright_plate,
        known: convection::upright_plate,
        name: "upright plate",
    },
    Kind {
        word: "level_cylinder",
        shape: Shape::Cylinder,
        law: nusselt::level_cylinder,
        known: convection::level_cylinder,
        name: "level cylinder",
    },
    Kind {
        word: "warm_face_up",
        shape: Shape::FacingUp,
        law: |rayleigh, _| nusselt::level_plate_free(rayleigh),
        known: |rayleigh, _| convection::warm_face_up(rayleigh),
        name: "warm face up",
    },
    Kind {
        word: "warm_face_down",
        shape: Shape::FacingDown,
        law: |rayleigh, _| nusselt::level_plate_held(rayleigh),
        known: |rayleigh, _| convection::warm_face_down(rayleigh),
        name: "warm face down",
    },
];

const STREAMING: [Kind; 3] = [
    Kind {
        word: "plate",
        shape: Shape::UprightPlate,
        law: nusselt::plate,
        known: convection::plate,
        name: "plate along the stream",
    },
    Kind {
        word: "tripped_plate",
        shape: Shape::RoughAirPlate,
        law: nusselt::tripped_plate,
        known: convection::tripped_plate,
        name: "tripped plate along the stream",
    },
    Kind {
        word: "cylinder",
        shape: Shape::Cylinder,
        law: nusselt::cylinder,
        known: convection::cylinder,
        name: "cylinder across the stream",
    },
];

impl Kind {
    /// Nusselt numbers with the table's own properties, and film coefficients with the solver's.
    fn rows(&self) -> Result<[Row; 2], Failure> {
        let gas = Gas::dry_air();
        let (mut numbers, mut films) = (Vec::new(), Vec::new());
        let mut table = data::rows(data::CONVECTION)?;
        table.retain(|row| row.text("surface") == Ok(self.word));
        for row in table {
            numbers.push(((self.law)(row.number("Ra_or_Re")?, row.number("Pr")?), row.number("Nu")?));
            let film = Film {
                gas: &gas,
                pressure: 101_325.0,
                surface: row.number("Ts_K")?,
                air: row.number("Ta_K")?,
                shape: self.shape,
                length: row.number("L_m")?,
            };
            let found = if row.text("V_m_s")?.is_empty() { film.natural() } else { film.forced(row.number("V_m_s")?) };
            films.push((found, row.number("h_W_m2K")?));
        }
        let name = self.name;
        Ok([
            Row::worst(format!("{name}, Nusselt number"), numbers, FORMULA),
            Row::worst(format!("{name}, own air [W/(m2 K)]"), films, PROPERTIES),
        ])
    }

    /// Adds the law, and what is known, over a range of powers of ten.
    fn draw(&self, figure: Figure, powers: [i32; 2]) -> Figure {
        let places = |each: i32| {
            (powers[0] * each..=powers[1] * each).map(move |step| 10.0_f64.powf(f64::from(step) / f64::from(each)))
        };
        figure
            .computed(self.name, places(5).map(|x| (x, (self.law)(x, RANK))))
            .reference(format!("{}, published", self.name), places(20).map(|x| (x, (self.known)(x, RANK))))
    }
}

fn rows(kinds: &[Kind]) -> Result<Vec<Row>, Failure> {
    let pairs = kinds.iter().map(Kind::rows).collect::<Result<Vec<_>, _>>()?;
    Ok(pairs.into_iter().flatten().collect())
}

pub(super) fn still() -> Result<Findings, Failure> {
    const STEP: Limit = Limit { value: 0.065, why: "McAdams's own jump at 1e7, which the larger of his powers spans" };
    let mut found = rows(&STILL)?;
    let scan = (4 * 50..=11 * 50).map(|step| 10.0_f64.powf(f64::from(step) / 50.0));
    let face_up = scan.map(|rayleigh| (nusselt::level_plate_free(rayleigh), convection::warm_face_up(rayleigh)));
    found.push(Row::worst("warm face up, Rayleigh numbers 1e4 to 1e11", face_up, STEP));
    let axes = Figure::new("Films in still air, Prandtl number 0.7", "Rayleigh number", "Nusselt number");
    let figure = STILL.iter().fold(axes.logarithmic(true, true), |figure, kind| kind.draw(figure, [0, 11]));
    Ok(Findings::from(found).with(figure))
}

/// The plate's law off and in the transition.
fn transition() -> [Row; 2] {
    let pair = |reynolds: f64| (nusselt::plate(reynolds, RANK), convection::plate(reynolds, RANK));
    let outside = [1e3, 1e4, 1e5, 3e5, 4.5e5, 5.5e5, 1e6, 5e6].map(pair);
    let inside = (45..=55).map(|step| pair(f64::from(step) * 1e4));
    [
        Row::worst("plate up to 4.5e5 and from 5.5e5, Nusselt number", outside, FORMULA),
        Row::worst("plate from 4.5e5 to 5.5e5, Nusselt number", inside, JOINED),
    ]
}

/// Still air and a stream together, from rest on.
fn together() -> (Vec<(f64, f64)>, Figure) {
    let gas = Gas::dry_air();
    let film =
        Film { gas: &gas, pressure: 101_325.0, surface: 353.15, air: 323.15, shape: Shape::UprightPlate, length: 0.3 };
    let (rayleigh, prandtl) = (film.rayleigh(), film.prandtl());
    let scale = film.natural() / nusselt::upright_plate(rayleigh, prandtl);
    let known = |speed: f64| {
        let natural = convection::upright_plate(rayleigh, prandtl);
        let forced = convection::plate(film.reynolds(speed), prandtl);
        scale * (natural.powi(3) + forced.powi(3)).cbrt()
    };
    let places = |count: i32| (0..=count).map(move |step| 4.0 * f64::from(step) / f64::from(count));
    let pairs = places(40).map(|speed| (film.coefficient(speed), known(speed))).collect();
    let title = "Film of an upright plate of 0.3 m, 30 K warmer than the air";
    let figure = Figure::new(title, "speed [m/s]", "film coefficient [W/(m2 K)]")
        .computed("computed", places(40).map(|speed| (speed, film.coefficient(speed))))
        .reference("cube root of the sum of cubes", places(200).map(|speed| (speed, known(speed))));
    (pairs, figure)
}

pub(super) fn streaming() -> Result<Findings, Failure> {
    let mut found = rows(&STREAMING)?;
    found.extend(transition());
    let (pairs, mixed) = together();
    found.push(Row::worst("still air and stream together [W/(m2 K)]", pairs, FORMULA));
    let axes = Figure::new("Films in a stream, Prandtl number 0.7", "Reynolds number", "Nusselt number");
    let figure = STREAMING.iter().fold(axes.logarithmic(true, true), |figure, kind| kind.draw(figure, [1, 7]));
    Ok(Findings::from(found).with(figure).with(mixed))
}
