//! A tract agrees with itself read from the other end, seen in a mirror, or with its ducts cut.

use super::{over_tracts, read};
use proptest::prelude::*;
use tractwright_validation::checks::symmetry::alike_rows;
use tractwright_validation::drawing::{Drawing, halves};
use tractwright_validation::marched::{Cell, Marched};
use tractwright_validation::oracle::riemann::State;
use tractwright_validation::random_tract::open_tract;

const RUN: &str = "until: 5 ms, cell: 20 mm, record_every: 5 ms";

/// Marches `drawing` and `other`; the cells of each duct of the first, and the pressures of its rooms, are those of the second that
/// `same` gives.
fn compare(
    drawing: &Drawing,
    other: &Drawing,
    same: impl Fn(&Marched<'_>, &str) -> Vec<State>,
) -> Result<(), TestCaseError> {
    let fail = |error: tractwright_validation::check::Failure| TestCaseError::fail(error.to_string());
    let (one, two) = (read(drawing, RUN)?, read(other, RUN)?);
    let (one, two) = (one.march().map_err(fail)?, two.march().map_err(fail)?);
    for duct in drawing.ducts() {
        let (cells, others) = (states(&one.cells(duct).map_err(fail)?), same(&two, duct));
        prop_assert_eq!(cells.len(), others.len());
        for row in alike_rows(duct, cells.iter().copied().zip(others)) {
            prop_assert!(row.holds(), "{}: off by {:e}", row.quantity, row.error());
        }
    }
    for room in drawing.plena() {
        let ((pressure, temperature), (other, another)) =
            (one.volume(room).map_err(fail)?, two.volume(room).map_err(fail)?);
        prop_assert!((pressure / other - 1.0).abs() < 1e-11 && (temperature / another - 1.0).abs() < 1e-11, "{}", room);
    }
    Ok(())
}

fn states(cells: &[Cell]) -> Vec<State> {
    cells.iter().map(|cell| cell.state).collect()
}

fn cells(marched: &Marched<'_>, duct: &str) -> Vec<State> {
    marched.cells(duct).map(|cells| states(&cells)).unwrap_or_default()
}

#[test]
fn a_tract_read_from_the_other_end_agrees() {
    over_tracts(16, |seed, rooms| {
        let drawing = open_tract(seed, rooms);
        compare(&drawing, &drawing.backwards(), |marched, duct| {
            let turned = |state: State| State { velocity: -state.velocity, ..state };
            cells(marched, duct).into_iter().rev().map(turned).collect()
        })
    });
}

#[test]
fn a_tract_seen_in_a_mirror_agrees() {
    over_tracts(12, |seed, rooms| {
        let drawing = open_tract(seed, rooms);
        compare(&drawing, &drawing.mirrored(), cells)
    });
}

#[test]
fn a_duct_cut_in_two_agrees_with_the_whole() {
    over_tracts(16, |seed, rooms| {
        let drawing = open_tract(seed, rooms);
        compare(&drawing, &drawing.cut(), |marched, duct| {
            let whole = cells(marched, duct);
            if whole.is_empty() { halves(duct).iter().flat_map(|half| cells(marched, half)).collect() } else { whole }
        })
    });
}
