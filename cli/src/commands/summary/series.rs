//! A time series at one place, as CSV.

use crate::commands::write_failed;
use crate::failure::Failure;
use std::io::Write;
use std::path::Path;
use tractwright::quantity::{self, Dimension};
use tractwright::record::ResultFile;
use tractwright::run::Reading;
use tractwright::suggest;

/// A quantity of a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Quantity {
    /// Static pressure
    Pressure,
    /// Velocity, positive from the first end of the duct to the last
    Velocity,
    /// Static temperature
    Temperature,
}

impl Quantity {
    const ALL: [Self; 3] = [Self::Pressure, Self::Velocity, Self::Temperature];

    /// Name in the result.
    fn name(self) -> &'static str {
        match self {
            Self::Pressure => "pressure",
            Self::Velocity => "velocity",
            Self::Temperature => "temperature",
        }
    }

    /// Head of its column.
    fn head(self) -> &'static str {
        match self {
            Self::Pressure => "pressure, Pa",
            Self::Velocity => "velocity, m/s",
            Self::Temperature => "temperature, K",
        }
    }
}

/// Where in the result.
#[derive(Debug, PartialEq)]
enum Place {
    /// Between the middles of two cells of a duct, with the weight of the second.
    Duct { lower: usize, upper: usize, weight: f64 },
    /// In a volume.
    Volume,
}

/// Writes what the result at `path` has at `place`, such as `snout:120mm` or `box`.
///
/// # Errors
/// The file cannot be read, or there is no such place.
pub(super) fn write(path: &Path, place: &str, quantity: Option<Quantity>, out: &mut dyn Write) -> Result<(), Failure> {
    let reading = Reading::open(path)?;
    let (part, x) = match place.split_once(':') {
        Some((part, x)) => (part, Some(x)),
        None => (place, None),
    };
    let found = find(&reading, part, x)?;
    let quantities = wanted(&found, part, quantity)?;
    let columns = quantities
        .iter()
        .map(|quantity| column(&reading.file, part, *quantity, &found))
        .collect::<Result<Vec<_>, _>>()?;
    let mut csv = csv::Writer::from_writer(out);
    let heads = std::iter::once("time, s").chain(quantities.iter().map(|quantity| quantity.head()));
    csv.write_record(heads).map_err(write_failed)?;
    for (row, time) in reading.file.time()?.iter().enumerate() {
        let values = columns.iter().map(|column| column[row].to_string());
        csv.write_record(std::iter::once(time.to_string()).chain(values)).map_err(write_failed)?;
    }
    Ok(csv.flush()?)
}

fn find(reading: &Reading, part: &str, x: Option<&str>) -> Result<Place, Failure> {
    let network = &reading.built.network;
    let known = || network.ducts.iter().chain(network.volumes.iter().map(|volume| &volume.name)).map(String::as_str);
    if network.volumes.iter().any(|volume| volume.name == part) {
        return match x {
            None => Ok(Place::Volume),
            Some(x) => {
                Err(Failure::wrong_use(format!("found a place `{x}` in volume `{part}`, expected `{part}` alone")))
            }
        };
    }
    let Some(duct) = network.arena.ducts().find(|duct| network.arena.name(*duct) == part) else {
        let hint =
            suggest::nearest(part, known()).map_or_else(String::new, |near| format!(" (did you mean `{near}`?)"));
        let all = known().collect::<Vec<_>>().join(", ");
        return Err(Failure::wrong_use(format!("found `{part}`, expected a duct or volume: {all}{hint}")));
    };
    let (cells, step) = (network.arena.cells(duct), network.arena.cell_length(duct));
    let length = cells as f64 * step;
    let Some(x) = x else {
        return Err(Failure::wrong_use(format!(
            "found no place in duct `{part}`, expected one such as `{part}:120mm`"
        )));
    };
    let x = quantity::parse(x, Dimension::Length)
        .map_err(|fault| Failure::wrong_use(format!("`--at`: found {}, expected {}", fault.found, fault.expected)))?;
    if !(0.0..=length * (1.0 + 1e-9)).contains(&x) {
        return Err(Failure::wrong_use(format!(
            "found {} mm in duct `{part}`, expected 0 to {:.1} mm",
            1e3 * x,
            1e3 * length
        )));
    }
    Ok(between(x / step, cells))
}

/// The cells whose middles lie on both sides of `x` [cell lengths]; the end cells reach to the ends.
fn between(x: f64, cells: usize) -> Place {
    let last = (cells - 1) as f64;
    let place = (x - 0.5).clamp(0.0, last);
    let lower = place.floor();
    Place::Duct { lower: lower as usize, upper: (lower + 1.0).min(last) as usize, weight: place - lower }
}

fn wanted(place: &Place, part: &str, quantity: Option<Quantity>) -> Result<Vec<Quantity>, Failure> {
    match (place, quantity) {
        (Place::Volume, Some(Quantity::Velocity)) => {
            Err(Failure::wrong_use(format!("found `velocity` in volume `{part}`, expected pressure or temperature")))
        }
        (_, Some(quantity)) => Ok(vec![quantity]),
        (Place::Volume, None) => Ok(vec![Quantity::Pressure, Quantity::Temperature]),
        (Place::Duct { .. }, None) => Ok(Quantity::ALL.to_vec()),
    }
}

fn column(file: &ResultFile, part: &str, quantity: Quantity, place: &Place) -> Result<Vec<f64>, Failure> {
    match place {
        Place::Volume => Ok(file.series(part, quantity.name())?),
        Place::Duct { lower, upper, weight } => {
            let field = file.field(part, quantity.name())?;
            Ok(field.rows().into_iter().map(|row| (1.0 - weight) * row[*lower] + weight * row[*upper]).collect())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_lies_between_the_middles_of_two_cells() {
        assert_eq!(between(1.0, 4), Place::Duct { lower: 0, upper: 1, weight: 0.5 });
        assert_eq!(between(0.2, 4), Place::Duct { lower: 0, upper: 1, weight: 0.0 });
        assert_eq!(between(4.0, 4), Place::Duct { lower: 3, upper: 3, weight: 0.0 });
        assert_eq!(between(0.5, 1), Place::Duct { lower: 0, upper: 0, weight: 0.0 });
    }
}
