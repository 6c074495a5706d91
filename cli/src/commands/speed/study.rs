//! What a study adds to a run: its place in the plan, its identity, its line in the journal.

use super::stopwatch::Stopwatch;
use crate::failure::Failure;
use std::fs;
use std::io::Write;
use std::path::Path;
use tractwright::study::journal::{Ended, Journal, Shard};
use tractwright::study::plan::{Plan, Run};
use tractwright::study::{Evaluator, KnownPoint};

/// The demo of two filters in a sealed box.
const DEMO: &str = include_str!("../../../../cases/coupe/twin_sealed.yaml");
/// Over the bore of both tubes.
const STUDY: &str = "layouts: {sealed: {case: twin_sealed.yaml}}
points: [road]
vary:
  tube:
    fields: ['parts.left_tube.sections[1].diameter', 'parts.right_tube.sections[1].diameter']
    from: 66 mm
    to: 74 mm
    count: 20000
";
/// Runs whose state is sought; all are planned and written down.
const SOLVED: usize = 50;

/// Prints what takes how long for each run.
pub(super) fn print(out: &mut dyn Write) -> Result<(), Failure> {
    let folder = tempfile::tempdir().map_err(|error| Failure::file(format!("no folder: {error}")))?;
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text);
    write("twin_sealed.yaml", DEMO)?;
    write("speed.study.yaml", STUDY)?;
    let plan = Plan::from_path(&folder.path().join("speed.study.yaml"))?;
    let layer = layer(&plan, folder.path())?;
    let runs: Vec<Run> = (0..SOLVED).map(|number| plan.run(number * plan.count() / SOLVED)).collect();
    let base = KnownPoint::of(&plan.layouts[0].case, &plan.points[0])?;
    let (mut read, mut solved) = (0.0, 0.0);
    for run in &runs {
        let stopwatch = Stopwatch::start();
        let case = plan.case_of(run)?;
        let built = case.build(plan.point_of(run))?;
        read += stopwatch.seconds();
        let stopwatch = Stopwatch::start();
        KnownPoint::near(Some(&base), &case, plan.point_of(run), built)?;
        solved += stopwatch.seconds();
    }
    writeln!(out, "\n{:52}         ms", "a run of a study of the twin-filter demo")?;
    for (name, seconds, count) in [
        ("the study: plan, identity, journal", layer, plan.count()),
        ("the case, read anew and built", read, SOLVED),
        ("its steady state, from that of the layout", solved, SOLVED),
    ] {
        writeln!(out, "{name:52}  {:9.4}", 1e3 * seconds / count as f64)?;
    }
    Ok(())
}

/// Seconds that plan and journal take for all runs.
fn layer(plan: &Plan, folder: &Path) -> Result<f64, Failure> {
    let evaluator = Evaluator::new(plan, folder);
    let known = KnownPoint::of(&plan.layouts[0].case, &plan.points[0])?;
    let figures: Vec<_> = known.figures.0.iter().map(|figure| (figure.name().into(), figure.value)).collect();
    let stopwatch = Stopwatch::start();
    let mut journal = Journal::open(folder, Shard::WHOLE)?;
    for number in 0..plan.count() {
        let run = plan.run(number);
        let ended = Ended::Done { figures: figures.clone(), note: String::new() };
        journal.add(&evaluator.entry(&run, evaluator.id(&run), ended))?;
    }
    journal.synchronise()?;
    Ok(stopwatch.seconds())
}
