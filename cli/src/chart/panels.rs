//! Panels one above another over one shared axis, with strips of named stretches above them.

use super::axis::Axis;
use super::ends::apart;
use super::thin::{self, Point};
use super::{FONTS, coloured as text, escaped};

/// Width of the panels, what is left of them, room between them, height of a strip with its gap [px].
const FIELD: f64 = 620.0;
const LEFT: f64 = 64.0;
const GAP: f64 = 34.0;
const STRIP: f64 = 20.0;
/// Width of a letter, distance of lines of text [px].
const LETTER: f64 = 7.2;
const LINE: f64 = 17.0;
/// Colours of text and of thin lines.
const DARK: &str = "#102a43";
const GREY: &str = "#486581";
const THIN: &str = "#dfe5eb";
const MARK: &str = "#9fb3c8";
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

/// Values of one result in a panel.
#[derive(Debug)]
pub(super) struct Curve {
    /// Number of its result, which gives the colour.
    pub(super) result: usize,
    pub(super) look: Look,
    /// Across and up, in the units of the axes.
    pub(super) points: Vec<Point>,
    /// Points of it that are marked with a ring.
    pub(super) rings: Vec<Point>,
    /// What is written at its end; nothing when it is empty.
    pub(super) name: String,
}

/// A line across a panel at a value, with words at its start (below it) or at its end (above it).
#[derive(Debug)]
pub(super) struct Level {
    pub(super) value: f64,
    pub(super) words: String,
    pub(super) at_start: bool,
}

/// A panel.
#[derive(Debug)]
pub(super) struct Panel {
    /// Quantity, unit and basis.
    pub(super) title: String,
    /// Height [px]; more where the names need it.
    pub(super) height: f64,
    pub(super) curves: Vec<Curve>,
    pub(super) levels: Vec<Level>,
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
    pub(super) fn svg(&self) -> String {
        let curves = || self.panels.iter().flat_map(|panel| &panel.curves);
        let xs = curves().flat_map(|curve| curve.points.iter().map(|point| point.0));
        let across = Axis::over(xs, false, [LEFT, LEFT + FIELD], 9);
        let strip_names = self.strips.iter().map(|strip| strip.name.chars().count());
        let longest = curves().map(|curve| curve.name.chars().count()).chain(strip_names).max().unwrap_or(0);
        // The name of the picture is set larger, and the lines below it are no narrower than the panels.
        let lines = self.conditions.iter().map(|line| LETTER * line.chars().count() as f64 + 40.0);
        let title = 1.5 * LETTER * self.title.chars().count() as f64 + 40.0;
        let width = lines.fold(title.max(LEFT + FIELD + 46.0 + LETTER * longest as f64), f64::max).ceil();
        let head = 50.0 + LINE * self.conditions.len() as f64;
        let strips = if self.strips.is_empty() { 0.0 } else { LINE + STRIP * self.strips.len() as f64 };
        let mut above = head + strips + 30.0;
        let mut body = String::new();
        let first = above;
        let mut bottom = above;
        for panel in &self.panels {
            bottom = above + panel.height();
            body.push_str(&self.panel(panel, &across, [above, bottom]));
            above = bottom + GAP;
        }
        for tick in &across.ticks {
            body.push_str(&text(tick.place, bottom + 18.0, "middle", GREY, &tick.label));
        }
        body.push_str(&text(LEFT + FIELD, bottom + 36.0, "end", GREY, &self.across));
        body.push_str(&self.key(bottom + 62.0));
        let height = bottom + if self.key.is_empty() { 48.0 } else { 76.0 };
        self.opening(width, height) + &self.strips(&across, head, [first, bottom]) + &body + "</svg>\n"
    }

    fn opening(&self, width: f64, height: f64) -> String {
        let title = escaped(&self.title);
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
             role=\"img\" font-family=\"{FONTS}\" font-size=\"12\">\n<title>{title}</title>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n\
             <text x=\"20\" y=\"30\" font-size=\"18\" font-weight=\"bold\" fill=\"{DARK}\">{title}</text>\n",
        );
        for (number, line) in self.conditions.iter().enumerate() {
            out.push_str(&text(20.0, 50.0 + LINE * number as f64, "start", GREY, line));
        }
        out
    }

    fn strips(&self, across: &Axis, head: f64, panels: [f64; 2]) -> String {
        let mut out = String::new();
        if self.strips.is_empty() {
            return out;
        }
        out.push_str(&text(LEFT, head + 8.0, "start", GREY, &self.strips_title));
        for (number, strip) in self.strips.iter().enumerate() {
            let y = head + LINE + STRIP * number as f64 - 2.0;
            for stretch in &strip.stretches {
                let (Some(from), Some(to)) = (across.place(stretch.from), across.place(stretch.to)) else { continue };
                let (width, middle) = (to - from, 0.5 * (from + to));
                let mut area = |y: f64, height: f64| {
                    out.push_str(&format!(
                        "<rect x=\"{from:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{}\"/>\n",
                        stretch.shade
                    ));
                };
                area(y, STRIP - 3.0);
                if self.behind && number == 0 {
                    area(panels[0], panels[1] - panels[0]);
                }
                let fits = |words: &&String| LETTER * words.chars().count() as f64 + 2.0 < width;
                if let Some(words) = [&stretch.words, &stretch.short].into_iter().find(fits) {
                    out.push_str(&text(middle, y + 13.0, "middle", DARK, words));
                }
                // The start of a stretch is seen without its shade.
                let end = if self.behind && number == 0 { panels[1] } else { y + STRIP - 3.0 };
                if *stretch != strip.stretches[0] {
                    out.push_str(&format!("<path d=\"M{from:.1} {y:.1}V{end:.1}\" stroke=\"{MARK}\"/>\n"));
                }
            }
            out.push_str(&text(LEFT + FIELD + 34.0, y + 13.0, "start", DARK, &strip.name));
        }
        out
    }

    fn panel(&self, panel: &Panel, across: &Axis, [above, bottom]: [f64; 2]) -> String {
        let points = panel.curves.iter().flat_map(|curve| curve.points.iter().map(|point| point.1));
        let levels = panel.levels.iter().map(|level| level.value);
        let up = Axis::over(points.chain(levels), false, [bottom, above], (panel.height() / 34.0) as usize);
        let end = LEFT + FIELD;
        let mut out = text(LEFT, above - 9.0, "start", DARK, &panel.title);
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
        out + &names(&panel.curves, &up, bottom)
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
fn dot<'a>(look: Look, colour: &'a str) -> Option<[&'a str; 2]> {
    match look {
        Look::Dots => Some([colour, "#ffffff"]),
        Look::WantedDots => Some(["#ffffff", colour]),
        Look::Line | Look::Wanted => None,
    }
}

fn drawn(curve: &Curve, across: &Axis, up: &Axis) -> String {
    let place = |(x, y): &Point| Some((across.place(*x)?, up.place(*y)?));
    let colour = STYLES[curve.result % STYLES.len()].0;
    let places: Vec<Point> = curve.points.iter().filter_map(place).collect();
    let mut out = String::new();
    if let Some([fill, edge]) = dot(curve.look, colour) {
        out.extend(places.iter().map(|at| circle(*at, 3.5, fill, edge)));
    } else {
        let points: Vec<String> = thin::line(&places).iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
        let points = points.join(" ");
        out.push_str(&format!("<polyline points=\"{points}\" {} stroke-linejoin=\"round\"/>\n", stroke(curve)));
    }
    out.extend(curve.rings.iter().filter_map(place).map(|at| circle(at, 4.0, "#ffffff", colour)));
    out
}

/// Names beside the ends of the curves, each with the sign of its curve.
fn names(curves: &[Curve], up: &Axis, bottom: f64) -> String {
    let named = curves.iter().filter(|curve| !curve.name.is_empty());
    let (ends, named): (Vec<f64>, Vec<&Curve>) =
        named.filter_map(|curve| Some((up.place(curve.points.last()?.1)?, curve))).unzip();
    let x = LEFT + FIELD + 8.0;
    let name = |(curve, y): (&&Curve, f64)| {
        let sign = match dot(curve.look, STYLES[curve.result % STYLES.len()].0) {
            Some([fill, edge]) => circle((x + 9.0, y), 3.5, fill, edge),
            None => format!("<path d=\"M{x:.1} {y:.1}h20\" {}/>\n", stroke(curve)),
        };
        sign + &text(x + 26.0, y + 4.0, "start", DARK, &curve.name)
    };
    named.iter().zip(apart(&ends, LINE, bottom)).map(name).collect()
}
