mod balance;
mod entropy;
mod kernel;
mod likeness;
mod reference;
mod steady;

use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestRunner};
use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;
use tractwright::march::Acoustic;
use tractwright::part::KINDS;
use tractwright_validation::drawing::{Drawing, Part, Shape};
use tractwright_validation::marched::Tract;
use tractwright_validation::random_tract::open_tract;

/// Random tracts of the tests that march them once.
const TRACTS: u32 = 40;

/// A runner that draws the same `cases` on any machine and keeps no file of failures.
fn runner(cases: u32) -> TestRunner {
    let rng_seed = RngSeed::Fixed(1);
    TestRunner::new(Config { cases, rng_seed, failure_persistence: None, ..Config::default() })
}

/// Holds `property` of as many random tracts, of which each is known by its seed and its number of rooms.
fn over_tracts(cases: u32, property: impl Fn(u64, usize) -> Result<(), TestCaseError>) {
    let tracts = (any::<u64>().no_shrink(), 1..=3_usize);
    let held = runner(cases).run(&tracts, |(seed, rooms)| property(seed, rooms));
    held.unwrap_or_else(|error| panic!("{error}"));
}

fn read(drawing: &Drawing, run: &str) -> Result<Tract, TestCaseError> {
    Tract::read(&drawing.case(run)).map_err(|error| TestCaseError::fail(error.to_string()))
}

/// Marches a tract to its end; answers with the march and what `look` saw at each record time.
fn march<'a>(
    tract: &'a Tract,
    look: impl FnMut(&Acoustic<'_>) -> f64,
) -> Result<(Acoustic<'a>, Vec<f64>), TestCaseError> {
    let (marched, series) = tract.march_recording(look).map_err(|error| TestCaseError::fail(error.to_string()))?;
    Ok((marched.march, series.values))
}

#[test]
fn every_kind_of_part_is_in_a_random_tract() {
    let found = RefCell::new(BTreeSet::new());
    let mouths_in_bays = Cell::new(0);
    over_tracts(TRACTS, |seed, rooms| {
        let drawing = open_tract(seed, rooms);
        found.borrow_mut().extend(drawing.kinds().map(str::to_owned));
        let is_in_bay =
            |part: &Part| matches!(&part.shape, Shape::Other(keys) if keys.starts_with("kind: mouth, from: "));
        mouths_in_bays.set(mouths_in_bays.get() + drawing.parts.iter().filter(|part| is_in_bay(part)).count());
        Ok(())
    });
    let every: BTreeSet<String> = KINDS.iter().map(|kind| kind.name.to_owned()).collect();
    assert_eq!(found.into_inner(), every);
    assert!(mouths_in_bays.get() > 2, "{} mouths in bays that store air", mouths_in_bays.get());
}
