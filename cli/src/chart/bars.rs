//! Bars from a line of nothing, one row a name, one panel a head.

use super::drawing::{Drawing, Values};
use super::{coloured as text, told};
use crate::print::number::{fixed, signed};

/// Height of a line and of a bar, width of a panel, room for a number, space around [px].
const LINE: f64 = 24.0;
const BAR: f64 = 15.0;
const PANEL: f64 = 320.0;
const NUMBER: f64 = 112.0;
const GAP: f64 = 20.0;
/// Width of a letter of a label, and of the column of labels at least [px].
const LETTER: f64 = 6.8;
const LABELS: f64 = 120.0;
/// Height above the first line [px].
const HEAD: f64 = 40.0;

/// How a value is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// As it is.
    Plain,
    /// A change, with its sign.
    Change,
    /// A gain that more of something brings to the right, less of it to the left.
    Side,
}

/// What is drawn.
#[derive(Debug)]
pub(crate) struct Bars {
    pub(crate) title: String,
    pub(crate) conditions: Vec<String>,
    /// What the names are.
    pub(crate) of: &'static str,
    /// What stands above each panel, and what its column is called in the table.
    pub(crate) panels: Vec<[String; 2]>,
    /// Names with a value for each panel.
    pub(crate) rows: Vec<(String, Vec<f64>)>,
    pub(crate) unit: &'static str,
    pub(crate) decimals: usize,
    /// How a value is written.
    pub(crate) form: Form,
    pub(crate) colour: &'static str,
}

impl Bars {
    fn written(&self, value: f64) -> String {
        match self.form {
            Form::Plain => fixed(value, self.decimals),
            Form::Change => signed(value, self.decimals),
            Form::Side => fixed(value.abs(), self.decimals),
        }
    }

    fn words(&self, value: f64) -> String {
        let side = match self.form {
            Form::Side if value < 0.0 => " by less",
            Form::Side => " by more",
            _ => "",
        };
        format!("{} {}{side}", self.written(value), self.unit)
    }

    /// The picture.
    pub(crate) fn drawing(self) -> Drawing {
        let all = || self.rows.iter().flat_map(|row| row.1.iter().copied());
        let (most, least) = (all().fold(1e-12, f64::max), all().fold(0.0, f64::min));
        // A bar to the left has its number on the right of the line, so that it needs no room of its own.
        let scale = (PANEL - NUMBER) / (most - least);
        let longest = self.rows.iter().map(|row| row.0.chars().count()).max().unwrap_or(0);
        let labels = LABELS.max(LETTER * longest as f64 + GAP);
        let mut body = String::new();
        for (line, (name, values)) in self.rows.iter().enumerate() {
            let y = HEAD + line as f64 * LINE;
            body.push_str(&text(GAP + labels - 10.0, y + 12.0, "end", "#102a43", name));
            for (number, value) in values.iter().enumerate() {
                let zero = GAP + labels + number as f64 * (PANEL + GAP) - scale * least;
                let (length, words) = (scale * value, self.words(*value));
                body.push_str(&format!(
                    "<rect x=\"{:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{BAR}\" fill=\"{}\"{}\n",
                    zero + length.min(0.0),
                    length.abs().max(0.5),
                    self.colour,
                    told(&format!("{}, {name}: {words}", self.panels[number][1]), "rect")
                ));
                body.push_str(&text(zero + length.max(0.0) + 6.0, y + 12.0, "start", "#102a43", &words));
            }
        }
        for (number, [head, _]) in self.panels.iter().enumerate() {
            let left = GAP + labels + number as f64 * (PANEL + GAP);
            body.push_str(&text(left, HEAD - 18.0, "start", "#102a43", head));
        }
        let cells = |(name, values): &(String, Vec<f64>)| {
            std::iter::once(name.clone())
                .chain(
                    values
                        .iter()
                        .map(|value| if self.form == Form::Side { self.words(*value) } else { self.written(*value) }),
                )
                .collect()
        };
        let columns = self.panels.iter().map(|[_, name]| format!("{name}, {}", self.unit));
        let values =
            Values::new(std::iter::once(self.of.to_owned()).chain(columns), self.rows.iter().map(cells).collect());
        let size = [
            labels + self.panels.len() as f64 * (PANEL + GAP) + 2.0 * GAP,
            HEAD + self.rows.len() as f64 * LINE + 10.0,
        ];
        Drawing { title: self.title, conditions: self.conditions, size, body, values, moments: None }
    }
}
