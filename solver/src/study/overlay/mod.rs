//! The model beside what was measured.

mod course;
mod rises;

pub use course::{Course, Read, course_at, mean_sets};
pub use rises::rises;

use super::KnownPoint;
use crate::case::measured::Measured;
use crate::case::{Case, NewValue};
use crate::error::Error;
use crate::loss::Deviations;
use crate::measured::Station;

/// What every channel of `measured` would read in the steady state `known`.
///
/// # Errors
/// A tap that the network does not have, or a state that means nothing.
pub fn read_in(measured: &Measured, known: &KnownPoint) -> Result<Read, Error> {
    Ok(Read::of(measured, &known.network, &known.y, &known.work()?)?)
}

/// The steady state of `case` at a `station` with `changes` besides, sought from `near`, a neighbour.
///
/// # Errors
/// The station's numbers do not fit the case, or it has no steady state.
pub fn at_station(
    case: &Case,
    measured: &Measured,
    station: &Station,
    changes: &[(&str, NewValue)],
    near: Option<&KnownPoint>,
) -> Result<KnownPoint, Error> {
    let sets = station.sets.iter().map(|(path, value)| (path.as_str(), NewValue::Si(*value)));
    // The changes stand last: what is fitted is not set.
    let case = case.with(&sets.chain(changes.iter().cloned()).collect::<Vec<_>>())?;
    match near {
        Some(near) => near.neighbour(&case, &measured.point, Deviations::default()),
        None => KnownPoint::of(&case, &measured.point),
    }
}
