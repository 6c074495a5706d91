//! The searches of a study side by side.

use super::night::{Night, pool};
use super::progress::Progress;
use crate::Streams;
use crate::failure::Failure;
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use tractwright::study::plan::{Plan, Run, Search, What};
use tractwright::study::search::{Local, between, first, local};

/// Searches at every layout and point, once the starts are done: first from the best of them, then between the ends of a front.
///
/// # Errors
/// The disk refuses, or the threads cannot be had.
pub(super) fn all(
    night: &Night<'_>,
    plan: &Plan,
    search: Search,
    threads: usize,
    streams: &mut Streams<'_>,
) -> Result<(), Failure> {
    let most = plan.places() * search.evaluations.saturating_sub(search.starts);
    let progress = Progress::new(most, streams.err, streams.bars);
    let value = |run: &Run, what: &What| night.value(plan, run, what, &progress);
    let pool = pool(threads)?;
    let places: Vec<(usize, usize)> =
        (0..plan.layouts.len()).flat_map(|layout| (0..plan.points.len()).map(move |point| (layout, point))).collect();
    let starts: Vec<Vec<Run>> = places.iter().map(|(layout, point)| plan.starts(*layout, *point)).collect();
    let mut known = starts.clone();
    for wave in [false, true] {
        let wanted: Vec<(usize, Local)> = (0..places.len())
            .flat_map(|place| {
                let locals = if wave {
                    between(plan, search, &starts[place], &known[place], &value)
                } else {
                    first(plan, search, &starts[place], &value)
                };
                locals.into_iter().map(move |local| (place, local))
            })
            .collect();
        let one = |(place, from): &(usize, Local)| (*place, local(plan, from, &starts[*place], &value));
        let found: Vec<(usize, Vec<Run>)> = pool.install(|| wanted.par_iter().map(one).collect());
        for (place, runs) in found {
            known[place].extend(runs);
        }
    }
    progress.clear();
    night.refused()
}
