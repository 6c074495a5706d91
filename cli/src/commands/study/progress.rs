//! How far a study is: a bar for all runs, one for each that takes long; plain lines where there is no terminal.

use crate::interrupt;
use indicatif::{MultiProgress, ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tractwright::run::Watcher;
use tractwright::study::journal::Ended;

/// Ticks of the bar of a run.
const TICKS: u64 = 1_000;
/// Time between two lines where there are no bars.
const LINE_EVERY: Duration = Duration::from_secs(10);
/// Characters of the name of a run beside its bar.
const NAME: usize = 40;
/// Failures that are told one by one; the table has all.
const TOLD: usize = 20;

/// What is shown of a study while it runs.
pub(super) struct Progress<'a> {
    err: Mutex<&'a mut (dyn Write + Send)>,
    bars: MultiProgress,
    all: ProgressBar,
    live: bool,
    started: Instant,
    told: Mutex<Instant>,
    count: usize,
    done: AtomicUsize,
    failed: AtomicUsize,
}

impl<'a> Progress<'a> {
    /// Of `count` runs.
    pub(super) fn new(count: usize, err: &'a mut (dyn Write + Send), live: bool) -> Self {
        let target = if live { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bars = MultiProgress::with_draw_target(target);
        let template = "{prefix:<40!} {bar:24} {percent:>3} %  {pos} of {len}{msg}, {eta} left";
        let style = ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
        let all = bars.add(ProgressBar::new(count as u64).with_style(style.progress_chars("=> ")));
        all.set_prefix("all runs");
        let now = Instant::now();
        let (done, failed) = (AtomicUsize::new(0), AtomicUsize::new(0));
        Self { err: Mutex::new(err), bars, all, live, started: now, told: Mutex::new(now), count, done, failed }
    }

    /// Someone who watches a run.
    pub(super) fn watch(&self, name: &str) -> Watched<'_, 'a> {
        Watched { progress: self, name: name.to_owned(), bar: None }
    }

    /// Says how a run ended.
    pub(super) fn ended(&self, name: &str, ended: &Ended) {
        match ended {
            Ended::Done { .. } => {
                self.done.fetch_add(1, Ordering::Relaxed);
            }
            Ended::Failed(why) => {
                let number = self.failed.fetch_add(1, Ordering::Relaxed) + 1;
                self.all.set_message(format!(", {number} failed"));
                if number <= TOLD {
                    self.tell(&format!("failed: {name}: {why}"));
                }
            }
        }
        self.all.inc(1);
        self.line();
    }

    /// Takes the bars away.
    pub(super) fn clear(&self) {
        self.all.finish_and_clear();
        // A terminal that has gone has no bars to take away.
        let _ = self.bars.clear();
    }

    /// A line now and then, where there are no bars.
    fn line(&self) {
        let Ok(mut told) = self.told.lock() else { return };
        if self.live || told.elapsed() < LINE_EVERY {
            return;
        }
        *told = Instant::now();
        let (done, failed) = (self.done.load(Ordering::Relaxed), self.failed.load(Ordering::Relaxed));
        let share = (done + failed) as f64 / self.count as f64;
        let left = self.started.elapsed().as_secs_f64() * (1.0 - share) / share;
        self.tell(&format!("{done} of {} done, {failed} failed, some {left:.0} s left", self.count));
    }

    fn tell(&self, line: &str) {
        if self.live {
            // A line above the bars; one that is not drawn is in the table.
            let _ = self.bars.println(line);
        } else if let Ok(mut err) = self.err.lock() {
            // A closed standard error silences the lines, not the runs.
            let _ = writeln!(err, "{line}");
        }
    }
}

/// Moves the bar of a run that takes long enough to have one, and tells it to stop.
pub(super) struct Watched<'p, 'a> {
    progress: &'p Progress<'a>,
    name: String,
    bar: Option<ProgressBar>,
}

impl Watcher for Watched<'_, '_> {
    fn progress(&mut self, time: f64, end: f64, steps: u64) {
        let new = || {
            let template = "{prefix:<40!} {bar:24} {percent:>3} %  {msg}";
            let style = ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
            let bar = ProgressBar::new(TICKS).with_style(style.progress_chars("=> "));
            let bar = self.progress.bars.insert_before(&self.progress.all, bar);
            bar.set_prefix(self.name.chars().take(NAME).collect::<String>());
            bar
        };
        let bar = self.bar.get_or_insert_with(new);
        bar.set_position(((time / end).clamp(0.0, 1.0) * TICKS as f64) as u64);
        bar.set_message(format!("{time:.3} of {end:.3} s, step {steps}"));
    }

    fn stop(&self) -> bool {
        interrupt::requested()
    }
}

impl Drop for Watched<'_, '_> {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
