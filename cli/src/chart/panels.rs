//! Panels one above another over one shared axis, with strips of named stretches above them.

use super::axis::Axis;
use super::coloured as text;
use super::curves::{APART as LINE, Curve, drawn, names};
use super::drawing::{Drawing, Values};
use super::escaped;
use super::values;

/// Width of the panels, what is left of them, room between them, height of a strip with its gap [px].
const FIELD: f64 = 620.0;
const LEFT: f64 = 64.0;
const GAP: f64 = 34.0;
const STRIP: f64 = 20.0;
/// Width of a letter [px].
const LETTER: f64 = 7.2;
/// Colours of text and of thin lines.
const DARK: &str = "#102a43";
const GREY: &str = "#486581";
const THIN: &str = "#dfe5eb";
const MARK: &str = "#9fb3c8";

/// A line across a panel at a value, with words at its start (below it) or at its end (above it).
#[derive(Debug)]
pub(super) struct Level {
    pub(super) value: f64,
    pub(super) words: String,
    pub(super) at_start: bool,
}

/// A panel.
#[derive(Debug, Default)]
pub(super) struct Panel {
    /// Quantity, unit and basis.
    pub(super) title: String,
    /// Height [px]; more where the names need it.
    pub(super) height: f64,
    pub(super) curves: Vec<Curve>,
    pub(super) levels: Vec<Level>,
    /// What lies behind its curves.
    pub(super) bands: Vec<Band>,
    /// Whether each step upwards is a factor.
    pub(super) logarithmic: bool,
}

/// An area between two lines, named in the title of its panel.
#[derive(Debug)]
pub(super) struct Band {
    /// Across, and up below and above.
    pub(super) points: Vec<(f64, [f64; 2])>,
    pub(super) shade: &'static str,
}

impl Band {
    /// Shades of what scatters in a measurement, and of what is not known of a case.
    pub(super) const NOISE: &'static str = "#dbe9f6";
    pub(super) const RANGE: &'static str = "#c3d3e3";
}

impl Panel {
    /// Height that holds the names of its curves [px].
    fn height(&self) -> f64 {
        let names = self.curves.iter().filter(|curve| !curve.name.is_empty()).count();
        self.height.max(LINE * names as f64)
    }
}

/// A stretch of a strip.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    pub(super) from: f64,
    pub(super) to: f64,
    /// What is written in it where it fits, and where only little fits.
    pub(super) words: String,
    pub(super) short: String,
    /// What is told of it when it is pointed at; nothing when it is empty.
    pub(super) told: String,
    pub(super) shade: &'static str,
}

/// Stretches of one result, named at their end.
#[derive(Debug)]
pub(super) struct Strip {
    pub(super) name: String,
    pub(super) stretches: Vec<Stretch>,
}

/// The whole picture.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) title: String,
    /// Lines below the title: conditions and basis.
    pub(super) conditions: Vec<String>,
    /// Title of the shared axis.
    pub(super) across: String,
    /// What the strips show.
    pub(super) strips_title: String,
    pub(super) strips: Vec<Strip>,
    /// Whether the stretches of the first strip lie behind the panels too.
    pub(super) behind: bool,
    pub(super) panels: Vec<Panel>,
    /// Shades with their meaning.
    pub(super) key: Vec<(&'static str, String)>,
}

impl Sheet {
    /// The picture.
    pub(super) fn drawing(self) -> Drawing {
        let curves = || self.panels.iter().flat_map(|panel| &panel.curves);
        let xs = curves().flat_map(|curve| curve.points.iter().map(|point| point.0));
        let stretches = self.strips.iter().flat_map(|strip| &strip.stretches);
        let across = Axis::over(
            xs.chain(stretches.flat_map(|stretch| [stretch.from, stretch.to])),
            false,
            [LEFT, LEFT + FIELD],
            9,
        );
        let strip_names = self.strips.iter().map(|strip| strip.name.chars().count());
        let longest = curves().map(|curve| curve.name.chars().count()).chain(strip_names).max().unwrap_or(0);
        let width = (LEFT + FIELD + 46.0 + LETTER * longest as f64).ceil();
        let strips = if self.strips.is_empty() { 0.0 } else { LINE + STRIP * self.strips.len() as f64 };
        let mut above = strips + 30.0;
        let mut fields = String::new();
        let mut bottom = above;
        for panel in &self.panels {
            bottom = above + panel.height();
            fields.push_str(&self.panel(panel, &across, [above, bottom]));
            above = bottom + GAP;
        }
        for tick in &across.ticks {
            fields.push_str(&text(tick.place, bottom + 18.0, "middle", GREY, &tick.label));
        }
        fields.push_str(&text(LEFT + FIELD, bottom + 36.0, "end", GREY, &self.across));
        fields.push_str(&self.key(bottom + 62.0));
        let height = bottom + if self.key.is_empty() { 48.0 } else { 76.0 };
        let body = format!("<g data-across=\"{}\">\n{}{fields}</g>\n", escaped(&self.across), self.strips(&across));
        let values = self.values();
        Drawing { title: self.title, conditions: self.conditions, size: [width, height], body, values, moments: None }
    }

    /// The curves at some places.
    fn values(&self) -> Values {
        let columns = self.panels.iter().flat_map(|panel| panel.curves.iter().map(move |curve| (panel, curve)));
        let named = columns.filter(|(panel, curve)| !curve.name.is_empty() || panel.curves.len() == 1);
        let columns = named.map(|(panel, curve)| values::Column {
            head: if curve.name.is_empty() { panel.title.clone() } else { format!("{}: {}", panel.title, curve.name) },
            points: &curve.points,
            dots: curve.look.is_dots(),
        });
        values::table(&self.across, &columns.collect::<Vec<_>>())
    }

    fn strips(&self, across: &Axis) -> String {
        let mut out = String::new();
        if self.strips.is_empty() {
            return out;
        }
        out.push_str(&text(LEFT, 12.0, "start", GREY, &self.strips_title));
        for (number, strip) in self.strips.iter().enumerate() {
            let y = LINE + 4.0 + STRIP * number as f64 - 2.0;
            out.push_str(&areas(strip, across, [y, y + STRIP - 3.0]));
            for stretch in &strip.stretches {
                let (Some(from), Some(to)) = (across.place(stretch.from), across.place(stretch.to)) else { continue };
                let fits = |words: &&String| LETTER * words.chars().count() as f64 + 2.0 < to - from;
                if let Some(words) = [&stretch.words, &stretch.short].into_iter().find(fits) {
                    out.push_str(&text(0.5 * (from + to), y + 13.0, "middle", DARK, words));
                }
            }
            if !strip.name.is_empty() {
                out.push_str(&text(LEFT + FIELD + 34.0, y + 13.0, "start", DARK, &strip.name));
            }
        }
        out
    }

    fn panel(&self, panel: &Panel, across: &Axis, [above, bottom]: [f64; 2]) -> String {
        let points = panel.curves.iter().flat_map(|curve| curve.points.iter().map(|point| point.1));
        let levels = panel.levels.iter().map(|level| level.value);
        let bands = panel.bands.iter().flat_map(|band| band.points.iter().flat_map(|point| point.1));
        let up = Axis::over(
            points.chain(levels).chain(bands),
            panel.logarithmic,
            [bottom, above],
            (panel.height() / 26.0) as usize,
        );
        let end = LEFT + FIELD;
        let behind = self.strips.first().filter(|_| self.behind);
        let mut out = behind.map_or_else(String::new, |strip| areas(strip, across, [above, bottom]));
        out.push_str(&text(LEFT, above - 9.0, "start", DARK, &panel.title));
        let mut grid = String::new();
        for tick in &up.ticks {
            grid.push_str(&format!("M{LEFT:.1} {:.1}H{end:.1}", tick.place));
            out.push_str(&text(LEFT - 8.0, tick.place + 4.0, "end", GREY, &tick.label));
        }
        for tick in &across.ticks {
            grid.push_str(&format!("M{:.1} {bottom:.1}v4", tick.place));
        }
        let frame = format!("M{LEFT:.1} {above:.1}V{bottom:.1}H{end:.1}");
        out.push_str(&format!(
            "<path d=\"{grid}\" stroke=\"{THIN}\"/>\n<path d=\"{frame}\" fill=\"none\" stroke=\"{MARK}\"/>\n"
        ));
        for band in &panel.bands {
            out.push_str(&band.drawn(across, &up));
        }
        for level in &panel.levels {
            let Some(y) = up.place(level.value) else { continue };
            out.push_str(&format!(
                "<path d=\"M{LEFT:.1} {y:.1}H{end:.1}\" stroke=\"{MARK}\" stroke-dasharray=\"2 3\"/>\n"
            ));
            out.push_str(&match level.at_start {
                true => text(LEFT + 6.0, y + 15.0, "start", GREY, &level.words),
                false => text(end - 6.0, y - 5.0, "end", GREY, &level.words),
            });
        }
        for curve in panel.curves.iter().rev() {
            out.push_str(&drawn(curve, across, &up));
        }
        let field =
            format!("<g class=\"field\" data-up=\"{}\" data-x=\"{across}\" data-y=\"{up}\">\n", escaped(&panel.title));
        format!("{field}{out}</g>\n{}", names(&panel.curves, &up, [end, bottom]))
    }

    fn key(&self, y: f64) -> String {
        let mut out = String::new();
        let mut x = LEFT;
        for (shade, words) in &self.key {
            out.push_str(&format!(
                "<rect x=\"{x:.1}\" y=\"{:.1}\" width=\"22\" height=\"12\" fill=\"{shade}\" stroke=\"{MARK}\"/>\n{}",
                y - 10.0,
                text(x + 28.0, y, "start", GREY, words)
            ));
            x += 46.0 + LETTER * words.chars().count() as f64;
        }
        out
    }
}

impl Band {
    fn drawn(&self, across: &Axis, up: &Axis) -> String {
        let place = |x: f64, y: f64| Some(format!("{:.1},{:.1}", across.place(x)?, up.place(y)?));
        let there = self.points.iter().filter_map(|(x, [_, above])| place(*x, *above));
        let back = self.points.iter().rev().filter_map(|(x, [below, _])| place(*x, *below));
        let points = there.chain(back).collect::<Vec<_>>().join(" ");
        format!("<polygon points=\"{points}\" fill=\"{}\"/>\n", self.shade)
    }
}

/// The shades of a strip between two heights, with thin lines where one stretch follows another, so that they are told apart
/// without their shades.
fn areas(strip: &Strip, across: &Axis, [above, bottom]: [f64; 2]) -> String {
    let (mut out, mut lines) = (String::new(), String::new());
    let mut before: Option<[f64; 2]> = None;
    for stretch in &strip.stretches {
        let (Some(from), Some(to)) = (across.place(stretch.from), across.place(stretch.to)) else { continue };
        let (width, height) = (to - from, bottom - above);
        out.push_str(&format!(
            "<rect x=\"{from:.1}\" y=\"{above:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{}\"{}\n",
            stretch.shade,
            super::told(&stretch.told, "rect")
        ));
        // A stretch too short to be seen ends without a line.
        if before.is_some_and(|[start, end]| from - end < 0.5 && from - start > 2.0) {
            lines.push_str(&format!("M{from:.1} {above:.1}V{bottom:.1}"));
        }
        before = Some([from, to]);
    }
    if lines.is_empty() { out } else { format!("{out}<path d=\"{lines}\" stroke=\"{MARK}\"/>\n") }
}
