//! The levers as a table and sentences.

use super::{Found, Scale};
use crate::print::number::{figures, fixed, signed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use tractwright::case::Number;
use tractwright::quantity::Dimension;
use tractwright::study::levers::{Lever, Sides};
use tractwright::study::{Aim, Measure, Of, Quantity};

/// Distance of the derivatives from two steps, over the derivative, from which on it is printed.
const APART: f64 = 0.02;

/// Everything.
pub(super) fn of(found: &Found<'_>) -> String {
    let mut text = String::new();
    say(&mut text, &lead(found));
    text.push_str(&format!("\n{}\n", table(found).render()));
    remarks(found).iter().for_each(|words| say(&mut text, words));
    text
}

/// What is measured, and what it is now.
pub(crate) fn lead(found: &Found<'_>) -> String {
    let scale = Scale::of(found.aim.quantity());
    format!(
        "{}: {} {}",
        measured(found.aim, found.study.measure()),
        fixed(scale.factor * found.study.now(), scale.decimals),
        scale.unit
    )
}

/// A row a field, the largest gain first.
pub(crate) fn table(found: &Found<'_>) -> Table {
    let scale = Scale::of(found.aim.quantity());
    let target = format!("{} {}", figures(scale.factor * found.target), scale.unit);
    let [change, gain] = ["change", "gain"].map(|what| format!("{what}, {}", scale.unit));
    let head = vec!["now".to_owned(), change, gain, format!("{target} is")];
    let rows = found.levers.iter().map(|(number, lever)| row(number, lever, found, &scale)).collect();
    Table { head: Row::new("field", head), rows }
}

fn say(text: &mut String, words: &str) {
    for line in wrap(words, WIDTH) {
        text.push_str(&line);
        text.push('\n');
    }
}

/// What an aim is measured by, in words.
pub(crate) fn measured(aim: Aim, measure: &Measure) -> String {
    let words = aim.quantity().words();
    match measure {
        Measure::Of(_, Of::Draw(draw)) => format!("{words} of {draw}"),
        Measure::Of(quantity, _) if quantity.is_of_engine() => format!("{words} at the crank"),
        Measure::Of(Quantity::RollOnTime, _) => words.to_owned(),
        Measure::Of(..) => format!("{words}, mean of all draws by flow"),
        Measure::Between { high, low, .. } => format!("{words} of {high} less that of {low}"),
    }
}

fn row(number: &Number, lever: &Lever, found: &Found<'_>, scale: &Scale) -> Row {
    let tolerance = lever.tolerance(found.target);
    // A difference of temperature is told in kelvin, whatever the scale.
    let (tolerance, symbol) = match number.dimension {
        Dimension::Temperature => (tolerance, "K"),
        _ => (number.unit.difference_from_si(tolerance), number.unit.symbol),
    };
    let cells = vec![
        number.text.clone(),
        format!("+{}: {}", lever.step.words, signed(scale.factor * lever.per_step(), scale.decimals)),
        fixed(scale.factor * lever.gain, scale.decimals),
        format!("{} {symbol}", figures(tolerance)).trim_end().to_owned(),
    ];
    let mut remarks = Vec::new();
    match &lever.sides {
        Sides::Both => {}
        Sides::Above(_) => remarks.push("above".to_owned()),
        Sides::Below(_) => remarks.push("below".to_owned()),
    }
    match lever.disagreement() {
        Some(apart) if apart > APART => remarks.push(format!("+-{} %", figures(100.0 * apart))),
        Some(_) => {}
        None => remarks.push("unchecked".to_owned()),
    }
    Row::new(label(number), cells).noted(remarks.join(" "))
}

/// `left_tube sections[1] diameter`.
pub(crate) fn label(number: &Number) -> String {
    number.path.strip_prefix("parts.").unwrap_or(&number.path).replace('.', " ")
}

/// What is to be known of the numbers.
pub(crate) fn remarks(found: &Found<'_>) -> Vec<String> {
    let share = |share: f64| format!("{} %", figures(100.0 * share));
    let mut remarks = vec![format!(
        "Gain: the best inside +-{} of each value as it is written, on a straight line{}. A field that parts share by `like` is \
         moved in one of them at a time.",
        share(found.study.within),
        if found.aim == Aim::Difference { ", but not beyond draws that are equal" } else { "" },
    )];
    remarks.push(format!(
        "Changes come from differences over {} of each value, on both sides where nothing else is said; where steps twice as long give \
         another one, +- says how far it lies.",
        share(found.study.step)
    ));
    for (number, lever) in &found.levers {
        if let Sides::Above(why) | Sides::Below(why) = &lever.sides {
            let side = if matches!(lever.sides, Sides::Above(_)) { "less" } else { "more" };
            remarks.push(format!("  {}: nothing for a little {side}: {why}", label(number)));
        }
    }
    remarks.extend(found.unknown.iter().map(|(number, why)| format!("  {}: unknown: {why}", label(number))));
    remarks.push(match found.without {
        1 => "1 field has no effect here.".to_owned(),
        count => format!("{count} fields have no effect here."),
    });
    remarks
}
