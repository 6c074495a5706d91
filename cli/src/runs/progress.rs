//! Bars for people; for files and pipes a plain line when a run ends, and now and then while it goes on.

use super::jobs::Job;
use crate::interrupt;
use indicatif::{MultiProgress, ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tractwright::run::Watcher;

/// Ticks of a bar.
const TICKS: u64 = 10_000;
/// Time between two lines of a run that has no bar.
const LINE_EVERY: Duration = Duration::from_secs(10);

/// What is shown of all runs together.
pub(super) struct Progress<'a> {
    err: Mutex<&'a mut (dyn Write + Send)>,
    bars: MultiProgress,
    all: ProgressBar,
    live: bool,
    whole: f64,
    ended: AtomicUsize,
    count: usize,
}

impl<'a> Progress<'a> {
    /// For the jobs that will run.
    pub(super) fn new(jobs: &[&Job], err: &'a mut (dyn Write + Send), live: bool) -> Self {
        let target = if live { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bars = MultiProgress::with_draw_target(target);
        let all = bars.add(bar("{prefix:<28!} {bar:30} {percent:>3} %  {msg}, {eta} left"));
        all.set_prefix("all runs");
        Self {
            err: Mutex::new(err),
            bars,
            all,
            live,
            whole: jobs.iter().map(|job| job.cost).sum::<f64>().max(f64::MIN_POSITIVE),
            ended: AtomicUsize::new(0),
            count: jobs.len(),
        }
    }

    /// Someone who watches one of the runs.
    pub(super) fn watch(&self, job: &Job) -> Watched<'_, 'a> {
        let own = self.bars.insert_before(&self.all, bar("{prefix:<28!} {bar:30} {percent:>3} %  {msg}"));
        own.set_prefix(job.name());
        self.all.set_message(self.counted());
        let share = job.cost / self.whole;
        Watched { progress: self, name: job.name(), own, share, shown: 0, told: Instant::now() }
    }

    /// Says how a run ended.
    pub(super) fn ended(&self, name: &str, how: &str) {
        let number = self.ended.fetch_add(1, Ordering::SeqCst) + 1;
        self.all.set_message(self.counted());
        self.tell(&format!("[{number}/{}] {name}: {how}", self.count));
    }

    /// Writes a line where there are no bars.
    fn tell(&self, line: &str) {
        if self.live {
            return;
        }
        if let Ok(mut err) = self.err.lock() {
            // A closed standard error silences the lines, not the runs.
            let _ = writeln!(err, "{line}");
        }
    }

    /// Takes the bars away.
    pub(super) fn clear(&self) {
        self.all.finish_and_clear();
        // A terminal that has gone has no bars to take away.
        let _ = self.bars.clear();
    }

    fn counted(&self) -> String {
        format!("{} of {} done", self.ended.load(Ordering::SeqCst), self.count)
    }
}

fn bar(template: &str) -> ProgressBar {
    let style = ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
    ProgressBar::new(TICKS).with_style(style.progress_chars("=> "))
}

/// Moves the bars of a run, and tells it to stop.
pub(super) struct Watched<'p, 'a> {
    progress: &'p Progress<'a>,
    name: String,
    own: ProgressBar,
    share: f64,
    /// Ticks of the bar of all runs that this run has given.
    shown: u64,
    /// When the last line was written.
    told: Instant,
}

impl Watched<'_, '_> {
    fn show(&mut self, done: f64) {
        self.own.set_position(ticks(done));
        let given = ticks(self.share * done);
        self.progress.all.inc(given.saturating_sub(self.shown));
        self.shown = self.shown.max(given);
    }

    /// Takes the bar of the run away; its share of all is then done, however early it settled.
    pub(super) fn finish(mut self) {
        self.show(1.0);
        self.own.finish_and_clear();
    }
}

fn ticks(share: f64) -> u64 {
    (share.clamp(0.0, 1.0) * TICKS as f64) as u64
}

impl Watcher for Watched<'_, '_> {
    fn progress(&mut self, time: f64, end: f64, steps: u64) {
        self.show(time / end);
        let reached = format!("{time:.3} of {end:.3} s, step {steps}");
        if self.told.elapsed() >= LINE_EVERY {
            self.told = Instant::now();
            self.progress.tell(&format!("{}: {reached}", self.name));
        }
        self.own.set_message(reached);
    }

    fn stop(&self) -> bool {
        interrupt::requested()
    }
}
