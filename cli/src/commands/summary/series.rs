//! A time series at one place, as CSV.

use crate::commands::write_failed;
use crate::failure::Failure;
use std::io::Write;
use std::path::Path;
use tractwright::network::Tap;
use tractwright::record::ResultFile;
use tractwright::run::Reading;

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

/// Writes what the result at `path` has at `place`, such as `snout:120mm` or `box`.
///
/// # Errors
/// The file cannot be read, or there is no such place.
pub(super) fn write(path: &Path, place: &str, quantity: Option<Quantity>, out: &mut dyn Write) -> Result<(), Failure> {
    let reading = Reading::open(path)?;
    let part = place.split_once(':').map_or(place, |(part, _)| part).trim();
    let found = Tap::find(&reading.built.network, place).map_err(|fault| {
        let hint = fault.nearest.map_or_else(String::new, |near| format!(" (did you mean `{near}`?)"));
        Failure::wrong_use(format!("`--at`: found {}, expected {}{hint}", fault.found, fault.expected))
    })?;
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

fn wanted(place: &Tap, part: &str, quantity: Option<Quantity>) -> Result<Vec<Quantity>, Failure> {
    match (place, quantity) {
        (Tap::Duct { .. }, None) => Ok(Quantity::ALL.to_vec()),
        (Tap::Volume(_) | Tap::Draw { .. }, Some(Quantity::Velocity)) => {
            Err(Failure::wrong_use(format!("found `velocity` in `{part}`, expected pressure or temperature")))
        }
        (_, Some(quantity)) => Ok(vec![quantity]),
        (Tap::Volume(_) | Tap::Draw { .. }, None) => Ok(vec![Quantity::Pressure, Quantity::Temperature]),
    }
}

fn column(file: &ResultFile, part: &str, quantity: Quantity, place: &Tap) -> Result<Vec<f64>, Failure> {
    match place {
        Tap::Volume(_) => Ok(file.series(part, quantity.name())?),
        Tap::Draw { .. } => {
            let name = if quantity == Quantity::Pressure { "static_pressure" } else { "total_temperature" };
            Ok(file.series(part, name)?)
        }
        Tap::Duct { lower, upper, weight, .. } => {
            let field = file.field(part, quantity.name())?;
            Ok(field.rows().into_iter().map(|row| (1.0 - weight) * row[*lower] + weight * row[*upper]).collect())
        }
    }
}
