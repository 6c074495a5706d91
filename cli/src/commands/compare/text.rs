//! The comparison as tables and sentences.

use crate::layouts::class::Class;
use crate::layouts::{AtPoint, Layout, Made, why};
use crate::print::number::{celsius, fixed, grams, kilopascals, signed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH, names};

/// Share of the air of an origin below which it is not listed [1].
const TRACE: f64 = 5e-4;

/// All points, one after another.
pub(super) fn of(points: &[AtPoint]) -> String {
    let mut text: String = points.iter().map(|point| format!("{}\n", at(point))).collect();
    paragraph(&mut text, &why::legend());
    paragraph(
        &mut text,
        "No range here: `--spread N` samples what is uncertain, and only then is a winner in power named. Predictions, not validated on this car.",
    );
    text
}

fn paragraph(text: &mut String, words: &str) {
    for line in wrap(words, WIDTH) {
        text.push_str(&line);
        text.push('\n');
    }
}

fn at(point: &AtPoint) -> String {
    let layouts = &point.layouts;
    let mut text = String::new();
    let mut told: Vec<&str> = Vec::new();
    for layout in layouts {
        if !told.contains(&layout.conditions.as_str()) {
            told.push(&layout.conditions);
        }
    }
    paragraph(&mut text, &told.join("; "));
    if told.len() > 1 {
        paragraph(
            &mut text,
            "THE LAYOUTS WERE RUN UNDER DIFFERENT CONDITIONS: differences are not those of the layouts alone.",
        );
    }
    text.push_str(&table(layouts).render());
    if layouts.len() > 1 {
        text.push('\n');
        recovery(layouts, &mut text);
        temperature(layouts, &mut text);
    } else {
        paragraph(&mut text, "Only one layout at this point: nothing to compare it with.");
    }
    text
}

fn table(layouts: &[Layout]) -> Table {
    let row = |label: &str, value: &dyn Fn(&Layout) -> String| Row::new(label, layouts.iter().map(value).collect());
    let mut rows = engine(layouts);
    rows.extend([
        row("flow of all draws, g/s", &|l| grams(l.mass_flow)),
        row("recovery p02/p00", &|l| fixed(l.recovery, 4)),
        row("total p02, kPa", &|l| kilopascals(l.total_pressure)),
        row("largest static depression, kPa", &|l| kilopascals(l.depression)),
        row("T02, degC", &|l| celsius(l.total_temperature)),
    ]);
    if layouts.iter().any(|layout| layout.differences.is_some()) {
        let cell =
            |value: fn((f64, f64)) -> String| move |l: &Layout| l.differences.map_or_else(|| "-".to_owned(), value);
        rows.push(row(&format!("{}, recovery", apart(layouts)), &cell(|d| signed(d.0, 4))));
        rows.push(row(&format!("{}, g/s", apart(layouts)), &cell(|d| signed(1e3 * d.1, 1))));
    }
    rows.push(row("lost p00-p02, kPa", &|l| kilopascals(l.lost)));
    for class in Class::ALL {
        if layouts.iter().any(|layout| layout.losses.iter().any(|loss| loss.class == class)) {
            rows.push(row(&format!("  {}", class.words()), &|l| kilopascals(l.class(class))));
        }
    }
    rows.push(row("rise of T0, K", &|l| fixed(l.rise, 2)));
    rows.extend(listed(layouts, |layout| &layout.heat, |label| format!("  {label}"), |rise| signed(rise, 2), 5e-3));
    rows.extend(listed(
        layouts,
        |layout| &layout.causes,
        |cause| format!("  by {cause}"),
        |rise| signed(rise, 2),
        5e-3,
    ));
    rows.extend(listed(
        layouts,
        |layout| &layout.origins,
        |label| format!("air from {label}, %"),
        |share| fixed(100.0 * share, 1),
        TRACE,
    ));
    rows.extend(meters(layouts));
    rows.push(row("run", &|l| l.outcome.clone()));
    Table { head: Row::new("means over the draws, by flow", layouts.iter().map(|l| l.name.clone()).collect()), rows }
}

/// What the engine makes of each layout, and by how much that differs from the first; nothing without an engine.
fn engine(layouts: &[Layout]) -> Vec<Row> {
    let Some(first) = layouts[0].engine.as_ref() else { return Vec::new() };
    let row = |label: &str, value: &dyn Fn(&Made) -> String| {
        let cell = |layout: &Layout| layout.engine.as_ref().map_or_else(|| "-".to_owned(), value);
        Row::new(label, layouts.iter().map(cell).collect())
    };
    let percent = |value: f64, base: f64| format!("{} %", signed(100.0 * (value / base - 1.0), 2));
    let mut rows = vec![
        row("power at the crank, kW", &|made| fixed(1e-3 * made.power, 1)),
        row("  against the first", &|made| percent(made.power, first.power)),
        row("  regime there", &|made| made.regime.clone()),
        row("torque, N m", &|made| fixed(made.torque, 1)),
    ];
    if let Some((speeds, base)) = &first.roll_on {
        let time =
            |made: &Made| made.roll_on.as_ref().map_or_else(|| "not reached".to_owned(), |time| fixed(time.1, 2));
        let change =
            |made: &Made| made.roll_on.as_ref().map_or_else(|| "-".to_owned(), |time| signed(time.1 - base, 3));
        rows.extend([row(&format!("{speeds}, s"), &time), row("  against the first", &change)]);
    }
    if first.response.is_some() {
        let time = |made: &Made| made.response.map_or_else(|| "not reached".to_owned(), |time| fixed(time, 2));
        rows.push(row("to 90 % of the wanted charge, s", &time));
    }
    rows
}

/// What each air meter reads over the true flow, and how that changes against the first layout: what a calibration would have to take back.
fn meters(layouts: &[Layout]) -> Vec<Row> {
    let all: Vec<Vec<String>> =
        layouts.iter().map(|layout| layout.meters.iter().map(|meter| meter.0.clone()).collect()).collect();
    let ratio = |layout: &Layout, name: &str| layout.meters.iter().find(|meter| meter.0 == name).map(|meter| meter.1);
    let mut rows = Vec::new();
    for name in names::merged(&all) {
        let first = ratio(&layouts[0], &name);
        let told = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| signed(100.0 * value, 2));
        let off = |layout| told(ratio(layout, &name).map(|ratio| ratio - 1.0));
        let change = |layout| told(ratio(layout, &name).zip(first).map(|(ratio, first)| ratio / first - 1.0));
        rows.push(Row::new(format!("air meter of {name}, off by %"), layouts.iter().map(off).collect()));
        rows.push(Row::new("  against the first, %", layouts.iter().map(change).collect()));
    }
    rows
}

/// What the difference between draws is: named when all layouts have the same two.
fn apart(layouts: &[Layout]) -> String {
    match &layouts[0].draws[..] {
        [first, last] if layouts.iter().all(|layout| layout.draws == layouts[0].draws) => format!("{last}-{first}"),
        _ => "between draws".to_owned(),
    }
}

/// One row for each name that any layout lists with at least `least`.
fn listed(
    layouts: &[Layout],
    of: impl Fn(&Layout) -> &Vec<(String, f64)>,
    label: impl Fn(&str) -> String,
    written: impl Fn(f64) -> String,
    least: f64,
) -> Vec<Row> {
    let all: Vec<Vec<String>> =
        layouts.iter().map(|layout| of(layout).iter().map(|item| item.0.clone()).collect()).collect();
    let value = |layout: &Layout, name: &str| of(layout).iter().find(|item| item.0 == name).map(|item| item.1);
    names::merged(&all)
        .into_iter()
        .filter(|name| layouts.iter().any(|layout| value(layout, name).is_some_and(|value| value.abs() >= least)))
        .map(|name| {
            let cell = |layout| value(layout, &name).map_or_else(|| "-".to_owned(), &written);
            Row::new(label(&name), layouts.iter().map(cell).collect())
        })
        .collect()
}

fn recovery(layouts: &[Layout], text: &mut String) {
    let ranked = why::by_recovery(layouts);
    let best = ranked[0];
    paragraph(text, &format!("Best recovery: {}, {}.", best.name, fixed(best.recovery, 4)));
    for (rank, layout) in ranked.iter().enumerate().skip(1) {
        let difference = layout.recovery - best.recovery;
        let words = format!(
            "  {}. {} {} ({}{}): {}.",
            rank + 1,
            layout.name,
            fixed(layout.recovery, 4),
            signed(difference, 4),
            why::recovery_mark(difference),
            why::less_recovery(layout, best)
        );
        paragraph(text, &words);
    }
}

fn temperature(layouts: &[Layout], text: &mut String) {
    let ranked = why::by_temperature(layouts);
    let best = ranked[0];
    paragraph(text, &format!("Coolest air: {}, {} degC.", best.name, celsius(best.total_temperature)));
    for (rank, layout) in ranked.iter().enumerate().skip(1) {
        let difference = layout.total_temperature - best.total_temperature;
        let words = format!(
            "  {}. {} {} degC ({} K{}): {}.",
            rank + 1,
            layout.name,
            celsius(layout.total_temperature),
            signed(difference, 2),
            why::temperature_mark(difference),
            why::warmer(layout, best)
        );
        paragraph(text, &words);
    }
}
