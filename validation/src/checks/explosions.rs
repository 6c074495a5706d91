//! Explosions of a cylinder and of a sphere: waves in a duct whose area grows like the radius, or like its square.

use crate::case_text::sections_at_faces;
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::checks::conservation::{Holdings, conservation_rows};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Cell, Tract};
use crate::oracle::riemann::State;
use crate::shock_tube::{Shown, Tube, cells_of};

/// Checks of explosions.
pub const GROUP: Group = Group {
    name: "explosions",
    about: "fans, contacts and shocks that spread with a radius, mean errors on 50 shells",
    checks: &[
        Check {
            name: "cylinder",
            about: "area like the radius",
            source: SOURCE,
            run: || explosion("cylinder", cylinder),
        },
        Check {
            name: "sphere",
            about: "area like its square, a cone",
            source: SOURCE,
            run: || explosion("sphere", sphere),
        },
    ],
};

const SOURCE: &str =
    "Toro (2009), section 17.1; means of a fifth-order scheme on 3200 points of the radius, data/explosions.py";

/// Keys of `run` with which the marks were set.
const SCHEME: &str = "limiter: van_leer, courant: 0.4";
/// Largest bore [m], at radius 1.
const BORE: f64 = 0.1;
/// Bore on the axis [m], next to nothing.
const AXIS: f64 = 1e-9;
/// Cross-sections that give the cylinder its area, which is not straight in the bore, between two faces.
const PARTS: u32 = 4;
/// Shells of the table.
const SHELLS: usize = 50;

/// An area law: exponent of the radius, and places and bores of its cross-sections on a number of cells.
type Shape = fn(u32) -> (i32, Vec<(f64, f64)>);

fn cylinder(cells: u32) -> (i32, Vec<(f64, f64)>) {
    (1, sections_at_faces(1.0, PARTS * cells, |radius| BORE * radius.sqrt().max(AXIS)))
}

fn sphere(_cells: u32) -> (i32, Vec<(f64, f64)>) {
    (2, vec![(0.0, AXIS), (1.0, BORE)])
}

fn explosion(case: &str, shape: Shape) -> Result<Findings, Failure> {
    const DENSITY: [Limit; 2] = [
        Limit { value: 4e-3, why: "1.5 times what a plain second-order scheme misses by on 200 cells" },
        Limit { value: 2e-3, why: "1.5 times what a plain second-order scheme misses by on 400 cells" },
    ];
    const OTHERS: [Limit; 2] = [
        Limit { value: 8e-3, why: "largest values are 1; twice the mark of density" },
        Limit { value: 4e-3, why: "largest values are 1; twice the mark of density" },
    ];
    let means = data::case(data::EXPLOSIONS, case)?;
    let mut found = Findings::default();
    for (index, count) in [200, 400].into_iter().enumerate() {
        let (exponent, sections) = shape(count);
        let tract = Tract::read(&tube(count).case_through(&sections, SCHEME))?;
        let start = Holdings::of(&tract.at_start());
        let marched = tract.march()?;
        let cells = cells_of(&marched)?;
        for (shown, column, limit) in [
            (Shown::Density, "rho", DENSITY[index]),
            (Shown::Velocity, "u", OTHERS[index]),
            (Shown::Pressure, "p", OTHERS[index]),
        ] {
            let shells = shells(&cells, exponent, shown);
            let mut sum = 0.0;
            for (row, shell) in means.iter().zip(&shells) {
                sum += (shell - row.number(column)?).abs();
            }
            let quantity = format!("mean error of {}, {count} cells", shown.name());
            found.rows.push(Row::vanishing(quantity, sum / SHELLS as f64, limit));
            if count == 200 {
                found.figures.push(figure(case, shown, &cells, &means, column)?);
            }
        }
        if count == 200 {
            found.rows.extend(conservation_rows(start, Holdings::of(&marched)));
        }
    }
    Ok(found)
}

fn tube(cells: u32) -> Tube {
    let inside = State { density: 1.0, velocity: 0.0, pressure: 1.0 };
    let outside = State { density: 0.125, velocity: 0.0, pressure: 0.1 };
    Tube { gamma: 1.4, cell: 1.0 / f64::from(cells), stretches: vec![(0.4, inside), (1.0, outside)], end_time: 0.25 }
}

/// Means over the shells, weighted with volume.
fn shells(cells: &[Cell], exponent: i32, shown: Shown) -> Vec<f64> {
    let volume = |cell: &Cell| cell.high.powi(exponent + 1) - cell.low.powi(exponent + 1);
    let mean = |cells: &[Cell]| {
        let whole: f64 = cells.iter().map(volume).sum();
        cells.iter().map(|cell| volume(cell) * shown.of(cell.state)).sum::<f64>() / whole
    };
    cells.chunks(cells.len() / SHELLS).map(mean).collect()
}

fn figure(case: &str, shown: Shown, cells: &[Cell], means: &[data::Row], column: &str) -> Result<Figure, Failure> {
    let mut line = Vec::new();
    for row in means {
        line.push((0.5 * (row.number("r_low")? + row.number("r_high")?), row.number(column)?));
    }
    Ok(Figure::new(format!("explosion of a {case}: {} at time 0.25", shown.name()), "radius", shown.name())
        .reference("3200 points, fifth order", line)
        .computed("200 cells", shown.points(cells)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn shells_weigh_by_volume() {
        let cells: Vec<Cell> = (0..100)
            .map(|index| {
                let low = f64::from(index) / 100.0;
                let state = State { density: f64::from(index % 2), velocity: 0.0, pressure: 1.0 };
                Cell { low, high: low + 0.01, state }
            })
            .collect();
        // The outer of two cells at the axis holds three quarters of a cylinder, seven eighths of a sphere.
        assert_relative_eq!(shells(&cells, 1, Shown::Density)[0], 0.75, max_relative = 1e-12);
        assert_relative_eq!(shells(&cells, 2, Shown::Density)[0], 0.875, max_relative = 1e-12);
        assert_eq!(shells(&cells, 2, Shown::Density).len(), SHELLS);
    }
}
