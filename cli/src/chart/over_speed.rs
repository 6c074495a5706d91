//! What the draws get of the road speed: recovery and total pressure over it, beside the limit of stagnation.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::driven::{names, wrong};
use super::panels::{Level, Panel, Sheet};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::number::{KMH, celsius};
use tractwright::case::Task;
use tractwright::run::directions;

/// Road speeds that tell something of a case that is held at them, at least.
pub(crate) const FEWEST: usize = 3;
/// Points of the limit.
const LIMIT: usize = 40;

/// One layout over road speed.
struct Line {
    case: String,
    file: String,
    dots: bool,
    /// Road speed [m/s], total pressure at the draws and of the free stream [Pa].
    rows: Vec<[f64; 3]>,
}

/// The picture of roll-ons, and of the points of a case that are held at three road speeds or more.
///
/// # Errors
/// A result is of something else, or cannot be read.
pub(crate) fn drawing(results: &[&Opened]) -> Result<Drawing, Failure> {
    let lines = lines(results)?;
    let ways: Vec<Vec<String>> = lines.iter().map(|line| vec![line.case.clone(), line.file.clone()]).collect();
    let names = names(&ways);
    let outside = &results[0].outside;
    let fastest = lines.iter().flat_map(|line| &line.rows).map(|row| row[0]).fold(0.0, f64::max);
    let curves = |value: &dyn Fn(&[f64; 3]) -> f64| -> Vec<Curve> {
        let one = |(result, line): (usize, &Line)| Curve {
            result,
            look: if line.dots { Look::Dots } else { Look::Line },
            points: line.rows.iter().map(|row| (KMH * row[0], value(row))).collect(),
            rings: Vec::new(),
            name: names[result].clone(),
        };
        lines.iter().enumerate().map(one).collect()
    };
    let mut pressures = curves(&|row| 1e-3 * (row[1] - outside.pressure));
    let limit = (0..=LIMIT).map(|k| fastest * k as f64 / LIMIT as f64).map(|speed| {
        let free = outside.gas.total_pressure(outside.pressure, outside.temperature, speed);
        (KMH * speed, 1e-3 * (free - outside.pressure))
    });
    pressures.push(Curve {
        result: 0,
        look: Look::Wanted,
        points: limit.collect(),
        rings: Vec::new(),
        name: "stagnation, all of the ram".to_owned(),
    });
    let sheet = Sheet {
        title: "What the draws get of the road speed".to_owned(),
        conditions: vec![format!(
            "mean of all draws by flow | outside {} degC, no wind in the limit",
            celsius(outside.temperature)
        )],
        across: "road speed, km/h".to_owned(),
        strips_title: String::new(),
        strips: Vec::new(),
        behind: false,
        panels: vec![
            Panel {
                title: "recovery p02/p00".to_owned(),
                height: 170.0,
                curves: curves(&|row| row[1] / row[2]),
                levels: vec![Level { value: 1.0, words: "stagnation".to_owned(), at_start: false }],
                ..Panel::default()
            },
            Panel {
                title: "total pressure at the draws less that of the still air outside, kPa".to_owned(),
                height: 190.0,
                curves: pressures,
                levels: vec![Level { value: 0.0, words: String::new(), at_start: true }],
                ..Panel::default()
            },
        ],
        key: Vec::new(),
    };
    Ok(sheet.drawing())
}

/// Whether a result is of one state of the car at one road speed.
pub(crate) fn is_held(opened: &Opened) -> bool {
    matches!(opened.point.task, Task::Hold) && opened.point.phases.is_empty()
}

fn lines(results: &[&Opened]) -> Result<Vec<Line>, Failure> {
    let mut lines: Vec<Line> = Vec::new();
    for opened in results {
        let (case, file) = (opened.reading.case_name.clone(), opened.path.display().to_string());
        match opened.point.task {
            Task::RollOn { .. } => lines.push(Line { case, file, dots: false, rows: driven(opened)? }),
            Task::Hold if is_held(opened) => {
                let branches = &opened.summary.branches;
                let mean = branches.iter().map(|branch| branch.flow_share * branch.recovery.ln()).sum::<f64>().exp();
                let free = opened.summary.free_stream_total_pressure;
                let row = [opened.summary.speed, mean * free, free];
                match lines.iter_mut().find(|line| line.dots && line.case == case) {
                    Some(line) => line.rows.push(row),
                    None => lines.push(Line { case, file, dots: true, rows: vec![row] }),
                }
            }
            _ => {
                return Err(wrong(
                    opened,
                    "neither",
                    "a roll-on, or points of a case that are held at several road speeds",
                ));
            }
        }
    }
    for line in lines.iter_mut().filter(|line| line.dots) {
        line.rows.sort_by(|a, b| a[0].total_cmp(&b[0]));
        line.rows.dedup_by(|a, b| a[0].total_cmp(&b[0]).is_eq());
    }
    if let Some(line) = lines.iter().find(|line| line.dots && line.rows.len() < FEWEST) {
        let found =
            format!("{}: found {} road speeds, expected three at least, or a roll-on", line.case, line.rows.len());
        return Err(Failure::wrong_use(found));
    }
    Ok(lines)
}

/// The rows of a roll-on on the way out, as its speed rises.
fn driven(opened: &Opened) -> Result<Vec<[f64; 3]>, Failure> {
    let (reading, outside) = (&opened.reading, &opened.outside);
    let network = &reading.built.network;
    let figures = reading.engine_figures()?;
    let count = directions(&figures)[0].rows.len();
    let mut sums = vec![[0.0; 2]; count];
    for joint in network.draws() {
        let name = network.draw_name(joint);
        let (flow, pressure) = (reading.file.series(name, "mass_flow")?, reading.file.series(name, "total_pressure")?);
        for (sum, (flow, pressure)) in sums.iter_mut().zip(flow.iter().zip(&pressure)) {
            *sum = [sum[0] + flow, sum[1] + flow * pressure];
        }
    }
    let mut fastest = 0.0;
    let rows = figures.iter().zip(sums).filter_map(|(figure, [flow, product])| {
        // Between the gears the car slows down a little: a speed counts once.
        let rises = figure.road_speed > fastest && flow > 0.0 && figure.gear > 0;
        rises.then(|| {
            fastest = figure.road_speed;
            let air = figure.road_speed + opened.point.wind;
            [figure.road_speed, product / flow, outside.gas.total_pressure(outside.pressure, outside.temperature, air)]
        })
    });
    Ok(rows.collect())
}
