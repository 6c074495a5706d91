//! Stations, and derivatives at them, side by side.

use crate::failure::Failure;
use crate::{Streams, interrupt};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use tractwright::study::fit::{Answer, Hands};

/// Threads, and a bar that tells how far the present evaluation is and how many there were.
pub(super) struct Workers {
    pool: rayon::ThreadPool,
    bar: ProgressBar,
}

impl Workers {
    /// As many as `threads`, all cores for 0.
    ///
    /// # Errors
    /// The threads cannot be had, or nobody takes the progress.
    pub(super) fn new(threads: usize, stations: usize, streams: &mut Streams<'_>) -> Result<Self, Failure> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let pool = pool.map_err(|error| Failure::file(format!("no threads: {error}")))?;
        let target = if streams.bars { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let style = ProgressStyle::with_template("fit, round {prefix} {bar:30} {elapsed}");
        let style = style.unwrap_or_else(|_| ProgressStyle::default_bar()).progress_chars("=> ");
        let bar = ProgressBar::with_draw_target(Some(stations as u64), target).with_style(style);
        if !streams.bars {
            writeln!(streams.err, "fit: {stations} stations")?;
        }
        Ok(Self { pool, bar })
    }

    /// Takes the bar away.
    pub(super) fn finish(&self) {
        self.bar.finish_and_clear();
    }
}

impl Hands for Workers {
    fn each(&self, count: usize, one: &(dyn Fn(usize) -> Answer + Sync)) -> Option<Vec<Answer>> {
        let rounds = self.bar.prefix().parse::<u64>().unwrap_or(0) + 1;
        self.bar.set_prefix(rounds.to_string());
        self.bar.set_length(count as u64);
        self.bar.set_position(0);
        let one = |number: usize| {
            let answer = (!interrupt::requested()).then(|| one(number));
            self.bar.inc(1);
            answer
        };
        self.pool.install(|| (0..count).into_par_iter().map(one).collect())
    }
}
