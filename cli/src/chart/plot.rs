//! A figure of a check as SVG that stands in an HTML page, whose style sheet gives the colours.

use super::axis::{Axis, superscript};
use super::escaped;
use super::thin::{self, Point};
use tractwright_validation::figure::{Curve, Figure, Role};

/// Size [px].
const SIZE: [f64; 2] = [560.0, 290.0];
/// Edges of the field of the curves from above, right and below [px]; what is left depends on the labels.
const EDGES: [f64; 3] = [30.0, 12.0, 44.0];
/// Width of a letter of a label [px].
const LETTER: f64 = 6.6;
/// Computed curves and references that look different.
const STYLES: usize = 8;

/// The figure with its title above and the names of its curves below.
pub(crate) fn html(figure: &Figure) -> String {
    let names: String = styled(figure)
        .filter(|(curve, _)| is_first(figure, curve))
        .map(|(curve, style)| format!("<li>{}{}</li>", key(curve.role, style), escaped(&curve.name)))
        .collect();
    format!(
        "<figure>\n<figcaption>{}</figcaption>\n{}<ul class=\"key\">{names}</ul>\n</figure>\n",
        escaped(&figure.title),
        svg(figure)
    )
}

/// Curves with the numbers of their styles, counted by role; those of one name look the same.
fn styled(figure: &Figure) -> impl Iterator<Item = (&Curve, usize)> {
    figure.curves.iter().map(|curve| {
        let mut names: Vec<&str> = Vec::new();
        for other in figure.curves.iter().filter(|other| other.role == curve.role) {
            if !names.contains(&other.name.as_str()) {
                names.push(&other.name);
            }
        }
        let place = names.iter().position(|name| *name == curve.name).unwrap_or(0);
        (curve, place % STYLES)
    })
}

/// Whether a curve is the first of its role and name.
fn is_first(figure: &Figure, curve: &Curve) -> bool {
    let same = |other: &&Curve| other.role == curve.role && other.name == curve.name;
    figure.curves.iter().find(same).is_some_and(|first| std::ptr::eq(first, curve))
}

fn svg(figure: &Figure) -> String {
    let points = || figure.curves.iter().flat_map(|curve| &curve.points);
    let [above, right, below] = EDGES;
    let [across_is_logarithmic, up_is_logarithmic] = figure.logarithmic;
    let up = Axis::over(points().map(|point| point.1), up_is_logarithmic, [SIZE[1] - below, above], 5);
    let longest = up.ticks.iter().map(|tick| tick.label.chars().count()).max().unwrap_or(0);
    let left = 14.0 + LETTER * longest as f64;
    let across = Axis::over(points().map(|point| point.0), across_is_logarithmic, [left, SIZE[0] - right], 7);
    let mut out = opening(SIZE, &figure.title);
    out.push_str(&frame(&across, &up, left));
    out.push_str(&titles(figure, &across, &up, left));
    let drawn = |role| styled(figure).filter(move |(curve, _)| curve.role == role);
    // Dots stand over the lines that they are compared with.
    for (curve, style) in drawn(Role::Bound).chain(drawn(Role::Reference)).chain(drawn(Role::Computed)) {
        out.push_str(&drawn_curve(curve, style, &across, &up));
    }
    out.push_str("</svg>\n");
    out
}

/// The opening of a picture of a size [px].
pub(super) fn opening(size: [f64; 2], title: &str) -> String {
    let [width, height] = size;
    format!("<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"{}\">\n", escaped(title))
}

/// A text at a place [px].
pub(super) fn text(x: f64, y: f64, anchor: &str, words: &str) -> String {
    format!("<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{}</text>\n", escaped(words))
}

fn frame(across: &Axis, up: &Axis, left: f64) -> String {
    let [above, right, below] = EDGES;
    let (bottom, end) = (SIZE[1] - below, SIZE[0] - right);
    let (mut grid, mut labels) = (String::new(), String::new());
    for tick in &across.ticks {
        let x = tick.place;
        if tick.label.is_empty() {
            grid.push_str(&format!("M{x:.1} {bottom:.1}v-3"));
        } else {
            grid.push_str(&format!("M{x:.1} {above:.1}V{:.1}", bottom + 4.0));
            labels.push_str(&text(x, bottom + 17.0, "middle", &tick.label));
        }
    }
    for tick in &up.ticks {
        let y = tick.place;
        if tick.label.is_empty() {
            grid.push_str(&format!("M{left:.1} {y:.1}h3"));
        } else {
            grid.push_str(&format!("M{:.1} {y:.1}H{end:.1}", left - 4.0));
            labels.push_str(&text(left - 7.0, y + 4.0, "end", &tick.label));
        }
    }
    let box_ = format!("M{left:.1} {above:.1}V{bottom:.1}H{end:.1}");
    format!("<path class=\"grid\" d=\"{grid}\"/>\n<path class=\"frame\" d=\"{box_}\"/>\n{labels}")
}

fn titles(figure: &Figure, across: &Axis, up: &Axis, left: f64) -> String {
    let scaled = |title: &str, axis: &Axis| match axis.power {
        0 => title.to_owned(),
        power => format!("{title} × 10{}", superscript(-power)),
    };
    let middle = 0.5 * (left + SIZE[0] - EDGES[1]);
    text(4.0, 15.0, "start", &scaled(&figure.up, up))
        + &text(middle, SIZE[1] - 7.0, "middle", &scaled(&figure.across, across))
}

fn drawn_curve(curve: &Curve, style: usize, across: &Axis, up: &Axis) -> String {
    let place = |(x, y): &(f64, f64)| Some((across.place(*x)?, up.place(*y)?));
    let places: Vec<Option<Point>> = curve.points.iter().map(place).collect();
    // A curve breaks where a point has no place.
    let stretches = places.split(Option::is_none).map(|stretch| stretch.iter().flatten().copied().collect::<Vec<_>>());
    match curve.role {
        Role::Computed => dots(&stretches.flat_map(|stretch| thin::dots(&stretch)).collect::<Vec<_>>(), style),
        Role::Reference => line("line", style, stretches),
        Role::Bound => line("bound", style, stretches),
    }
}

fn line(class: &str, style: usize, stretches: impl Iterator<Item = Vec<Point>>) -> String {
    let mut path = String::new();
    for stretch in stretches {
        // A point alone is a short dash.
        if let [(x, y)] = stretch[..] {
            path.push_str(&format!("M{:.1} {y:.1}h10", x - 5.0));
            continue;
        }
        for (number, (x, y)) in thin::line(&stretch).into_iter().enumerate() {
            path.push_str(&format!("{}{x:.1} {y:.1}", if number == 0 { "M" } else { "L" }));
        }
    }
    format!("<path class=\"{class} s{style}\" d=\"{path}\"/>\n")
}

/// Dots, every other style of them hollow: a line of no length with round or square ends, and over it a smaller one of the paper.
pub(super) fn dots(points: &[Point], style: usize) -> String {
    let path: String = points.iter().map(|(x, y)| format!("M{x:.1} {y:.1}h0")).collect();
    let hollow = if style % 2 == 1 { format!("<path class=\"hole s{style}\" d=\"{path}\"/>\n") } else { String::new() };
    format!("<path class=\"dots s{style}\" d=\"{path}\"/>\n{hollow}")
}

/// The sign of a curve in the list of names.
fn key(role: Role, style: usize) -> String {
    let sign = match role {
        Role::Computed => dots(&[(6.0, 6.0), (14.0, 6.0), (22.0, 6.0)], style),
        Role::Reference => line("line", style, std::iter::once(vec![(1.0, 6.0), (27.0, 6.0)])),
        Role::Bound => line("bound", style, std::iter::once(vec![(1.0, 6.0), (27.0, 6.0)])),
    };
    format!("<svg class=\"sign\" viewBox=\"0 0 28 12\" aria-hidden=\"true\">{sign}</svg>")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_has_its_curves_axes_and_names() {
        let points = (1..=400).map(|k| (f64::from(k), if k == 200 { f64::NAN } else { f64::from(k * k) }));
        let figure = Figure::new("A <title>", "flow [kg/s]", "drop [Pa]")
            .logarithmic(true, true)
            .computed("solver", points.clone())
            .computed("other march", points.clone())
            .reference("exact", points)
            .curve(Role::Bound, "edge", [(1.0, 1.0), (400.0, 2.0), (-3.0, 1.0)])
            .curve(Role::Bound, "edge", [(1.0, 3.0)]);
        let html = html(&figure);
        assert_eq!(html.matches("</svg>edge</li>").count(), 1, "{html}");
        for words in ["A &lt;title&gt;", "flow [kg/s]", "drop [Pa]", "solver", "exact", "edge", "class=\"hole s1\""] {
            assert!(html.contains(words), "{words}: {html}");
        }
        assert!(!html.contains("NaN") && !html.contains("inf"), "{html}");
        // Thinned to what can be seen: a straight line has two points on each side of its gap.
        let exact = html.lines().find(|line| line.contains("class=\"line s0\"")).unwrap();
        assert_eq!(exact.matches(['M', 'L']).count(), 4, "{exact}");
        assert!(html.len() < 9_000, "{}", html.len());
    }

    #[test]
    fn a_figure_without_points_is_drawn_all_the_same() {
        assert!(html(&Figure::new("t", "x", "y").computed("none", [])).contains("</svg>"));
    }
}
