use crate::resume::values_of;
use crate::support::workspace;
use std::cell::Cell;
use std::path::Path;
use tractwright::case::Case;
use tractwright::march::Outcome;
use tractwright::run::{
    EngineFigures, Options, Reading, Report, Watcher, response_time, result_path, roll_on_time, run,
};
use tractwright::study::{Figures, Of, Quantity, figures_of};

const CASE: &str = "cases/power/twin_sealed.yaml";
/// Counts of a slow march.
const ATTRIBUTES: [&str; 3] = ["steps", "refused_steps", "end_time"];

/// Someone who stops a run after so many steps.
struct Impatient {
    left: Cell<u64>,
}

impl Impatient {
    fn after(steps: u64) -> Self {
        Self { left: Cell::new(steps) }
    }
}

impl Watcher for Impatient {
    fn progress(&mut self, _time: f64, _end: f64, _steps: u64) {}

    fn stop(&self) -> bool {
        self.left.set(self.left.get() - 1);
        self.left.get() == 0
    }
}

fn ran(case: &Case, point: &str, path: &Path, steps: u64) -> Report {
    let options = Options { resume: true, ..Options::default() };
    run(case, point, path, options, &mut Impatient::after(steps)).expect("a run")
}

#[test]
fn an_interrupted_roll_on_pull_and_throttle_step_end_with_the_values_of_one_that_was_not() {
    let case = Case::from_path(&workspace().join(CASE)).expect("a case");
    for (point, legs) in [("roll_stock", [29, 41, 7, 53]), ("dyno_stock", [3, 90, 40, 5]), ("response", [1, 2, 30, 30])]
    {
        let folder = tempfile::tempdir().expect("a folder");
        let [whole, parts] = ["whole", "parts"].map(|name| folder.path().join(name).with_extension("h5"));
        let undisturbed = ran(&case, point, &whole, u64::MAX);
        assert_eq!(undisturbed.outcome, Outcome::Finished, "{point}");
        let mut before = 0.0;
        for steps in legs {
            let leg = ran(&case, point, &parts, steps);
            assert_eq!(leg.outcome, Outcome::Interrupted, "{point}, {steps} steps from {before} s");
            assert!(leg.time > before && leg.resumed_from.to_bits() == f64::to_bits(before), "{point}: {leg:?}");
            before = leg.time;
        }
        let last = ran(&case, point, &parts, u64::MAX);
        assert!(
            last.resumed_from.to_bits() == before.to_bits() && last.steps == undisturbed.steps,
            "{point}: {last:?}"
        );
        let [parts, whole] = [parts, whole].map(|path| values_of(&path, &ATTRIBUTES));
        assert!(parts == whole && whole.len() > 40, "{point}, {} series", whole.len());
    }
}

/// What the march must not move, with its size.
fn figures(engine: &EngineFigures) -> Vec<f64> {
    let turbos = engine.turbos.iter().flat_map(|turbo| {
        [turbo.air, turbo.charge_pressure, turbo.exhaust_pressure, turbo.shaft_speed, turbo.charge_temperature]
    });
    [engine.crank_speed, engine.torque, engine.fuel_flow].into_iter().chain(turbos).collect()
}

#[test]
fn a_march_with_waves_stays_in_the_steady_state_of_an_engine() {
    let text = std::fs::read_to_string(workspace().join(CASE)).expect("a case");
    let march = "run: {march: acoustic, start: steady, until: 60 ms, record_every: 1 ms, cell: 20 mm}";
    assert!(text.contains("run: {until: steady}"));
    let case = Case::from_text("engine.yaml", &text.replace("run: {until: steady}", march)).expect("a case");
    let folder = tempfile::tempdir().expect("a folder");
    let path = result_path(&case, "road_stock", folder.path()).expect("a path");
    let report = ran(&case, "road_stock", &path, u64::MAX);
    assert!(report.notes.is_empty() && report.steps > 100, "{report:?}");
    let rows = Reading::open(&path).expect("a result").engine_figures().expect("an engine");
    assert!(rows.len() > 50 && rows[0].torque > 400.0, "{} rows", rows.len());
    let first = figures(&rows[0]);
    for row in &rows {
        for (now, then) in figures(row).iter().zip(&first) {
            assert!((now / then - 1.0).abs() < 1e-6, "{} s: {now} after {then}", row.time);
        }
    }
}

fn whole(figures: &Figures, quantity: Quantity) -> f64 {
    figures.value(quantity, &Of::Whole).expect("a figure")
}

#[test]
fn figures_in_memory_are_those_of_a_result() {
    let case = Case::from_path(&workspace().join(CASE)).expect("a case");
    let folder = tempfile::tempdir().expect("a folder");
    let rows = |point: &str| {
        let path = folder.path().join(point).with_extension("h5");
        ran(&case, point, &path, u64::MAX);
        Reading::open(&path).expect("a result").engine_figures().expect("an engine")
    };
    let figures = |point: &str| figures_of(&case, point).expect("figures");

    let found = whole(&figures("roll_windy"), Quantity::RollOnTime);
    let known = roll_on_time(&rows("roll_windy"), 200.0 / 3.6).expect("a time");
    assert!((found / known - 1.0).abs() < 1e-12, "{found} {known}");
    let found = whole(&figures("response"), Quantity::ResponseTime);
    let known = response_time(&rows("response")).expect("a time");
    assert!((found / known - 1.0).abs() < 1e-12, "{found} {known}");

    // The largest lies between rows, and not far above them.
    let (found, known) = (figures("dyno_stock"), rows("dyno_stock"));
    for (quantity, of) in
        [(Quantity::Power, (|row| row.power) as fn(&EngineFigures) -> f64), (Quantity::Torque, |row| row.torque)]
    {
        let most = known.iter().map(of).fold(0.0, f64::max);
        let share = whole(&found, quantity) / most - 1.0;
        assert!((0.0..1e-4).contains(&share), "{quantity:?}: {share}");
    }
    // What stands there is of that instant.
    let best = known.iter().max_by(|a, b| a.power.total_cmp(&b.power)).expect("rows");
    let air: f64 = best.turbos.iter().map(|turbo| turbo.air).sum();
    assert!((whole(&found, Quantity::MassFlow) / air - 1.0).abs() < 1e-3);
}
