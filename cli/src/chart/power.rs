//! Power: power, torque and charge pressure over crank speed, with what holds the power.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::driven::{self, Driven, shared, with_name, wrong};
use super::panels::{Band, Level, Panel, Sheet, Stretch, Strip};
use super::values::between;
use crate::failure::Failure;
use crate::layouts::noise;
use crate::opened::Opened;
use crate::overlay::Overlay;
use crate::print::number::{RPM, fixed, signed, trimmed};
use crate::print::point;
use tractwright::case::Task;
use tractwright::case::measured::Meaning;
use tractwright::measured::Station;
use tractwright::powertrain::Regime;
use tractwright::run::EngineFigures;
use tractwright::study::spread::PowerRange;

/// What may hold the power, with its letter and its shade: the darker, the more an inlet loss costs. Where turbos differ
/// the later one counts.
const REGIMES: [(Regime, &str, &str); 4] = [
    (Regime::BoostControlled, "B", "#fbf4e8"),
    (Regime::Changing, "C", "#f5e6cc"),
    (Regime::WastegateShut, "W", "#ecd1a6"),
    (Regime::SpeedLimited, "S", "#deb27a"),
];
/// Half the width that a held point takes in a strip, over its crank speed.
const HALF: f64 = 0.012;

/// A pull, or the points of one case that are held at one boost.
struct Line {
    case: String,
    point: String,
    file: String,
    /// What the car does.
    task: String,
    /// Charge that is wanted, and air.
    around: String,
    held: bool,
    /// In the order of crank speed.
    rows: Vec<EngineFigures>,
    /// Measured power at the crank [kW] over crank speed [rpm], where a log is laid over it.
    measured: Vec<(f64, f64)>,
}

/// The picture of pulls and of held points.
///
/// # Errors
/// A result is of something else or has no engine, or cannot be read.
pub(crate) fn drawing(results: &[&Opened]) -> Result<Drawing, Failure> {
    with_ranges(results, &[])
}

/// The picture of pulls and of held points, with what is known of how the power of each pull spreads.
///
/// # Errors
/// As for [`drawing`].
pub(crate) fn with_ranges(results: &[&Opened], ranges: &[Option<&PowerRange>]) -> Result<Drawing, Failure> {
    let lines = lines(results)?;
    // Pulls are lines of their own: where all results are pulls, ranges and lines have one order.
    let ranges = if lines.len() == results.len() { ranges } else { &[] };
    let ways = |line: &Line| {
        let Line { case, point, file, .. } = line;
        vec![case.clone(), point.clone(), format!("{case}, {point}"), file.clone()]
    };
    let names = driven::names(&lines.iter().map(ways).collect::<Vec<_>>());
    let one_case = lines.iter().all(|line| line.case == lines[0].case);
    let title = match one_case {
        true => format!("{}: power, torque and charge pressure over crank speed", lines[0].case),
        false => "Power, torque and charge pressure over crank speed".to_owned(),
    };
    let mut conditions = shared(&names, lines.iter().map(|line| format!("{} | {}", line.task, line.around)).collect());
    conditions.push("power and torque at the crank, not corrected to a standard air".to_owned());
    for (opened, overlay) in results.iter().flat_map(|opened| courses(opened).map(move |overlay| (opened, overlay))) {
        let set = overlay.set_in_words(&opened.reading.case);
        let at = if set.is_empty() { String::new() } else { format!(", at {set}") };
        let basis = overlay.measured.channels.iter().find_map(|channel| match &channel.meaning {
            Meaning::Power(basis) => Some(*basis),
            _ => None,
        });
        let over = |factor: f64, name: &str| {
            if (factor - 1.0).abs() <= 0.0 { String::new() } else { format!(", over its {name} {factor}") }
        };
        let made = basis
            .map_or(String::new(), |basis| over(basis.correction, "correction") + &over(basis.share(), "driveline"));
        conditions.push(format!("dots: measured, {}{at}{made}", overlay.log.file));
    }
    let strips: Vec<Strip> =
        lines.iter().zip(&names).map(|(line, name)| Strip { name: name.clone(), stretches: regimes(line) }).collect();
    let key = REGIMES.iter().filter(|(regime, ..)| {
        lines.iter().flat_map(|line| &line.rows).any(|row| REGIMES[regime_of(row)].0 == *regime)
    });
    let sheet = Sheet {
        title,
        conditions,
        across: "crank speed, rpm".to_owned(),
        strips_title: "what holds the power".to_owned(),
        behind: lines.len() == 1 && !lines[0].held,
        strips,
        panels: panels(&lines, &names, ranges),
        key: key.map(|(regime, letter, shade)| (*shade, format!("{letter} {}", regime.words()))).collect(),
    };
    Ok(sheet.drawing())
}

fn lines(results: &[&Opened]) -> Result<Vec<Line>, Failure> {
    let mut lines: Vec<Line> = Vec::new();
    for opened in results {
        let driven = Driven::of(opened)?;
        let around = driven.conditions();
        let line = |point: String, task: String, around: String, held: bool, rows: Vec<EngineFigures>| Line {
            case: opened.reading.case_name.clone(),
            file: opened.path.display().to_string(),
            point,
            task,
            around,
            held,
            rows,
            measured: measured(opened),
        };
        match opened.point.task {
            Task::Pull { to, rate } => {
                let [from, to, rate] = [opened.point.engine_speed, to, rate].map(|speed| trimmed(60.0 * speed, 0));
                let task = format!("dyno pull, {from} to {to} rpm at {rate} rpm/s");
                lines.push(line(opened.reading.point.clone(), task, around, false, driven.rows));
            }
            Task::Hold if opened.point.phases.is_empty() => {
                // The charge that is wanted goes with the crank speed of each point, and is drawn.
                let air = point::air(&opened.outside);
                let (name, around) = match &opened.point.boost {
                    Some(boost) => (format!("held, {boost}"), format!("boost {boost} | {air}")),
                    None => ("held".to_owned(), air),
                };
                let last: Vec<EngineFigures> = driven.rows.into_iter().next_back().into_iter().collect();
                let new = line(name, String::new(), around, true, last);
                let same = |old: &&mut Line| {
                    old.held && [&old.case, &old.point, &old.around] == [&new.case, &new.point, &new.around]
                };
                match lines.iter_mut().find(same) {
                    Some(old) => old.rows.extend(new.rows),
                    None => lines.push(new),
                }
            }
            _ => return Err(wrong(opened, driven::task(opened), "a dyno pull or points that are held")),
        }
    }
    for line in lines.iter_mut().filter(|line| line.held) {
        line.rows.sort_by(|a, b| a.crank_speed.total_cmp(&b.crank_speed));
        let speeds: Vec<String> = line.rows.iter().map(|row| fixed(RPM * row.crank_speed, 0)).collect();
        line.task = format!("points at {} rpm", speeds.join(", "));
    }
    Ok(lines)
}

fn panels(lines: &[Line], names: &[String], ranges: &[Option<&PowerRange>]) -> Vec<Panel> {
    let curves = |value: &dyn Fn(&EngineFigures) -> f64, unit: &str, peak: bool| -> Vec<Curve> {
        lines
            .iter()
            .enumerate()
            .map(|(result, line)| {
                let points: Vec<(f64, f64)> = line.rows.iter().map(|row| (RPM * row.crank_speed, value(row))).collect();
                let most = points.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or_default();
                let told = format!("most {} {unit} at {} rpm", fixed(most.1, 1), fixed(most.0, 0));
                Curve {
                    result,
                    look: if line.held { Look::Dots } else { Look::Line },
                    points,
                    rings: if peak && !line.held { vec![(most, String::new())] } else { Vec::new() },
                    name: if peak { with_name(&names[result], &told) } else { names[result].clone() },
                }
            })
            .collect()
    };
    let mut charge = curves(&|row| 1e-3 * charge_pressure(row), "kPa", false);
    if let [only] = &mut charge[..] {
        only.name = "found".to_owned();
    }
    let mut wanted = curves(&|row| 1e-3 * row.boost_target, "kPa", false);
    for curve in &mut wanted {
        let dots = curve.look == Look::Dots;
        curve.look = if dots { Look::WantedDots } else { Look::Wanted };
        curve.name = if lines.len() == 1 { "wanted".to_owned() } else { String::new() };
    }
    let sign = match (lines.iter().any(|line| !line.held), lines.iter().any(|line| line.held)) {
        (true, true) => "dashed or hollow: wanted",
        (true, false) => "dashed: wanted",
        _ => "hollow: wanted",
    };
    charge.extend(wanted);
    let turbos = if lines.iter().any(|line| line.rows[0].turbos.len() > 1) { ", mean of the turbos" } else { "" };
    let panel = |title: String, height: f64, curves: Vec<Curve>| Panel { title, height, curves, ..Panel::default() };
    let power_bands: Vec<Band> = ranges.iter().flatten().map(|range| band(&range.power)).collect();
    let dots = lines.iter().enumerate().filter(|(_, line)| !line.measured.is_empty()).map(|(result, line)| Curve {
        result,
        look: Look::Dots,
        points: line.measured.clone(),
        rings: Vec::new(),
        name: String::new(),
    });
    let dots: Vec<Curve> = dots.collect();
    let also: Vec<&str> =
        [(!power_bands.is_empty(), "areas: 10 to 90 % of its samples"), (!dots.is_empty(), "dots: measured")]
            .into_iter()
            .filter_map(|(is, words)| is.then_some(words))
            .collect();
    let power_title = if also.is_empty() { "power, kW".to_owned() } else { format!("power, kW ({})", also.join("; ")) };
    let mut panels = vec![
        Panel {
            bands: power_bands,
            ..panel(power_title, 170.0, [curves(&|row| 1e-3 * row.power, "kW", true), dots].concat())
        },
        panel("torque, N m".to_owned(), 150.0, curves(&|row| row.torque, "N m", true)),
        panel(format!("charge pressure, kPa absolute{turbos} ({sign})"), 130.0, charge),
    ];
    panels.extend(differences(lines, names, ranges));
    panels
}

/// The logs that are laid over a pull.
fn courses(opened: &Opened) -> impl Iterator<Item = &Overlay> {
    opened.beside.iter().filter_map(|(_, laid)| laid.course())
}

/// Power at the crank [kW] over crank speed [rpm] that the logs over a pull have: what was measured at the wheels over their share of it.
fn measured(opened: &Opened) -> Vec<(f64, f64)> {
    let of_log = |overlay: &Overlay| -> Vec<(f64, f64)> {
        let channels = &overlay.measured.channels;
        let speed = overlay.measured.course;
        let power = channels.iter().enumerate().find_map(|(number, channel)| match &channel.meaning {
            Meaning::Power(basis) => Some((number, basis.share())),
            _ => None,
        });
        let Some((speed, (power, share))) = speed.zip(power) else { return Vec::new() };
        let of_station =
            |station: &Station| Some((60.0 * station.means[speed]?.value, 1e-3 * station.means[power]?.value / share));
        overlay.stations.iter().filter_map(of_station).collect()
    };
    courses(opened).flat_map(of_log).collect()
}

/// A range over crank speed [rad/s, W] in the units of the panels.
fn band(range: &[(f64, [f64; 2])]) -> Band {
    let points = range.iter().map(|(speed, ends)| (RPM * speed, ends.map(|end| 1e-3 * end))).collect();
    Band { points, shade: Band::RANGE }
}

/// Power of the other pulls less that of the first, for what tells layouts apart is too little to be seen in their lines.
fn differences(lines: &[Line], names: &[String], ranges: &[Option<&PowerRange>]) -> Option<Panel> {
    let powers =
        |line: &Line| line.rows.iter().map(|row| (RPM * row.crank_speed, 1e-3 * row.power)).collect::<Vec<_>>();
    let first = lines.iter().position(|line| !line.held)?;
    let base = powers(&lines[first]);
    let others = || (first + 1..lines.len()).filter(|other| !lines[*other].held);
    let curves: Vec<Curve> = others()
        .filter_map(|result| {
            let less = |(speed, power): (f64, f64)| Some((speed, power - between(&base, speed)?));
            let points: Vec<(f64, f64)> = powers(&lines[result]).into_iter().filter_map(less).collect();
            let range = points.last()?.0 - points[0].0;
            let sum: f64 = points.windows(2).map(|pair| 0.5 * (pair[0].1 + pair[1].1) * (pair[1].0 - pair[0].0)).sum();
            let name = with_name(&names[result], &format!("mean {} kW", signed(sum / range, 2)));
            (range > 0.0).then_some(Curve { result, look: Look::Line, points, rings: Vec::new(), name })
        })
        .collect();
    let levels = vec![Level { value: 0.0, words: String::new(), at_start: true }];
    let sampled: Vec<&PowerRange> = if first == 0 {
        others().filter_map(|other| ranges.get(other).copied().flatten()).collect()
    } else {
        Vec::new()
    };
    let also = if sampled.is_empty() { "" } else { "; darker: 10 to 90 % of its samples" };
    let title = format!(
        "power less that of {}, kW (area: {} % of it, what one pull scatters{also})",
        names[first],
        fixed(100.0 * noise::PULL, 0)
    );
    let mut bands = vec![Band {
        points: base.iter().map(|(speed, power)| (*speed, [-noise::PULL * power, noise::PULL * power])).collect(),
        shade: Band::NOISE,
    }];
    bands.extend(sampled.iter().map(|range| band(&range.difference)));
    (!curves.is_empty()).then_some(Panel { title, height: 120.0, curves, levels, bands, ..Panel::default() })
}

/// Charge pressure, mean of the turbos [Pa].
fn charge_pressure(row: &EngineFigures) -> f64 {
    row.turbos.iter().map(|turbo| turbo.charge_pressure).sum::<f64>() / row.turbos.len() as f64
}

/// Number in [`REGIMES`] of what holds the power.
fn regime_of(row: &EngineFigures) -> usize {
    let of = |words: &str| REGIMES.iter().position(|(regime, ..)| regime.words() == words).unwrap_or(0);
    row.turbos.iter().map(|turbo| of(turbo.regime)).max().unwrap_or(0)
}

/// Stretches of crank speed that one regime holds; of held points a short one around each.
fn regimes(line: &Line) -> Vec<Stretch> {
    let stretch = |regime: usize, from: f64, to: f64| {
        let (name, letter, shade) = &REGIMES[regime];
        Stretch { from, to, words: name.words().to_owned(), short: (*letter).to_owned(), told: String::new(), shade }
    };
    let speeds: Vec<f64> = line.rows.iter().map(|row| RPM * row.crank_speed).collect();
    let held: Vec<usize> = line.rows.iter().map(regime_of).collect();
    if line.held {
        let range = HALF * speeds.iter().copied().fold(0.0, f64::max);
        return speeds.iter().zip(held).map(|(at, regime)| stretch(regime, at - range, at + range)).collect();
    }
    let mut stretches = Vec::new();
    let (mut from, last) = (speeds[0], speeds.len() - 1);
    for row in 0..=last {
        if row == last || held[row] != held[row + 1] {
            let to = if row == last { speeds[last] } else { 0.5 * (speeds[row] + speeds[row + 1]) };
            stretches.push(stretch(held[row], from, to));
            from = to;
        }
    }
    stretches
}
