//! The loss waterfall: from the total pressure of the free stream down to that at each draw, a bar for each loss.

use super::drawing::{Drawing, Values};
use super::{escaped, path, told};
use crate::failure::Failure;
use crate::ledgers::{Booked, Ledgers};
use crate::opened::Opened;
use crate::print::number::{fixed, kilopascals};
use crate::print::point;

/// Height of a line [px].
const LINE: f64 = 24.0;
/// Height of a bar [px].
const BAR: f64 = 15.0;
/// Width of the column of labels [px].
const LABELS: f64 = 190.0;
/// Width of a branch's panel [px].
const PANEL: f64 = 380.0;
/// Room beside the longest bar for its number [px].
const NUMBER: f64 = 96.0;
/// Space between panels, and at the edges [px].
const GAP: f64 = 20.0;
/// Height above the first line: heads [px].
const HEAD: f64 = 40.0;
/// Pressure by which a gauge may pass the end of a bar and still belong to it [Pa].
const SAME_PLACE: f64 = 1.0;
/// Steps of the axis are one, two or five times a power of ten; about this many stand on it.
const TICKS: f64 = 4.0;

/// One hue, from the strongest basis to the weakest; what is assumed is hatched.
const SHADES: [(&str, &str, &str); 3] = [
    ("measured", "#08306b", "measured"),
    ("handbook", "#2b7bba", "handbook or solved"),
    ("ASSUMED", "url(#hatch)", "ASSUMED"),
];

fn shade(basis: &[String]) -> &'static str {
    let word = basis.first().map_or("", String::as_str);
    SHADES.iter().find(|shade| word.starts_with(shade.0)).map_or(SHADES[1].1, |shade| shade.1)
}

/// What the axis of every panel spans [Pa]: the running totals of all branches, which go below zero where a mouth gains
/// from a fan that the free stream does not hold.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Span {
    least: f64,
    most: f64,
}

impl Span {
    /// Of the `losses` of branches that lost so much as a whole, of which what is too small for the list is a part.
    fn of(losses: &[Booked], wholes: &[f64]) -> Self {
        let mut span = Self { least: 0.0, most: 1.0 };
        for (branch, whole) in wholes.iter().enumerate() {
            span = Self { least: span.least.min(*whole), most: span.most.max(*whole) };
            let mut total = 0.0;
            for lost in losses.iter().filter_map(|loss| loss.values[branch]) {
                total += lost;
                span = Self { least: span.least.min(total), most: span.most.max(total) };
            }
        }
        span
    }
}

/// The waterfall of a result.
///
/// # Errors
/// The case cannot be read.
pub(crate) fn drawing(opened: &Opened) -> Result<Drawing, Failure> {
    let branches = &opened.summary.branches;
    let ledgers = Ledgers::of(branches);
    let span = Span::of(&ledgers.losses, &branches.iter().map(|branch| branch.lost).collect::<Vec<_>>());
    let scale = (PANEL - NUMBER) / (span.most - span.least);
    let lines = ledgers.losses.len() as f64 + 1.0;
    let width = LABELS + branches.len() as f64 * (PANEL + GAP) + 2.0 * GAP;
    let bottom = HEAD + lines * LINE;
    let mut body = labels(&ledgers.losses);
    for (number, branch) in branches.iter().enumerate() {
        let left = GAP + LABELS + number as f64 * (PANEL + GAP);
        let head = format!(
            "{}: p02 {} kPa, recovery {}",
            ledgers.heads[number],
            kilopascals(branch.total_pressure),
            fixed(branch.recovery, 4)
        );
        body.push_str(&text(left, HEAD - 18.0, 13.0, "start", "#102a43", "bold", &head));
        let zero = left - scale * span.least;
        body.push_str(&axis(zero, bottom, span, scale));
        body.push_str(&bars(&ledgers.losses, number, zero, scale));
        body.push_str(&dots(opened, number, &ledgers.losses, zero, scale)?);
        let y = HEAD + (lines - 1.0) * LINE;
        let end = zero + scale * branch.lost;
        let hover = format!("p00 - p02: {} kPa", kilopascals(branch.lost));
        body.push_str(&bar(zero.min(end), y, (end - zero).abs(), "#334e68", &hover));
        let total = format!("{} kPa", kilopascals(branch.lost));
        body.push_str(&text(zero.max(end) + 6.0, y + 16.0, 12.0, "start", "#102a43", "bold", &total));
    }
    body.push_str(&legend(bottom + 66.0));
    let conditions = format!(
        "{} | {} | free stream p00 {} kPa | means over {} to {} s",
        point::describe(&opened.point),
        point::air(&opened.outside),
        kilopascals(opened.summary.free_stream_total_pressure),
        fixed(opened.summary.window.from, 3),
        fixed(opened.summary.window.to, 3),
    );
    let mut conditions = vec![conditions];
    let measured = opened.beside.iter().filter_map(|(log, beside)| Some((log, beside.state()?)));
    conditions.extend(measured.map(|(log, beside)| {
        format!(
            "rings: measured, with the velocity head of the model beside wall taps, {}, {}",
            log.display(),
            beside.station
        )
    }));
    Ok(Drawing {
        title: format!("{}: where total pressure is lost", opened.reading.case_name),
        conditions,
        size: [width, bottom + 92.0],
        body,
        values: values(&ledgers),
        moments: None,
    })
}

fn values(ledgers: &Ledgers) -> Values {
    let heads = ledgers.heads.iter().flat_map(|head| [format!("{head}, kPa"), format!("{head}, % of the loss")]);
    let cell = |value: Option<f64>, factor: f64, decimals: usize| {
        value.map_or_else(|| "–".to_owned(), |value| fixed(factor * value, decimals))
    };
    let rows = ledgers.losses.iter().map(|loss| {
        let numbers = loss.values.iter().zip(&loss.shares);
        let cells = numbers.flat_map(|(value, share)| [cell(*value, 1e-3, 3), cell(*share, 100.0, 1)]);
        std::iter::once(loss.label.clone()).chain(cells).chain([loss.basis.join("; ")]).collect()
    });
    let heads = std::iter::once("lost in".to_owned()).chain(heads).chain(["basis".to_owned()]);
    Values::new(heads, rows.collect())
}

fn labels(losses: &[Booked]) -> String {
    let mut out = String::new();
    let names = losses.iter().map(|loss| loss.label.as_str()).chain(["p00 - p02"]);
    for (line, name) in names.enumerate() {
        let y = HEAD + line as f64 * LINE + 16.0;
        let weight = if line == losses.len() { "bold" } else { "normal" };
        out.push_str(&text(GAP + LABELS - 10.0, y, 12.0, "end", "#102a43", weight, &shortened(name)));
    }
    out
}

/// A label that fits its column; the whole stands in the table of `summary`. The name of the part gives way, for what is
/// lost there tells the lines of one part apart.
fn shortened(name: &str) -> String {
    const MOST: usize = 25;
    let (part, what) = name.split_at(name.rfind(": ").unwrap_or(name.len()));
    let (part_length, what_length) = (part.chars().count(), what.chars().count());
    if part_length + what_length <= MOST {
        return name.to_owned();
    }
    let kept = MOST.saturating_sub(what_length + 1).max(MOST / 3);
    if part_length <= kept {
        return name.chars().take(MOST - 1).chain(['…']).collect();
    }
    part.chars().take(kept).chain(['…']).chain(what.chars().take(MOST - 1 - kept)).collect()
}

fn bars(losses: &[Booked], branch: usize, zero: f64, scale: f64) -> String {
    let mut out = String::new();
    let mut before = 0.0;
    for (line, loss) in losses.iter().enumerate() {
        let Some(lost) = loss.values[branch] else { continue };
        let y = HEAD + line as f64 * LINE;
        let (from, to) = (zero + scale * before, zero + scale * (before + lost));
        let share = 100.0 * loss.shares[branch].unwrap_or(0.0);
        let hover =
            format!("{}: {} kPa, {} % ({})", loss.label, kilopascals(lost), fixed(share, 1), loss.basis.join("; "));
        out.push_str(&bar(from.min(to), y, (to - from).abs(), shade(&loss.basis), &hover));
        // The level that the next loss starts from.
        out.push_str(&format!(
            "<line x1=\"{to:.2}\" x2=\"{to:.2}\" y1=\"{:.2}\" y2=\"{:.2}\" stroke=\"#9fb3c8\"/>\n",
            y + 4.0 + BAR,
            y + LINE + 4.0
        ));
        let number = format!("{} ({} %)", kilopascals(lost), fixed(share, 0));
        out.push_str(&text(from.max(to) + 6.0, y + 16.0, 11.5, "start", "#334e68", "normal", &number));
        before += lost;
    }
    out
}

/// Readings as rings: across by the total pressure that they say is lost, down at the loss in whose bar the model has the gauge.
fn dots(opened: &Opened, branch: usize, losses: &[Booked], zero: f64, scale: f64) -> Result<String, Failure> {
    let (free, outside) = (opened.summary.free_stream_total_pressure, opened.outside.pressure);
    let parts = path::parts(opened, &opened.summary.branches[branch])?;
    let mut out = String::new();
    for tap in opened.taps().filter(|tap| parts.iter().any(|part| part.name == tap.part)) {
        let Some(total) = tap.total_pressure(outside) else { continue };
        let (lost, modelled) = (free - total, free - tap.air.total_pressure);
        let mut before = 0.0;
        let line = losses.iter().position(|loss| {
            before += loss.values[branch].unwrap_or(0.0);
            before >= modelled - SAME_PLACE
        });
        let y = HEAD + line.unwrap_or(losses.len()) as f64 * LINE + 4.0 + 0.5 * BAR;
        let hover = format!(
            "{}: {} kPa lost as measured, {} in the model",
            tap.channel.name,
            kilopascals(lost),
            kilopascals(modelled)
        );
        out.push_str(&format!(
            "<circle cx=\"{:.2}\" cy=\"{y:.2}\" r=\"4.5\" fill=\"#ffffff\" stroke=\"#102a43\" stroke-width=\"2\"{}\n",
            zero + scale * lost,
            told(&hover, "circle")
        ));
    }
    Ok(out)
}

fn bar(x: f64, y: f64, width: f64, fill: &str, hover: &str) -> String {
    let width = width.max(1.0);
    format!(
        "<rect x=\"{x:.2}\" y=\"{:.2}\" width=\"{width:.2}\" height=\"{BAR}\" fill=\"{fill}\"{}\n",
        y + 4.0,
        told(hover, "rect")
    )
}

fn axis(zero: f64, bottom: f64, span: Span, scale: f64) -> String {
    let step = tick(span.most - span.least);
    let mut out = String::new();
    let mut count = (span.least / step - 0.001).ceil();
    while count * step <= span.most + 0.001 * step {
        let x = zero + scale * count * step;
        let y = bottom + 8.0;
        let stroke = if count == 0.0 { "#9fb3c8" } else { "#dfe5eb" };
        out.push_str(&format!("<line x1=\"{x:.2}\" x2=\"{x:.2}\" y1=\"{HEAD}\" y2=\"{y:.2}\" stroke=\"{stroke}\"/>\n"));
        // Adding zero makes a negative zero plain.
        let number = fixed(1e-3 * count * step + 0.0, decimals(step));
        out.push_str(&text(x, y + 14.0, 11.0, "middle", "#486581", "normal", &number));
        count += 1.0;
    }
    let middle = zero + 0.5 * scale * (span.least + span.most);
    let title = "total pressure lost since the free stream, kPa";
    out.push_str(&text(middle, bottom + 38.0, 11.0, "middle", "#486581", "normal", title));
    out
}

/// Step of the axis [Pa].
fn tick(longest: f64) -> f64 {
    let rough = longest / TICKS;
    let power = 10_f64.powf(rough.log10().floor());
    let factor = [1.0, 2.0, 5.0].into_iter().find(|factor| factor * power >= rough).unwrap_or(10.0);
    factor * power
}

/// Decimals that tell steps of `step` [Pa] apart in kilopascals.
fn decimals(step: f64) -> usize {
    (3.0 - step.log10().floor()).clamp(0.0, 4.0) as usize
}

fn legend(y: f64) -> String {
    let mut out = String::new();
    let mut x = GAP + LABELS;
    for (_, fill, name) in SHADES {
        out.push_str(&format!("<rect x=\"{x}\" y=\"{:.2}\" width=\"22\" height=\"12\" fill=\"{fill}\"/>\n", y - 10.0));
        out.push_str(&text(x + 28.0, y, 11.5, "start", "#334e68", "normal", name));
        x += 60.0 + 7.0 * name.len() as f64;
    }
    out
}

fn text(x: f64, y: f64, size: f64, anchor: &str, fill: &str, weight: &str, words: &str) -> String {
    format!(
        "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size}\" text-anchor=\"{anchor}\" fill=\"{fill}\" font-weight=\"{weight}\">{}</text>\n",
        escaped(words)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_few() {
        for (longest, step) in [(1_733.0, 500.0), (4_000.0, 1_000.0), (90.0, 50.0), (7.0, 2.0_f64)] {
            assert!((tick(longest) - step).abs() < 1e-9 * step, "{longest}: {}", tick(longest));
        }
        assert_eq!((decimals(500.0), decimals(1_000.0), decimals(20.0)), (1, 0, 2));
    }

    #[test]
    fn a_gain_before_all_losses_stays_right_of_the_labels() {
        let loss = |lost: f64| Booked {
            label: String::new(),
            places: vec![Some(0)],
            values: vec![Some(lost)],
            shares: vec![None],
            basis: Vec::new(),
        };
        let span = Span::of(&[loss(-88.0), loss(29.0), loss(1_173.0)], &[1_114.0]);
        assert_eq!(span, Span { least: -88.0, most: 1_114.0 });
        // A gain behind the losses: the total before it is the widest bar.
        assert_eq!(Span::of(&[loss(500.0), loss(-100.0)], &[400.0]), Span { least: 0.0, most: 500.0 });
        assert_eq!(Span::of(&[loss(2.0)], &[5.0]), Span { least: 0.0, most: 5.0 });
        let picture = axis(-span.least, 0.0, span, 1.0);
        assert!(picture.contains(">0.0<") && picture.contains(">1.0<") && !picture.contains(">-0.0<"), "{picture}");
    }

    #[test]
    fn a_long_label_keeps_what_is_lost() {
        assert_eq!(shortened("tube: bends"), "tube: bends");
        assert_eq!(shortened("a_rather_long_name_of_a_mouth: mouth"), "a_rather_long_nam…: mouth");
        assert_eq!(shortened("an_elbow_with_a_very_long_name"), "an_elbow_with_a_very_lon…");
    }

    #[test]
    fn a_name_cannot_break_out_of_the_picture() {
        assert_eq!(escaped("<b a=\"1\">&"), "&lt;b a=&quot;1&quot;&gt;&amp;");
    }
}
