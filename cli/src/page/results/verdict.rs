//! Which layout wins, by how much, and whether that could be measured.

mod figure;

use super::More;
use crate::layouts::{AtPoint, Layout, Made, why};
use crate::print::number::{celsius, fixed, kilopascals};
use crate::print::{Row, Table};
use figure::{Figure, Standing};
use maud::{Markup, html};

/// The verdict over all points.
pub(super) fn section(points: &[AtPoint], more: &More) -> Markup {
    let compared: Vec<&AtPoint> = points.iter().filter(|at| at.layouts.len() > 1).collect();
    html! {
        section id="verdict" {
            h2 { "Verdict" }
            @if compared.is_empty() {
                p class="lead" { "One layout: nothing is compared." }
            } @else {
                p class="lead" { (lead(&compared)) }
                (matrix(&compared))
                p class="plain" {
                    "Best in bold; = is not measurably behind: within what one pull scatters by (1 % of power), a careful roll-on or response \
                     (0.1 s), 1 % of recovery; common practice, no source. Powers are at the crank and not corrected to a standard air."
                    @if !more.has_ranges() { " No range is sampled here: " code { "report --spread N" } " tells how sure a difference is." }
                }
                @for at in compared.iter().filter(|_| more.has_ranges()) {
                    @for sentence in more.sentences(&at.name) { p class="plain" { strong { (at.name) ": " } (sentence) } }
                }
            }
        }
    }
}

/// How often each layout is best or level with the best.
fn lead(points: &[&AtPoint]) -> String {
    let names = names(points);
    let good = |name: &str| {
        let here = |at: &&&AtPoint| {
            at.layouts
                .iter()
                .any(|layout| layout.name == name && Figure::main(at).standing(layout, &at.layouts).is_good())
        };
        points.iter().filter(here).count()
    };
    let mut counted: Vec<(usize, &str)> = names.into_iter().map(|name| (good(name), name)).collect();
    counted.sort_by_key(|entry| std::cmp::Reverse(entry.0));
    let clauses = counted.chunk_by(|a, b| a.0 == b.0).enumerate().map(|(number, group)| {
        let names = group.iter().map(|entry| entry.1).collect::<Vec<_>>().join(" and ");
        let points = match group[0].0 {
            count if count == points.len() && count > 1 => format!("all {count} points"),
            count => format!("{count} of {} points", points.len()),
        };
        match (number, group.len()) {
            (0, 1) => format!("{names} is best, or not measurably behind the best, at {points}"),
            (0, _) => format!("{names} are best, or not measurably behind the best, at {points}"),
            _ => format!("{names} at {points}"),
        }
    });
    format!("{}.", clauses.collect::<Vec<_>>().join("; "))
}

/// Names of all layouts, each once.
fn names<'a>(points: &[&'a AtPoint]) -> Vec<&'a str> {
    let mut names: Vec<&str> = Vec::new();
    for layout in points.iter().flat_map(|at| &at.layouts) {
        if !names.contains(&layout.name.as_str()) {
            names.push(&layout.name);
        }
    }
    names
}

/// A row a point, a column a layout.
fn matrix(points: &[&AtPoint]) -> Markup {
    let names = names(points);
    html! {
        div class="wide" tabindex="0" role="region" aria-label="Layouts at all points" {
            table {
                thead {
                    tr {
                        th scope="col" { "point" }
                        th scope="col" { "what decides" }
                        @for name in &names { th scope="col" class="number" { (name) } }
                    }
                }
                tbody {
                    @for at in points {
                        tr {
                            th scope="row" { a href=(format!("#{}", crate::page::anchor(&at.name))) { (at.name) } }
                            td { (Figure::main(at).words(&at.layouts)) }
                            @for name in &names { (cell(at, name)) }
                        }
                    }
                }
            }
        }
    }
}

fn cell(at: &AtPoint, name: &str) -> Markup {
    let figure = Figure::main(at);
    let Some(layout) = at.layouts.iter().find(|layout| layout.name == name) else {
        return html! { td class="number" { "–" } };
    };
    let Some(value) = figure.value(layout) else { return html! { td class="number" { "not reached" } } };
    let regime = layout.engine.as_ref().map_or("", |made| made.regime.as_str());
    html! {
        td class="number" {
            @match figure.standing(layout, &at.layouts) {
                Standing::Best => { span class="best" { (figure.written(value)) } }
                Standing::Level => { (figure.written(value)) " =" }
                Standing::Behind(difference) => { (figure.written(value)) " (" (difference) ")" }
            }
            @if figure.is_power() { br; small { (regime) } }
        }
    }
}

/// What a point tells, in sentences; nothing of one layout.
pub(super) fn words(at: &AtPoint) -> String {
    let layouts = &at.layouts;
    if layouts.len() < 2 {
        return String::new();
    }
    let mut sentences = vec![Figure::main(at).sentence(layouts)];
    sentences.extend([recovery(layouts), temperature(layouts)]);
    sentences.retain(|sentence| !sentence.is_empty());
    sentences.join(" ")
}

fn recovery(layouts: &[Layout]) -> String {
    let ranked = why::by_recovery(layouts);
    let (best, last) = (ranked[0], ranked[ranked.len() - 1]);
    let difference = last.recovery - best.recovery;
    if why::recovery_mark(difference) == why::UNMEASURABLE {
        return format!(
            "Recovery: no measurable difference, {} to {}.",
            fixed(last.recovery, 4),
            fixed(best.recovery, 4)
        );
    }
    format!(
        "Recovery: most {} with {}, least {} with {}: {}.",
        best.name,
        fixed(best.recovery, 4),
        last.name,
        fixed(last.recovery, 4),
        why::less_recovery(last, best)
    )
}

fn temperature(layouts: &[Layout]) -> String {
    let ranked = why::by_temperature(layouts);
    let (best, last) = (ranked[0], ranked[ranked.len() - 1]);
    if why::temperature_mark(last.total_temperature - best.total_temperature) == why::UNMEASURABLE {
        return format!(
            "Temperature: no measurable difference, {} to {} degC.",
            celsius(best.total_temperature),
            celsius(last.total_temperature)
        );
    }
    format!(
        "Air: coolest {} with {} degC, warmest {} with {} degC: {}.",
        best.name,
        celsius(best.total_temperature),
        last.name,
        celsius(last.total_temperature),
        why::warmer(last, best)
    )
}

/// The layouts of a point in numbers.
pub(super) fn table(layouts: &[Layout]) -> Table {
    let row = |label: &str, value: &dyn Fn(&Layout) -> String| Row::new(label, layouts.iter().map(value).collect());
    let made = |label: &str, value: &dyn Fn(&Made) -> String| {
        row(label, &|layout| layout.engine.as_ref().map_or_else(|| "–".to_owned(), value))
    };
    let mut rows = Vec::new();
    if layouts.iter().any(|layout| layout.engine.is_some()) {
        rows.push(made("power at the crank, kW", &|made| fixed(1e-3 * made.power, 1)));
        rows.push(made("what holds it", &|made| made.regime.clone()));
        rows.push(made("torque, N m", &|made| fixed(made.torque, 1)));
    }
    if let Some((speeds, _)) = layouts.iter().find_map(|layout| layout.engine.as_ref()?.roll_on.as_ref()) {
        let time =
            |made: &Made| made.roll_on.as_ref().map_or_else(|| "not reached".to_owned(), |time| fixed(time.1, 2));
        rows.push(made(&format!("{speeds}, s"), &time));
    }
    if layouts.iter().any(|layout| layout.engine.as_ref().is_some_and(|made| made.response.is_some())) {
        let time = |made: &Made| made.response.map_or_else(|| "not reached".to_owned(), |time| fixed(time, 2));
        rows.push(made("to 90 % of the wanted charge, s", &time));
    }
    rows.extend([
        row("flow of all draws, g/s", &|layout| fixed(1e3 * layout.mass_flow, 1)),
        row("recovery p02/p00", &|layout| fixed(layout.recovery, 4)),
        row("lost p00-p02, kPa", &|layout| kilopascals(layout.lost)),
        row("largest static depression, kPa", &|layout| kilopascals(layout.depression)),
        row("inlet temperature T02, degC", &|layout| celsius(layout.total_temperature)),
        row("rise of T0, K", &|layout| fixed(layout.rise, 2)),
        row("run", &|layout| layout.outcome.clone()),
    ]);
    let heads = layouts.iter().map(|layout| layout.name.clone()).collect();
    Table { head: Row::new("means over the draws, by flow", heads), rows }
}
