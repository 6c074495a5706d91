//! Runs checks side by side while a bar, or a line a check, tells how far they are.

use crate::Streams;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tractwright_validation::check::{self, Check, Group, Outcome};

/// How often the bar's clock moves on while no check ends.
const TICK: Duration = Duration::from_millis(200);

/// Runs `checks` and tells of each as it ends, and of the time they took.
pub(super) fn run(checks: Vec<(&'static Group, &'static Check)>, streams: &mut Streams<'_>) -> Vec<Outcome> {
    let (started, count) = (Instant::now(), checks.len());
    let bar = bar(count, streams.bars);
    let (err, ended) = (Mutex::new(&mut *streams.err), AtomicUsize::new(0));
    let tell = |outcome: &Outcome| {
        let number = ended.fetch_add(1, Ordering::SeqCst) + 1;
        let line = format!("{}: {}", outcome.check.name, outcome.verdict().word());
        if !bar.is_hidden() {
            bar.set_message(line.clone());
            bar.inc(1);
            if !outcome.holds() {
                bar.println(line);
            }
        } else if let Ok(mut err) = err.lock() {
            // A closed standard error silences the lines, not the checks.
            let _ = writeln!(err, "[{number}/{count}] {line}");
        }
    };
    let outcomes = check::run(checks, tell);
    bar.finish_and_clear();
    let _ = writeln!(streams.err, "{count} checks in {:.1} s", started.elapsed().as_secs_f64());
    outcomes
}

fn bar(count: usize, live: bool) -> ProgressBar {
    let target = if live { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} checks, {elapsed}  {msg}")
        .unwrap_or_else(|_| ProgressStyle::default_bar());
    let bar = ProgressBar::with_draw_target(Some(count as u64), target).with_style(style.progress_chars("=> "));
    if live {
        bar.enable_steady_tick(TICK);
    }
    bar
}
