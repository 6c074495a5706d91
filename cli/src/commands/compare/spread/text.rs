//! The sampled comparison as tables and sentences.

use super::Sampled;
use super::verdict::{Verdict, sets};
use crate::print::number::{fixed, signed, trimmed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use tractwright::study::spread::Difference;
use tractwright::study::{Of, Quantity};

/// Fields that are named before the rest is only counted.
const NAMED: usize = 6;

/// All points, one after another.
pub(super) fn of(all: &[Sampled]) -> String {
    let mut text: String = all.iter().map(|sampled| format!("{}\n", at(sampled))).collect();
    let Some(Sampled { noise, .. }) = all.first() else { return text };
    say(
        &mut text,
        &format!(
            "Sets: pulls or roll-ons A-B-A that show the difference with a confidence of 95 % and a power of 80 %, where one pull scatters by {} % \
             and one roll-on by {} s (standard deviations; common practice, no source): n = ((1.960 + 0.842) s / difference)^2, s^2 = 1.5 of \
             one's variance (B less the mean of two A); sample size of a mean, Montgomery, Design and Analysis of Experiments, chapter 2 \
             (from memory).",
            trimmed(100.0 * noise.pull, 2),
            trimmed(noise.roll_on, 3)
        ),
    );
    text
}

fn say(text: &mut String, words: &str) {
    for line in wrap(words, WIDTH) {
        text.push_str(&line);
        text.push('\n');
    }
}

fn at(sampled: &Sampled) -> String {
    let mut text = String::new();
    let [kept, left] = sampled.counts;
    say(&mut text, &format!("{}: {kept} paired samples, seed {}; {}", sampled.point, sampled.seed, inputs(sampled)));
    if let Some(why) = &sampled.left_out {
        say(&mut text, &format!("{left} samples were left out: {why}"));
    }
    for (table, verdict) in answers(sampled) {
        text.push('\n');
        text.push_str(&table.render());
        say(&mut text, &verdict);
    }
    text
}

/// A table and a sentence for each layout but the first.
pub(crate) fn answers(sampled: &Sampled) -> Vec<(Table, String)> {
    let layouts = sampled.names.iter().skip(1).zip(&sampled.differences);
    layouts.map(|(name, found)| (table(name, found, sampled), verdict(name, found, sampled))).collect()
}

/// What spreads, in words.
pub(crate) fn inputs(sampled: &Sampled) -> String {
    let named = sampled.fields.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
    match sampled.fields.len() {
        0 => "no field carries a spread: only the laws of handbook losses do".to_owned(),
        count if count > NAMED => {
            format!("laws of handbook losses and {count} fields spread: {named} and {} more", count - NAMED)
        }
        _ => format!("laws of handbook losses and these fields spread: {named}"),
    }
}

fn table(name: &str, differences: &[Difference], sampled: &Sampled) -> Table {
    let head = ["median", "10 %", "90 %", "sets"].map(str::to_owned).to_vec();
    let rows = differences.iter().map(|difference| {
        let (factor, unit, decimals) = scale(difference.quantity);
        let cell = |value: f64| signed(factor * value, decimals);
        let sets = sets(difference, sampled.noise).map_or_else(|| "-".to_owned(), |sets| sets.to_string());
        let [low, high] = difference.range;
        let label = format!("{}, {unit}", label(difference));
        let verdict = Verdict::of(difference, sampled.noise).words();
        Row::new(label, vec![cell(difference.median), cell(low), cell(high), sets]).noted(verdict)
    });
    let head = Row::new(format!("{name} less {}", sampled.names[0]), head);
    Table { head, rows: rows.collect() }
}

fn label(difference: &Difference) -> String {
    let words = difference.quantity.words();
    match &difference.of {
        Of::Whole => words.to_owned(),
        Of::Draw(draw) => format!("  {words} of {draw}"),
        Of::Difference => format!("  {words}, between draws"),
    }
}

/// Factor from SI, unit and decimals in which a quantity is printed.
fn scale(quantity: Quantity) -> (f64, &'static str, usize) {
    match quantity {
        Quantity::Power => (1e-3, "kW", 2),
        Quantity::Torque => (1.0, "N m", 2),
        Quantity::MassFlow => (1e3, "g/s", 2),
        Quantity::Recovery => (1e2, "%", 3),
        Quantity::TotalPressure => (1.0, "Pa", 1),
        Quantity::InletTemperature => (1.0, "K", 3),
        Quantity::RollOnTime | Quantity::ResponseTime => (1.0, "s", 3),
    }
}

/// What can be said of a layout against the first, in a sentence.
fn verdict(name: &str, differences: &[Difference], sampled: &Sampled) -> String {
    let first = &sampled.names[0];
    let whole = |quantity: Quantity| differences.iter().find(|d| d.quantity == quantity && d.of == Of::Whole);
    let mut clauses = Vec::new();
    let measured = [Quantity::RollOnTime, Quantity::Power].into_iter().find(|quantity| whole(*quantity).is_some());
    let measured = measured.unwrap_or(Quantity::MassFlow);
    for (quantity, more, less) in [
        (Quantity::Power, "makes more power", "makes less power"),
        (Quantity::RollOnTime, "needs longer", "is faster"),
        (Quantity::ResponseTime, "responds later", "responds sooner"),
        (Quantity::Recovery, "recovers more", "recovers less"),
        (Quantity::InletTemperature, "draws warmer air", "draws cooler air"),
        (Quantity::MassFlow, "takes more air", "takes less air"),
    ] {
        let Some(difference) = whole(quantity) else { continue };
        let (factor, unit, decimals) = scale(quantity);
        let word = if difference.median > 0.0 { more } else { less };
        let size = fixed(factor * difference.median.abs(), decimals);
        clauses.push(match Verdict::of(difference, sampled.noise) {
            Verdict::EitherWay | Verdict::BelowNoise if matches!(quantity, Quantity::Power | Quantity::RollOnTime) => {
                let percent = 100.0 * difference.relative();
                let words = quantity.words();
                format!("in {words} NOT MEASURABLE: it {word} by {size} {unit} ({} %)", fixed(percent, 2))
            }
            Verdict::EitherWay => format!("in {} nobody can tell them apart", quantity.words()),
            // A sign that is sure of what no digit shows.
            Verdict::Signed if size.chars().all(|digit| matches!(digit, '0' | '.')) => {
                format!("in {} nobody can tell them apart", quantity.words())
            }
            Verdict::BelowNoise => format!("it {word} by {size} {unit}, which one pull cannot show"),
            Verdict::Measurable | Verdict::Signed => format!("it {word} by {size} {unit}"),
        });
        if quantity == measured
            && let Some(sets) = sets(difference, sampled.noise).filter(|_| !difference.includes_zero())
        {
            clauses.push(format!("{sets} sets A-B-A would show it"));
        }
    }
    format!("{name} against {first}: {}.", clauses.join("; "))
}
