//! The fit as tables and sentences.

use super::{Errors, Fitting};
use crate::print::number::{fixed, signed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use tractwright::quantity::Dimension;
use tractwright::study::fit::{Alike, DEPENDENT, Ending, Group};

/// Stations that are listed, those with the largest residuals.
const STATIONS: usize = 5;
/// Correlation from which two values are told together.
const CORRELATED: f64 = 0.8;

/// Everything.
pub(super) fn of(fitting: &Fitting<'_>) -> String {
    let mut text = String::new();
    let mut say = |words: &str, table: Option<Table>| {
        wrap(words, WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
        table.iter().for_each(|table| text.push_str(&format!("\n{}\n", table.render())));
    };
    fitting.remarks.iter().for_each(|words| say(words, None));
    say(&lead(fitting), Some(values(fitting)));
    doubts(fitting).iter().for_each(|words| say(words, None));
    say(&explained(fitting), Some(taps(fitting)));
    say(
        "Mean: what the model says less what was read. rms: in standard deviations of the readings; unseen: by a fit without them. Pull: by how \
         many standard errors that value would change without them.",
        Some(stations(fitting)),
    );
    say(&ending(fitting), None);
    text
}

fn lead(fitting: &Fitting<'_>) -> String {
    format!(
        "{} values from {} readings of {} gauges at {} stations, point {}",
        fitting.fitted.len(),
        fitting.readings.len(),
        fitting.taps.len(),
        fitting.stations.len(),
        fitting.measured.point
    )
}

fn values(fitting: &Fitting<'_>) -> Table {
    let certainty = &fitting.certainty;
    let row = |(index, fitted): (usize, &tractwright::study::fit::Fitted)| {
        let (value, error) = (fitting.found.values[index], certainty.errors[index]);
        let unit = fitted.number.unit.symbol;
        let with_unit = |number: String| format!("{number} {unit}").trim_end().to_owned();
        let [value_text, error_text] = match fitted.numbers(value, error) {
            [Some(_), None] => [Some(significant(fitted.number.unit.from_si(value))), None],
            texts => texts,
        };
        let [value_text, error_text] = [value_text, error_text].map(|text| text.map_or_else(String::new, with_unit));
        let told = match (error, fitted.unknown.prior) {
            (Some(_), Some(_)) => format!("{} %", fixed(100.0 * certainty.from_readings[index], 0)),
            _ => String::new(),
        };
        let mut notes = Vec::new();
        match error {
            None => notes.push("at its bound"),
            Some(error) if !error.is_finite() => notes.push("not known"),
            Some(_) => {}
        }
        if certainty.unfelt.contains(&index) {
            notes.push("not felt");
        }
        if certainty.alike.iter().any(|group| group.unknowns.contains(&index)) {
            notes.push("not told apart");
        }
        let cells = vec![fitted.number.text.clone(), value_text, error_text, told];
        Row::new(fitting.label(index), cells).noted(notes.join(", "))
    };
    let head = ["before", "fitted", "standard error", "by readings"].map(str::to_owned).to_vec();
    Table { head: Row::new("number", head), rows: fitting.fitted.iter().enumerate().map(row).collect() }
}

/// What the readings do not know.
fn doubts(fitting: &Fitting<'_>) -> Vec<String> {
    let certainty = &fitting.certainty;
    let list = |group: &Alike| group.unknowns.iter().map(|index| fitting.label(*index)).collect::<Vec<_>>().join(", ");
    let mut doubts: Vec<String> = certainty
        .alike
        .iter()
        .map(|group| {
            format!(
                "The readings cannot tell apart: {}. They know {} of {} combinations of these (condition index {}, {} and more counts as \
                 dependent); the rest comes from priors, bounds or the start.",
                list(group),
                group.unknowns.len() - group.unknown_combinations,
                group.unknowns.len(),
                if group.condition.is_finite() { fixed(group.condition, 0) } else { "infinite".to_owned() },
                fixed(DEPENDENT, 0)
            )
        })
        .collect();
    let unfelt: Vec<String> = certainty.unfelt.iter().map(|index| fitting.label(*index)).collect();
    if !unfelt.is_empty() {
        doubts.push(format!("No reading feels: {}.", unfelt.join(", ")));
    }
    let count = fitting.fitted.len();
    let pairs = (0..count).flat_map(|one| (one + 1..count).map(move |other| (one, other)));
    let strong: Vec<String> = pairs
        .filter(|(one, other)| certainty.correlations[*one][*other].abs() >= CORRELATED)
        .map(|(one, other)| {
            let correlation = signed(certainty.correlations[one][other], 3);
            format!("{} with {} {correlation}", fitting.label(one), fitting.label(other))
        })
        .collect();
    if !strong.is_empty() {
        doubts.push(format!("Correlations above {CORRELATED}: {}.", strong.join("; ")));
    }
    doubts
}

fn explained(fitting: &Fitting<'_>) -> String {
    let certainty = &fitting.certainty;
    let (deviation, freedom) = (certainty.deviation(), certainty.freedom as f64);
    // The deviation of as many normal residuals lies within two of its standard errors of one.
    let scatter = 2.0 / (2.0 * freedom.max(1.0)).sqrt();
    let verdict = if deviation > 1.0 + scatter {
        "more than accuracies and priors allow: the model lacks something, or a gauge is worse than is said"
    } else if deviation < 1.0 - scatter {
        "less than accuracies and priors say: gauges are better than is said"
    } else {
        "as accuracies and priors say"
    };
    let from = match fitting.command.errors {
        Errors::ByAccuracy => {
            "Standard errors follow from accuracies and priors alone, each reading being wrong on its own; a gauge that is off in all of its readings alike moves values further than they say, unless its `offset` is fitted with them."
        }
        Errors::ByResiduals => "Standard errors are those of accuracies and priors times that deviation.",
    };
    let unseen = fitting.unseen.map_or_else(String::new, |unseen| {
        format!(" A fit without one reading misses it by {} of its deviations (rms).", fixed(unseen, 2))
    });
    format!("Deviation of all residuals {}, {verdict}. {from}{unseen}", fixed(deviation, 2))
}

fn taps(fitting: &Fitting<'_>) -> Table {
    let row = |group: &Group| {
        let channel = &fitting.measured.channels[group.of];
        let mut cells = vec![group.readings.to_string(), mean(channel.dimension(), group.mean)];
        cells.extend(misses(group));
        Row::new(&channel.name, cells).noted(pull(fitting, group))
    };
    let head = ["readings", "mean", "rms", "unseen"].map(str::to_owned).to_vec();
    let head = Row::new("gauge", head).noted("pull");
    Table { head, rows: fitting.taps.iter().map(row).collect() }
}

fn stations(fitting: &Fitting<'_>) -> Table {
    let mut worst: Vec<&Group> = fitting.by_station.iter().collect();
    worst.sort_by(|a, b| b.deviation.total_cmp(&a.deviation));
    worst.truncate(STATIONS);
    let row = |group: &&Group| {
        let mut cells = vec![group.readings.to_string()];
        cells.extend(misses(group));
        Row::new(&fitting.stations[group.of].name, cells).noted(pull(fitting, group))
    };
    let head = ["readings", "rms", "unseen"].map(str::to_owned).to_vec();
    let label = if fitting.by_station.len() > STATIONS { "stations missed most" } else { "station" };
    Table { head: Row::new(label, head).noted("pull"), rows: worst.iter().map(row).collect() }
}

fn misses(group: &Group) -> [String; 2] {
    [fixed(group.deviation, 2), group.unseen.map_or_else(|| "-".to_owned(), |unseen| fixed(unseen, 2))]
}

fn pull(fitting: &Fitting<'_>, group: &Group) -> String {
    group.pull.map_or_else(String::new, |(value, shift)| format!("{} {}", signed(shift, 1), fitting.label(value)))
}

fn mean(dimension: Option<Dimension>, mean: f64) -> String {
    match dimension {
        Some(Dimension::MassFlow) => format!("{} g/s", signed(1e3 * mean, 2)),
        Some(Dimension::Power) => format!("{} kW", signed(1e-3 * mean, 2)),
        Some(Dimension::Temperature) => format!("{} K", signed(mean, 2)),
        _ => format!("{} Pa", signed(mean, 1)),
    }
}

fn ending(fitting: &Fitting<'_>) -> String {
    let [plain, with_slopes] = fitting.found.evaluations;
    let ending = &fitting.found.ending;
    let effort = format!("after {plain} evaluations of all stations and {with_slopes} with derivatives");
    match ending {
        Ending::Stuck { unknown, refused } => {
            let path = &fitting.fitted[*unknown].paths[0];
            let reason = refused.as_ref().map_or_else(String::new, |refused| format!(": {refused}"));
            format!(
                "Not converged: {}{reason}. The sum of squares still falls with `{path}`, {effort}. Give that one bounds, another start or leave it out.",
                ending.words()
            )
        }
        _ => {
            let begin = if ending.has_converged() { "Converged" } else { "Not converged" };
            format!(
                "{begin}: {}, {effort}. It is the nearest least sum downhill from the start; another start may find another one.",
                ending.words()
            )
        }
    }
}

/// Six significant figures.
fn significant(value: f64) -> String {
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    format!("{rounded}")
}
