//! Many small computations side by side, each alone with its number.

use crate::failure::Failure;
use crate::interrupt;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use std::io::Write;

/// Computes `of` of every number below `count` on `threads` (all cores for 0), in the order of the numbers; nothing when it is interrupted
/// by someone for whom the caller [listens](interrupt::listen).
///
/// # Errors
/// The threads cannot be had, or nobody takes the progress.
pub(crate) fn many<T: Send>(
    what: &str,
    count: usize,
    threads: usize,
    err: &mut (dyn Write + Send),
    bars: bool,
    of: impl Fn(usize) -> T + Sync,
) -> Result<Option<Vec<T>>, Failure> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|error| Failure::file(format!("no threads: {error}")))?;
    let target = if bars { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let style = ProgressStyle::with_template("{prefix:<28!} {bar:30} {percent:>3} %  {pos} of {len}, {eta} left")
        .unwrap_or_else(|_| ProgressStyle::default_bar());
    let bar = ProgressBar::with_draw_target(Some(count as u64), target).with_style(style.progress_chars("=> "));
    bar.set_prefix(what.to_owned());
    if !bars {
        writeln!(err, "{what}: {count}")?;
    }
    let one = |number: usize| {
        let value = (!interrupt::requested()).then(|| of(number));
        bar.inc(1);
        value
    };
    let all = pool.install(|| (0..count).into_par_iter().map(one).collect::<Option<Vec<T>>>());
    bar.finish_and_clear();
    Ok(all)
}
