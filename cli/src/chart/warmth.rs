//! What warmed the air of each draw over a run through phases: its rise by root cause, as areas on top of each other.

use super::axis::Axis;
use super::drawing::Drawing;
use super::ends::apart;
use super::{coloured as text, escaped, straight as line, stretches, told, values};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::names::merged;
use crate::print::point;

/// Width of the picture, edges of a field on the left and on the right, height of a field, space above each [px].
const WIDTH: f64 = 960.0;
const EDGES: [f64; 2] = [56.0, 236.0];
const FIELD: f64 = 230.0;
const ABOVE: f64 = 76.0;
/// Height below the last field [px].
const FOOT: f64 = 46.0;
/// Distance between names beside a field [px].
const NAME: f64 = 15.0;
/// Causes that have a colour of their own; the others stand together.
const MOST: usize = 8;
/// Rise that a cause must reach at some time to be shown [K].
const TRACE: f64 = 0.05;

/// Colours that differ in hue and in lightness, the warmest cause first.
const COLOURS: [&str; MOST] = ["#b45309", "#2b7bba", "#d69e2e", "#2f855a", "#805ad5", "#7fb2dc", "#9b2c2c", "#68d391"];
const OTHERS: &str = "#a0aec0";

/// Rises of a draw by cause [K], over the records.
struct Draw {
    name: String,
    causes: Vec<(String, Vec<f64>)>,
}

/// The picture of a run through phases.
///
/// # Errors
/// The file cannot be read.
pub(super) fn drawing(opened: &Opened) -> Result<Drawing, Failure> {
    let time: Vec<f64> = opened.reading.file.time()?.iter().map(|time| time / 60.0).collect();
    let draws = draws(opened)?;
    let height = draws.len() as f64 * (ABOVE + FIELD) + FOOT;
    let title = format!("{}: what warms the air, by root cause over time", opened.reading.case_name);
    let conditions = format!("{} | {}", point::describe(&opened.point), point::air(&opened.outside));
    let mut out = String::new();
    let names = causes(&draws);
    let across = Axis::over(time.iter().copied(), false, [EDGES[0], WIDTH - EDGES[1]], 9);
    let stacks: Vec<Stack> = draws.iter().map(|draw| Stack::of(draw, &names, time.len())).collect();
    let all = || stacks.iter().flat_map(|stack| stack.bounds());
    for (number, stack) in stacks.iter().enumerate() {
        let top = number as f64 * (ABOVE + FIELD) + ABOVE;
        let up = Axis::over(all(), false, [top + FIELD, top], 6);
        for tick in &up.ticks {
            out.push_str(&line([EDGES[0], tick.place], [WIDTH - EDGES[1], tick.place], "#dfe5eb"));
            out.push_str(&text(EDGES[0] - 8.0, tick.place + 4.0, "end", "#486581", &tick.label));
        }
        for tick in &across.ticks {
            out.push_str(&text(tick.place, top + FIELD + 18.0, "middle", "#486581", &tick.label));
        }
        out.push_str(&text(EDGES[0] - 8.0, top - 8.0, "end", "#486581", "K"));
        out.push_str(&stack.drawn(&time, &across, &up));
        out.push_str(&stretches::drawn(&opened.reading.phases, &across, [top, top + FIELD]));
        out.push_str(&stack.names(&draws[number].name, &up, [top, top + FIELD]));
    }
    out.push_str(&text(WIDTH - EDGES[1], height - 8.0, "end", "#486581", "time, min"));
    let rises: Vec<(String, Vec<(f64, f64)>)> = draws
        .iter()
        .flat_map(|draw| draw.causes.iter().filter(|cause| names.contains(&cause.0)).map(move |cause| (draw, cause)))
        .map(|(draw, (cause, rise))| {
            (format!("{}: {cause}, K", draw.name), time.iter().copied().zip(rise.iter().copied()).collect())
        })
        .collect();
    let columns = rises.iter().map(|(head, points)| values::Column { head: head.clone(), points, dots: false });
    let values = values::table("time, min", &columns.collect::<Vec<_>>());
    Ok(Drawing { title, conditions: vec![conditions], size: [WIDTH, height], body: out, values, moments: None })
}

fn draws(opened: &Opened) -> Result<Vec<Draw>, Failure> {
    let (reading, network) = (&opened.reading, &opened.reading.built.network);
    let mut draws = Vec::new();
    for joint in network.draws() {
        let name = network.draw_name(joint).to_owned();
        let rises = reading.warmth(&name)?;
        let causes = reading.roots.iter().zip(rises.columns()).map(|(root, rise)| (root.clone(), rise.to_vec()));
        draws.push(Draw { causes: causes.collect(), name });
    }
    Ok(draws)
}

/// The causes that show, the warmest first.
fn causes(draws: &[Draw]) -> Vec<String> {
    let all: Vec<Vec<String>> =
        draws.iter().map(|draw| draw.causes.iter().map(|cause| cause.0.clone()).collect()).collect();
    let most = |cause: &String| {
        let own = draws.iter().flat_map(|draw| &draw.causes).filter(|known| known.0 == *cause);
        own.flat_map(|known| known.1.iter()).fold(0.0, |most: f64, rise| most.max(rise.abs()))
    };
    let mut causes: Vec<(f64, String)> = merged(&all).into_iter().map(|cause| (most(&cause), cause)).collect();
    causes.retain(|cause| cause.0 >= TRACE);
    causes.sort_by(|a, b| b.0.total_cmp(&a.0));
    causes.into_iter().take(MOST).map(|cause| cause.1).collect()
}

/// The layers of one draw.
struct Stack {
    layers: Vec<Layer>,
}

/// One cause, or those that have no colour of their own: its lower and upper bounds [K] over the records.
struct Layer {
    name: String,
    colour: &'static str,
    between: Vec<[f64; 2]>,
}

impl Stack {
    fn of(draw: &Draw, names: &[String], rows: usize) -> Self {
        let mut ends = vec![[0.0_f64; 2]; rows];
        let mut layers = Vec::new();
        let mut add = |name: String, colour: &'static str, values: &[f64]| {
            let between = ends.iter_mut().zip(values).map(|([below, above], value)| {
                // What warms stands on nothing, what cools hangs from it.
                let value = if value.is_finite() { *value } else { 0.0 };
                let end = if value < 0.0 { below } else { above };
                let from = *end;
                *end += value;
                [from, *end]
            });
            let between: Vec<[f64; 2]> = between.collect();
            if between.iter().any(|[from, to]| (to - from).abs() >= TRACE) {
                layers.push(Layer { name, colour, between });
            }
        };
        for (name, colour) in names.iter().zip(COLOURS) {
            if let Some((_, values)) = draw.causes.iter().find(|cause| cause.0 == *name) {
                add(name.clone(), colour, values);
            }
        }
        let others = draw.causes.iter().filter(|cause| !names.contains(&cause.0));
        let mut rest = vec![0.0; rows];
        for (row, value) in others.flat_map(|cause| cause.1.iter().enumerate()) {
            rest[row] += value;
        }
        add("all others".to_owned(), OTHERS, &rest);
        Self { layers }
    }

    fn bounds(&self) -> impl Iterator<Item = f64> + '_ {
        self.layers.iter().flat_map(|layer| layer.between.iter().flatten().copied()).chain([0.0])
    }

    fn drawn(&self, time: &[f64], across: &Axis, up: &Axis) -> String {
        let point = |time: &f64, value: f64| Some(format!("{:.1},{:.1}", across.place(*time)?, up.place(value)?));
        let areas = self.layers.iter().map(|layer| {
            let rows = || time.iter().zip(&layer.between);
            let there = rows().filter_map(|(time, between)| point(time, between[1]));
            let back = rows().rev().filter_map(|(time, between)| point(time, between[0]));
            let points: Vec<String> = there.chain(back).collect();
            format!(
                "<polygon points=\"{}\" fill=\"{}\"{}\n",
                points.join(" "),
                layer.colour,
                told(&layer.name, "polygon")
            )
        });
        areas.collect()
    }

    /// The draw's name and those of its layers beside the field, each at the height at which its layer ends where there is room.
    fn names(&self, draw: &str, up: &Axis, [top, bottom]: [f64; 2]) -> String {
        let x = WIDTH - EDGES[1] + 10.0;
        let middle = |layer: &Layer| {
            let [from, to] = layer.between.last().copied().unwrap_or_default();
            up.place(0.5 * (from + to)).unwrap_or(bottom)
        };
        let wanted: Vec<f64> = self.layers.iter().map(middle).collect();
        let places = apart(&wanted, NAME, bottom);
        let names = self.layers.iter().zip(places).map(|(layer, y)| {
            let square = format!(
                "<rect x=\"{x:.1}\" y=\"{:.1}\" width=\"10\" height=\"10\" fill=\"{}\"/>\n",
                y - 5.0,
                layer.colour
            );
            square + &text(x + 16.0, y + 4.0, "start", "#102a43", &layer.name)
        });
        let head = format!(
            "<text x=\"{x:.1}\" y=\"{:.1}\" font-weight=\"bold\" fill=\"#102a43\">{}</text>\n",
            top - 18.0,
            escaped(draw)
        );
        head + &names.collect::<String>()
    }
}
