//! How the first aim of a study answers to two of its inputs, the others at their best.

use super::axis::Axis;
use super::drawing::{Drawing, Values};
use super::{coloured as text, shade, told};
use crate::failure::Failure;
use crate::print::number::{fixed, trimmed};
use crate::print::study::{printed, scaled};
use crate::studied::Studied;
use tractwright::study::plan::Goal;
use tractwright::study::table::Rows;

/// Size of the field, its left and upper edge, radius of a dot [px].
const FIELD: [f64; 2] = [560.0, 300.0];
const LEFT: f64 = 74.0;
const TOP: f64 = 30.0;
const RADIUS: f64 = 9.0;

/// A place of the two inputs, and the best that was found there.
struct Best {
    at: [f64; 2],
    value: f64,
    run: usize,
}

/// The picture at a point over two inputs, by their numbers, of all layouts.
///
/// # Errors
/// The study has no aim, fewer than two inputs, or no run is done.
pub(crate) fn drawing(
    studied: &Studied,
    rows: &Rows<'_>,
    point: usize,
    inputs: [usize; 2],
) -> Result<Drawing, Failure> {
    let plan = &studied.plan;
    let wrong = |found: String, expected: &str| {
        Failure::wrong_use(format!("{}: found {found}, expected {expected}", studied.file.display()))
    };
    let Some(goal) = plan.goals.first() else { return Err(wrong("no aim".to_owned(), "one at least")) };
    if plan.variables.len() < 2 {
        return Err(wrong(format!("{} inputs", plan.variables.len()), "two at least for a surface"));
    }
    let best = best(rows, goal, point, inputs);
    if best.is_empty() {
        return Err(wrong(format!("no run that is done at {}", plan.points[point]), "one at least"));
    }
    let values = || best.iter().map(|place| place.value);
    let [low, high] = values().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)]);
    let axis = |k: usize, pixels: [f64; 2], labels: usize| {
        Axis::over(best.iter().map(|place| place.at[k]), false, pixels, labels)
    };
    let (right, bottom) = (LEFT + FIELD[0], TOP + FIELD[1]);
    let (across, up) = (axis(0, [LEFT, right], 8), axis(1, [bottom, TOP], 6));
    let name = |k: usize| {
        let variable = &plan.variables[inputs[k]];
        format!("{}, {}", variable.name, variable.unit.symbol)
    };
    let mut body = text(LEFT, TOP - 12.0, "start", "#102a43", &name(1));
    for tick in &up.ticks {
        body.push_str(&text(LEFT - 8.0, tick.place + 4.0, "end", "#486581", &tick.label));
    }
    for tick in &across.ticks {
        body.push_str(&text(tick.place, bottom + 18.0, "middle", "#486581", &tick.label));
    }
    body.push_str(&text(right, bottom + 36.0, "end", "#486581", &name(0)));
    let aim = printed(&goal.what, plan);
    for place in &best {
        let (Some(x), Some(y)) = (across.place(place.at[0]), up.place(place.at[1])) else { continue };
        let share = if high > low { (place.value - low) / (high - low) } else { 0.5 };
        let words = format!(
            "{} {}, {} {}: {aim} {}, run {}",
            name(0),
            trimmed(place.at[0], 4),
            name(1),
            trimmed(place.at[1], 4),
            written(place.value, high - low),
            place.run
        );
        body.push_str(&format!(
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{RADIUS}\" fill=\"{}\" stroke=\"#9fb3c8\"{}\n",
            shade::rgb(share),
            told(&words, "circle")
        ));
    }
    body.push_str(&text(right + 20.0, TOP + 4.0, "start", "#102a43", &aim));
    body.push_str(&shade::upright([right + 20.0, TOP + 16.0], 160.0));
    body.push_str(&text(right + 42.0, TOP + 26.0, "start", "#486581", &written(high, high - low)));
    body.push_str(&text(right + 42.0, TOP + 176.0, "start", "#486581", &written(low, high - low)));
    let rows = best.iter().map(|place| {
        vec![trimmed(place.at[0], 4), trimmed(place.at[1], 4), written(place.value, high - low), place.run.to_string()]
    });
    let others = if plan.variables.len() > 2 { ", the other inputs where it is best" } else { "" };
    Ok(Drawing {
        title: format!(
            "{}: {aim} over {} and {}",
            plan.points[point], plan.variables[inputs[0]].name, plan.variables[inputs[1]].name
        ),
        conditions: vec![format!("all layouts, all runs that were done{others}")],
        size: [right + 30.0 + 7.2 * aim.chars().count().max(16) as f64, bottom + 48.0],
        body,
        values: Values::new([name(0), name(1), aim.clone(), "run".to_owned()], rows.collect()),
        moments: None,
    })
}

/// The best run of each place.
fn best(rows: &Rows<'_>, goal: &Goal, point: usize, inputs: [usize; 2]) -> Vec<Best> {
    let mut found: Vec<Best> = Vec::new();
    for (number, row) in rows.iter().enumerate().filter(|(_, row)| row.run.point == point && row.is_done()) {
        let numbers = &row.run.numbers;
        let (Some(value), Some(x), Some(y)) = (row.value(&goal.what), numbers.get(inputs[0]), numbers.get(inputs[1]))
        else {
            continue;
        };
        let new = Best { at: [*x, *y], value: scaled(&goal.what, value), run: number };
        let here = |place: &&mut Best| place.at.iter().zip(new.at).all(|(a, b)| a.total_cmp(&b).is_eq());
        match found.iter_mut().find(here) {
            Some(place) if goal.cost(new.value) < goal.cost(place.value) => *place = new,
            Some(_) => {}
            None => found.push(new),
        }
    }
    found
}

/// A value with the decimals that tell a hundredth of a span.
fn written(value: f64, span: f64) -> String {
    let decimals = if span > 0.0 { (2.0 - span.log10().floor()).clamp(0.0, 6.0) as usize } else { 3 };
    fixed(value, decimals)
}
