//! Curves of results: their strokes and dots, and their names beside their ends.

use super::axis::Axis;
use super::ends::apart;
use super::thin::{self, Point};
use super::{coloured as text, escaped};

/// Distance of names [px].
pub(super) const APART: f64 = 17.0;
/// Colours of text.
const DARK: &str = "#102a43";
const GREY: &str = "#486581";
/// Strokes of results in their order, in shades of one blue: colour and dashes.
const STYLES: [(&str, &str); 8] = [
    ("#08306b", ""),
    ("#2b7bba", ""),
    ("#7fb2dc", ""),
    ("#08306b", "8 3"),
    ("#2b7bba", "8 3"),
    ("#7fb2dc", "8 3"),
    ("#08306b", "8 3 2 3"),
    ("#2b7bba", "8 3 2 3"),
];

/// How values are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Look {
    /// A line.
    Line,
    /// A thin line of short dashes: what is wanted.
    Wanted,
    /// A dot at each value.
    Dots,
    /// A hollow dot at each value: what is wanted.
    WantedDots,
}

impl Look {
    /// Whether its values stand each for itself.
    pub(super) fn is_dots(self) -> bool {
        matches!(self, Self::Dots | Self::WantedDots)
    }
}

/// Values of one result in a panel.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    /// Number of its result, which gives the colour.
    pub(super) result: usize,
    pub(super) look: Look,
    /// Across and up, in the units of the axes.
    pub(super) points: Vec<Point>,
    /// Points of it that are marked with a ring, with words below them on the right; none when they are empty.
    pub(super) rings: Vec<(Point, String)>,
    /// What is written at its end; nothing when it is empty.
    pub(super) name: String,
}

/// Attributes of the stroke of a curve.
fn stroke(curve: &Curve) -> String {
    let (colour, dashes) = STYLES[curve.result % STYLES.len()];
    let (width, dashes) = if curve.look == Look::Wanted { (1.2, "2 3") } else { (2.0, dashes) };
    format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-dasharray=\"{dashes}\"")
}

fn circle((x, y): Point, radius: f64, fill: &str, colour: &str) -> String {
    format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius}\" fill=\"{fill}\" stroke=\"{colour}\"/>\n")
}

/// Fill and edge of the dots of a look; nothing of a line.
fn dot(look: Look, colour: &str) -> Option<[&str; 2]> {
    match look {
        Look::Dots => Some([colour, "#ffffff"]),
        Look::WantedDots => Some(["none", colour]),
        Look::Line | Look::Wanted => None,
    }
}

/// A curve on its axes.
pub(super) fn drawn(curve: &Curve, across: &Axis, up: &Axis) -> String {
    let place = |(x, y): &Point| Some((across.place(*x)?, up.place(*y)?));
    let colour = STYLES[curve.result % STYLES.len()].0;
    let places: Vec<Option<Point>> = curve.points.iter().map(place).collect();
    let mut out = String::new();
    if let Some([fill, edge]) = dot(curve.look, colour) {
        // A value that is found as wanted lies within its ring.
        let radius = if curve.look == Look::WantedDots { 5.5 } else { 3.5 };
        let dots: String = places.iter().flatten().map(|at| circle(*at, radius, fill, edge)).collect();
        out.push_str(&format!("<g data-name=\"{}\">\n{dots}</g>\n", escaped(&curve.name)));
    } else {
        // A line breaks where a point has no place.
        for stretch in places.split(Option::is_none).filter(|stretch| stretch.len() > 1) {
            let stretch: Vec<Point> = stretch.iter().flatten().copied().collect();
            let points: Vec<String> = thin::line(&stretch).iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
            out.push_str(&format!(
                "<polyline points=\"{}\" {} stroke-linejoin=\"round\" data-name=\"{}\"/>\n",
                points.join(" "),
                stroke(curve),
                escaped(&curve.name)
            ));
        }
    }
    for (at, words) in &curve.rings {
        let Some((x, y)) = place(at) else { continue };
        out.push_str(&circle((x, y), 4.0, "#ffffff", colour));
        if !words.is_empty() {
            out.push_str(&text(x + 7.0, y + 18.0, "start", GREY, words));
        }
    }
    out
}

/// Names of the curves right of `end`, beside their ends and above `bottom` [px], each with the sign of its curve.
pub(super) fn names(curves: &[Curve], up: &Axis, [end, bottom]: [f64; 2]) -> String {
    let named = curves.iter().filter(|curve| !curve.name.is_empty());
    let (ends, named): (Vec<f64>, Vec<&Curve>) =
        named.filter_map(|curve| Some((curve.points.iter().rev().find_map(|point| up.place(point.1))?, curve))).unzip();
    let x = end + 8.0;
    let name = |(curve, y): (&&Curve, f64)| {
        let sign = match dot(curve.look, STYLES[curve.result % STYLES.len()].0) {
            Some([fill, edge]) => circle((x + 9.0, y), 3.5, fill, edge),
            None => format!("<path d=\"M{x:.1} {y:.1}h20\" {}/>\n", stroke(curve)),
        };
        sign + &text(x + 26.0, y + 4.0, "start", DARK, &curve.name)
    };
    named.iter().zip(apart(&ends, APART, bottom)).map(name).collect()
}
