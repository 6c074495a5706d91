//! What a result file holds, before a single value is known: groups, axes, variables, attributes.

use super::attribute::Attribute;
use std::collections::BTreeSet;
use std::ops::Range;

/// Most rows that are written at once.
const MOST_ROWS_AT_ONCE: usize = 256;
/// Most values that are gathered before they are written [count of f64].
const MOST_VALUES_AT_ONCE: usize = 1 << 20;

/// Most series of a file: HDF5 keeps a list of what shares an axis, here time, in 64 KiB at 16 bytes each.
const MOST_SERIES: usize = 4000;

/// Names in the root of a result file that no group may take.
pub const RESERVED_NAMES: &[&str] = &["time", "case", "rows_valid"];

/// Everything that is fixed when a result file is created.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Attributes of the file: `title`, `source` (program and version), `history`, name of the point. Free of wall-clock time, so that
    /// equal runs give equal files. `Conventions`, `format_version` and `finished` are added by the writer.
    pub attributes: Vec<(String, Attribute)>,
    /// The whole resolved case, as text.
    pub case: String,
    /// One group a part, in the order of a row.
    pub groups: Vec<Group>,
}

/// The variables of one part.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Group {
    /// Name of the part; any letters of any script, no `/`.
    pub name: String,
    /// Kind of the part.
    pub kind: String,
    /// Further attributes. `kind` and `order` are added by the writer.
    pub attributes: Vec<(String, Attribute)>,
    /// Axes that the variables of this group use beside time.
    pub axes: Vec<Axis>,
    /// Values along an axis that do not change in time.
    pub constants: Vec<Constant>,
    /// Values in time.
    pub series: Vec<Series>,
}

/// A named dimension with its coordinates.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Name, such as `x`.
    pub name: String,
    /// Unit in UDUNITS spelling, such as `m`; not written for names.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Where its points lie; never empty.
    pub coordinates: Coordinates,
}

/// The points of an axis.
#[derive(Debug, Clone, PartialEq)]
pub enum Coordinates {
    /// Numbers, such as places along a duct.
    Numbers(Vec<f64>),
    /// Names, such as the origins of the air.
    Names(Vec<String>),
}

impl Coordinates {
    /// Number of points.
    #[must_use]
    pub fn len(&self) -> usize {
        match self {
            Self::Numbers(numbers) => numbers.len(),
            Self::Names(names) => names.len(),
        }
    }

    /// Whether there is no point at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// A variable that does not change in time.
#[derive(Debug, Clone, PartialEq)]
pub struct Constant {
    /// Name.
    pub name: String,
    /// Unit in UDUNITS spelling.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Axis of the same group.
    pub axis: String,
    /// One value for each point of the axis.
    pub values: Vec<f64>,
}

/// A variable in time.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Name.
    pub name: String,
    /// Unit in UDUNITS spelling, such as `kg s-1`.
    pub units: String,
    /// What it is, in words.
    pub long_name: String,
    /// Axis of the same group, after time; `None` for one value at each time.
    pub axis: Option<String>,
    /// How many bits are kept.
    pub precision: Precision,
}

/// How many bits of a value are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precision {
    /// 32 bits: fields for pictures.
    F32,
    /// 64 bits: totals, balances, whatever is compared.
    F64,
}

impl Precision {
    /// Bytes of one value.
    pub(super) fn bytes(self) -> usize {
        match self {
            Self::F32 => size_of::<f32>(),
            Self::F64 => size_of::<f64>(),
        }
    }
}

impl Group {
    /// The axis of that name.
    #[must_use]
    pub fn axis(&self, name: &str) -> Option<&Axis> {
        self.axes.iter().find(|axis| axis.name == name)
    }

    /// Number of values of `series` at one time.
    pub(super) fn width(&self, series: &Series) -> usize {
        series.axis.as_deref().and_then(|name| self.axis(name)).map_or(1, |axis| axis.coordinates.len())
    }
}

impl Layout {
    /// Number of values in a row: all series of all groups, in their order.
    #[must_use]
    pub fn row_length(&self) -> usize {
        self.places().last().map_or(0, |(_, _, place)| place.end)
    }

    /// Number of rows that are written at once, which is also the length of every chunk: so a chunk is written once and never again.
    pub(super) fn rows_at_once(&self) -> usize {
        (MOST_VALUES_AT_ONCE / self.row_length().max(1)).clamp(1, MOST_ROWS_AT_ONCE)
    }

    /// Where the values of a series stand in a row.
    #[must_use]
    pub fn place(&self, group: &str, series: &str) -> Option<Range<usize>> {
        self.places().find(|(g, s, _)| g.name == group && s.name == series).map(|(_, _, place)| place)
    }

    /// Every series with its group and its place in a row, in order.
    pub fn places(&self) -> impl Iterator<Item = (&Group, &Series, Range<usize>)> {
        let series = self.groups.iter().flat_map(|group| group.series.iter().map(move |series| (group, series)));
        series.scan(0, |end, (group, series)| {
            let start = *end;
            *end += group.width(series);
            Some((group, series, start..*end))
        })
    }

    /// Whether a file can be made of this: names that can be told apart and stored, axes that exist, arrays that fit.
    ///
    /// # Errors
    /// What was found and what was expected.
    pub(super) fn check(&self) -> Result<(), Flaw> {
        check_texts("attribute of the file", &self.attributes)?;
        check_text("case", &self.case)?;
        let series = self.places().count();
        if series > MOST_SERIES {
            return Err((format!("{series} variables in time"), format!("{MOST_SERIES} at most")));
        }
        let mut names: BTreeSet<&str> = RESERVED_NAMES.iter().copied().collect();
        for group in &self.groups {
            claim("group", &group.name, &mut names)?;
            group.check()?;
        }
        Ok(())
    }
}

/// What is wrong with a layout: found and expected.
pub(super) type Flaw = (String, String);

impl Group {
    fn check(&self) -> Result<(), Flaw> {
        check_text("kind", &self.kind)?;
        check_texts(&format!("attribute of `{}`", self.name), &self.attributes)?;
        let mut names = BTreeSet::from(["time"]);
        for axis in &self.axes {
            self.check_variable(&axis.name, &axis.units, &axis.long_name, &mut names)?;
            if axis.coordinates.is_empty() {
                return Err((format!("axis `{}/{}` without a point", self.name, axis.name), "at least one".into()));
            }
            if let Coordinates::Names(entries) = &axis.coordinates {
                entries.iter().try_for_each(|entry| check_text(&format!("entry of axis `{}`", axis.name), entry))?;
            }
        }
        for constant in &self.constants {
            self.check_variable(&constant.name, &constant.units, &constant.long_name, &mut names)?;
            let points = self.check_axis(&constant.name, &constant.axis)?;
            if constant.values.len() != points {
                let found = format!("`{}/{}` with {} values", self.name, constant.name, constant.values.len());
                return Err((found, format!("{points}, as its axis has")));
            }
        }
        for series in &self.series {
            self.check_variable(&series.name, &series.units, &series.long_name, &mut names)?;
            if let Some(axis) = &series.axis {
                self.check_axis(&series.name, axis)?;
            }
        }
        Ok(())
    }

    fn check_variable<'a>(
        &self,
        name: &'a str,
        units: &str,
        long_name: &str,
        names: &mut BTreeSet<&'a str>,
    ) -> Result<(), Flaw> {
        claim(&format!("variable of `{}`", self.name), name, names)?;
        check_text("unit", units)?;
        check_text("long name", long_name)
    }

    fn check_axis(&self, variable: &str, axis: &str) -> Result<usize, Flaw> {
        let known = || self.axes.iter().map(|axis| axis.name.as_str()).collect::<Vec<_>>().join(", ");
        match self.axis(axis) {
            Some(axis) => Ok(axis.coordinates.len()),
            None => Err((format!("`{}/{variable}` over `{axis}`", self.name), format!("an axis out of: {}", known()))),
        }
    }
}

/// Takes a name that HDF5 and netCDF can store and that is still free.
fn claim<'a>(what: &str, name: &'a str, taken: &mut BTreeSet<&'a str>) -> Result<(), Flaw> {
    let blank = name.trim() != name || name.is_empty();
    if blank || name == "." || name == ".." || name.chars().any(|letter| letter == '/' || letter.is_control()) {
        let expected = "letters of any script, digits and signs, without `/` and without blanks at its ends";
        return Err((format!("{what} named {name:?}"), expected.into()));
    }
    if !taken.insert(name) {
        return Err((format!("{what} named `{name}`, a name that is taken"), "names that differ".into()));
    }
    Ok(())
}

/// HDF5 ends a text at its first NUL.
fn check_text(what: &str, text: &str) -> Result<(), Flaw> {
    match text.find('\0') {
        Some(place) => Err((format!("{what} with a NUL at byte {place}"), "text without one".into())),
        None => Ok(()),
    }
}

fn check_texts(what: &str, attributes: &[(String, Attribute)]) -> Result<(), Flaw> {
    let mut names = BTreeSet::new();
    for (name, value) in attributes {
        claim(what, name, &mut names)?;
        if let Attribute::Text(text) = value {
            check_text(name, text)?;
        }
    }
    Ok(())
}
