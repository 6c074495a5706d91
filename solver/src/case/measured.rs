//! How measurements of the car are to be read: what each column of a log means.

use super::keys::{optional, required};
use crate::error::Location;
use crate::fields::{Fields, Key, Range, Value};
use crate::quantity::{self, Dimension};

/// The section `measured`.
pub const MEASURED_KEYS: &[Key] = &[
    required("point", Value::Text, "The point of the case at which it was measured."),
    required(
        "columns",
        Value::NamedMaps(COLUMN_KEYS),
        "What the columns of the logs mean, by the name in their header.",
    ),
    optional(
        "stations",
        Value::Map(STATION_KEYS),
        "each row is a steady state of its own",
        "Which rows are one steady state, to be averaged.",
    ),
    optional(
        "pulls",
        Value::Text,
        "all rows count",
        "The column whose rises are the pulls of a log; rows in which it falls are left out.",
    ),
    optional(
        "decimal",
        Value::Word(&["point", "comma"]),
        "comma where more cells have one than a point, and the separator is no comma",
        "The decimal sign of the logs.",
    ),
    optional(
        "every",
        Value::Quantity(Dimension::Time, Range::Positive),
        "",
        "Time between rows after resampling; a long form needs it.",
    ),
    optional(
        "gap",
        Value::Quantity(Dimension::Time, Range::Positive),
        "five times the usual time between rows",
        "Longest time between two rows over which values may be drawn in a straight line.",
    ),
    optional("long", Value::Map(LONG_KEYS), "", "The columns of a log that has one row for each value."),
];

/// Which rows are one steady state.
const STATION_KEYS: &[Key] = &[
    required("of", Value::Text, "The column by whose value rows are put together."),
    required("every", Value::Text, "Step of that value, such as `250 rpm`: a row belongs to the nearest multiple."),
];

/// The columns of a long form.
const LONG_KEYS: &[Key] = &[
    required("time", Value::Text, "Header of the column of times."),
    optional("time_unit", Value::Text, "", "Their unit, where the header does not say it."),
    required("name", Value::Text, "Header of the column that says what the value is of."),
    required("value", Value::Text, "Header of the column of values."),
    optional("unit", Value::Text, "", "Header of the column of units."),
];

/// A column.
const COLUMN_KEYS: &[Key] = &[
    optional("header", Value::Text, "", "Its header, where that is not the name of this entry."),
    optional("unit", Value::Text, "", "Its unit, where its header does not say it."),
    optional(
        "is",
        Value::Word(&["time", "engine_speed", "road_speed", "air_flow", "power"]),
        "",
        "What it is of the car as a whole. `air_flow` is what all draws take together.",
    ),
    optional("tap", Value::Text, "", "Where the gauge sits: `snout:120mm`, a volume, or a draw."),
    optional("reads", Value::Word(&["static", "total", "temperature", "flow"]), "", "What a gauge at a `tap` reads."),
    optional(
        "pressure",
        Value::Word(&["absolute", "gauge", "depression"]),
        "",
        "Against what a pressure is read: vacuum, the outside (above it positive), or the outside (below it positive).",
    ),
    optional(
        "accuracy",
        Value::Text,
        "",
        "How far a reading may lie from the truth, each on its own, as one standard deviation with a unit; a `tap` needs it.",
    ),
    optional(
        "sets",
        Value::Either(&Value::Text, &Value::Names),
        "",
        "Numbers of the case that take its value, such as `points.road.speed`.",
    ),
    optional("at", Value::Word(&["crank", "wheel"]), "", "Where a power was measured."),
    optional(
        "driveline",
        Value::Quantity(Dimension::Ratio, Range::Between(0.5, 1.0)),
        "",
        "Share of the crank's power that reaches the wheels.",
    ),
    optional(
        "correction",
        Value::Either(&Value::Quantity(Dimension::Ratio, Range::Between(0.5, 2.0)), &Value::Word(&["none"])),
        "",
        "The factor for weather by which a power was multiplied before it was written, or `none`.",
    ),
    optional(
        "smoothing",
        Value::Either(&Value::Quantity(Dimension::Time, Range::Positive), &Value::Word(&["none", "unknown"])),
        "",
        "Over which time a power was smoothed, `none` or `unknown`.",
    ),
];

/// How logs are to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The point at which it was measured.
    pub point: String,
    /// What the columns mean, in the order of the file.
    pub channels: Vec<Channel>,
    /// Which rows are one steady state: a channel, and the step of its value as text.
    pub stations: Option<Stations>,
    /// Number of the channel whose rises are the pulls.
    pub pulls: Option<usize>,
    /// Whether numbers have a decimal comma; `None` where the file shall tell.
    pub decimal_comma: Option<bool>,
    /// Time between rows after resampling [s].
    pub every: Option<f64>,
    /// Longest time between two rows that are joined [s].
    pub gap: Option<f64>,
    /// Headers of a long form.
    pub long: Option<LongForm>,
}

/// Which rows are one steady state.
#[derive(Debug, Clone, PartialEq)]
pub struct Stations {
    /// Number of the channel.
    pub of: usize,
    /// Step of its value [SI].
    pub every: f64,
    /// As the user wrote it.
    pub text: String,
}

/// Headers of a log with one row for each value.
#[derive(Debug, Clone, PartialEq)]
pub struct LongForm {
    /// Of the times.
    pub time: String,
    /// Unit of the times, where the case says it.
    pub time_unit: Option<String>,
    /// Of what the value is of.
    pub name: String,
    /// Of the values.
    pub value: String,
    /// Of the units.
    pub unit: Option<String>,
}

/// What one column of a log means.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Its name in the case.
    pub name: String,
    /// Its header in the log.
    pub header: String,
    /// Its unit, where the case says it.
    pub unit: Option<String>,
    /// What it means.
    pub meaning: Meaning,
    /// Numbers of the case that take its value, by path.
    pub sets: Vec<String>,
    /// One standard deviation of a reading [SI]; zero where it is none.
    pub accuracy: f64,
    /// Where the case says it.
    pub location: Location,
    /// Where it says to what the gauge belongs.
    pub tap_location: Location,
}

/// What a column is.
#[derive(Debug, Clone, PartialEq)]
pub enum Meaning {
    /// Time.
    Time,
    /// Crank speed.
    EngineSpeed,
    /// Road speed.
    RoadSpeed,
    /// Mass flow of all draws.
    AirFlow,
    /// Power.
    Power(PowerBasis),
    /// A gauge in the tract.
    Gauge {
        /// Where it sits, as [`crate::network::Tap::find`] reads it.
        tap: String,
        /// What it reads.
        reads: Reads,
    },
    /// Nothing but what it sets, of this dimension once the case is known.
    Setting,
}

/// What a gauge in the tract reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reads {
    /// Static pressure, by a hole in the wall.
    Static(Basis),
    /// Total pressure, by a tube that points upstream.
    Total(Basis),
    /// Total temperature.
    Temperature,
    /// Mass flow.
    Flow,
}

/// Against what a pressure is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Vacuum.
    Absolute,
    /// The outside's static pressure; above it positive.
    Gauge,
    /// The outside's static pressure; below it positive.
    Depression,
}

/// How a power was measured and what was done to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerBasis {
    /// Whether it was measured at the wheels.
    pub at_wheels: bool,
    /// Share of the crank's power that reaches the wheels.
    pub driveline: Option<f64>,
    /// The factor by which it was multiplied; one where it was not.
    pub correction: f64,
    /// Time over which it was smoothed [s]; zero for none, `None` where nobody knows.
    pub smoothing: Option<f64>,
}

impl Channel {
    /// What its values measure, where the case alone tells it; of a setting it is that of the number which it sets.
    #[must_use]
    pub fn dimension(&self) -> Option<Dimension> {
        match &self.meaning {
            Meaning::Time => Some(Dimension::Time),
            Meaning::EngineSpeed => Some(Dimension::Frequency),
            Meaning::RoadSpeed => Some(Dimension::Speed),
            Meaning::AirFlow => Some(Dimension::MassFlow),
            Meaning::Power(_) => Some(Dimension::Power),
            Meaning::Gauge { reads, .. } => Some(reads.dimension()),
            Meaning::Setting => None,
        }
    }

    /// Whether a model has something to set beside it.
    #[must_use]
    pub fn is_reading(&self) -> bool {
        match &self.meaning {
            Meaning::Gauge { .. } => true,
            Meaning::AirFlow => self.accuracy > 0.0,
            Meaning::Power(basis) => self.accuracy > 0.0 && (!basis.at_wheels || basis.driveline.is_some()),
            _ => false,
        }
    }
}

impl Reads {
    /// What it measures.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Static(Basis::Absolute) | Self::Total(Basis::Absolute) => Dimension::Pressure,
            Self::Static(_) | Self::Total(_) => Dimension::PressureDifference,
            Self::Temperature => Dimension::Temperature,
            Self::Flow => Dimension::MassFlow,
        }
    }

    /// Its basis in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Static(Basis::Absolute) => "static, absolute",
            Self::Static(Basis::Gauge) => "static, over outside",
            Self::Static(Basis::Depression) => "static, below outside",
            Self::Total(Basis::Absolute) => "total, absolute",
            Self::Total(Basis::Gauge) => "total, over outside",
            Self::Total(Basis::Depression) => "total, below outside",
            Self::Temperature => "total temperature",
            Self::Flow => "mass flow",
        }
    }
}

/// Reads the section.
pub(super) fn read(fields: &Fields<'_>, points: &[&str]) -> Option<Measured> {
    let point = fields.text("point")?;
    if !points.contains(&point.as_str()) {
        fields.problem("point", quantity::quote(&point), format!("a point of the case: {}", points.join(", ")));
        return None;
    }
    let columns = fields.named_maps("columns");
    let channels: Vec<Channel> = columns.iter().map(channel).collect::<Option<_>>()?;
    if channels.is_empty() {
        fields.problem("columns", "no column", "one at least, such as `p_box: {tap: box, reads: static, ...}`");
        return None;
    }
    let number = |fields: &Fields<'_>, key: &'static str, name: &str| {
        let found = channels.iter().position(|channel| channel.name == name);
        if found.is_none() {
            let known = channels.iter().map(|channel| channel.name.as_str()).collect::<Vec<_>>().join(", ");
            fields.problem(key, quantity::quote(name), format!("one of `columns`: {known}"));
        }
        found
    };
    let stations = match fields.map("stations") {
        Some(stations) => {
            let (of, text) = (stations.text("of")?, stations.text("every")?);
            let of = number(&stations, "of", &of)?;
            let every = match channels[of].dimension() {
                Some(dimension) => step(&stations, &text, dimension)?,
                None => {
                    let expected = "a column with `is` or `tap`, or a step that a column with `is` measures";
                    stations.problem("of", "a column that only sets numbers", expected);
                    return None;
                }
            };
            Some(Stations { of, every, text })
        }
        None => None,
    };
    let pulls = match fields.text("pulls") {
        Some(name) => Some(number(fields, "pulls", &name)?),
        None => None,
    };
    let long = match fields.map("long") {
        Some(long) => Some(LongForm {
            time: long.text("time")?,
            time_unit: long.text("time_unit"),
            name: long.text("name")?,
            value: long.text("value")?,
            unit: long.text("unit"),
        }),
        None => None,
    };
    for (number, channel) in channels.iter().enumerate() {
        if channels[..number].iter().any(|other| other.header == channel.header) {
            fields.problem(
                "columns",
                format!("the header {} twice", quantity::quote(&channel.header)),
                "each column once",
            );
            return None;
        }
    }
    let every = fields.si("every");
    if every.is_some() && long.is_none() && !channels.iter().any(|channel| channel.meaning == Meaning::Time) {
        fields.problem("every", "`every` without a column of times", "a column with `is: time`");
        return None;
    }
    if long.is_some() && every.is_none() {
        fields.problem("long", "a long form without `every`", "`every: 100 ms`: its values are not of one time");
        return None;
    }
    let decimal_comma = fields.word("decimal").map(|word| word == "comma");
    Some(Measured { point, channels, stations, pulls, decimal_comma, every, gap: fields.si("gap"), long })
}

/// A step of a value; of a temperature the difference.
fn step(fields: &Fields<'_>, text: &str, dimension: Dimension) -> Option<f64> {
    positive(fields, "every", text, difference(dimension))
}

fn positive(fields: &Fields<'_>, key: &'static str, text: &str, dimension: Dimension) -> Option<f64> {
    match quantity::parse(text, dimension) {
        Ok(value) if value > 0.0 => Some(value),
        Ok(_) => {
            fields.problem(key, quantity::quote(text), "more than 0");
            None
        }
        Err(fault) => {
            fields.problem(key, fault.found, fault.expected);
            None
        }
    }
}

/// What a difference of two values measures.
fn difference(dimension: Dimension) -> Dimension {
    match dimension {
        Dimension::Pressure => Dimension::PressureDifference,
        Dimension::Temperature => Dimension::TemperatureDifference,
        other => other,
    }
}

fn channel(fields: &Fields<'_>) -> Option<Channel> {
    let meaning = meaning(fields)?;
    let sets = match fields.form("sets") {
        Some(Value::Text) => fields.text("sets").into_iter().collect(),
        Some(_) => fields.names("sets"),
        None => Vec::new(),
    };
    if meaning == Meaning::Setting && sets.is_empty() {
        fields.problem("", "a column without a meaning", "one of `is`, `tap`, `sets`");
        return None;
    }
    let mut channel = Channel {
        name: fields.name().to_owned(),
        header: fields.text("header").unwrap_or_else(|| fields.name().to_owned()),
        unit: fields.text("unit"),
        meaning,
        sets,
        accuracy: 0.0,
        location: fields.location(""),
        tap_location: fields.location("tap"),
    };
    match (fields.text("accuracy"), channel.dimension()) {
        (Some(text), Some(dimension)) => {
            channel.accuracy = positive(fields, "accuracy", &text, difference(dimension))?;
        }
        (Some(_), None) => {
            fields.problem(
                "accuracy",
                "the accuracy of a column that only sets numbers",
                "none, or `is` or `tap` beside it",
            );
            return None;
        }
        (None, _) if matches!(channel.meaning, Meaning::Gauge { .. }) => {
            fields.problem(
                "accuracy",
                "a gauge without its accuracy",
                "one standard deviation, such as `accuracy: 25 Pa`",
            );
            return None;
        }
        _ => {}
    }
    Some(channel)
}

fn meaning(fields: &Fields<'_>) -> Option<Meaning> {
    let unused = |keys: &[&'static str], with: &str| {
        let found = keys.iter().find(|key| fields.has(key));
        if let Some(key) = found {
            fields.problem(
                key,
                format!("`{key}` in a column that is no {with}"),
                format!("`{key}` only in one that is"),
            );
        }
        found.is_none()
    };
    const OF_GAUGES: [&str; 2] = ["reads", "pressure"];
    const OF_POWER: [&str; 4] = ["at", "driveline", "correction", "smoothing"];
    if let Some(tap) = fields.text("tap") {
        if fields.has("is") {
            fields.problem("is", "`is` beside `tap`", "one of them");
            return None;
        }
        return (unused(&OF_POWER, "power")).then(|| gauge(fields, tap))?;
    }
    if !unused(&OF_GAUGES, "gauge: it has no `tap`") {
        return None;
    }
    let word = fields.word("is");
    if word == Some("power") {
        return power(fields).map(Meaning::Power);
    }
    if !unused(&OF_POWER, "power") {
        return None;
    }
    Some(match word {
        Some("time") => Meaning::Time,
        Some("engine_speed") => Meaning::EngineSpeed,
        Some("road_speed") => Meaning::RoadSpeed,
        Some("air_flow") => Meaning::AirFlow,
        _ => Meaning::Setting,
    })
}

fn gauge(fields: &Fields<'_>, tap: String) -> Option<Meaning> {
    let basis = || match fields.word("pressure") {
        Some("absolute") => Some(Basis::Absolute),
        Some("gauge") => Some(Basis::Gauge),
        Some("depression") => Some(Basis::Depression),
        _ => {
            let expected = "`absolute`, `gauge` (over the outside) or `depression` (below it)";
            fields.problem("pressure", "a pressure without what it is read against", expected);
            None
        }
    };
    let reads = match fields.word("reads") {
        Some("static") => Reads::Static(basis()?),
        Some("total") => Reads::Total(basis()?),
        Some("temperature") => Reads::Temperature,
        Some("flow") => Reads::Flow,
        _ => {
            fields.problem("reads", "a tap without what its gauge reads", "`static`, `total`, `temperature` or `flow`");
            return None;
        }
    };
    Some(Meaning::Gauge { tap, reads })
}

/// How a power was measured. All of it is asked for: a guess would be wrong by more than most changes are worth.
fn power(fields: &Fields<'_>) -> Option<PowerBasis> {
    let asked = |key: &'static str, expected: &str| {
        if !fields.has(key) {
            fields.problem(key, format!("a power without `{key}`"), expected);
        }
        fields.has(key)
    };
    let all = [
        asked("at", "`at: crank` or `at: wheel`"),
        asked("correction", "`correction: none`, or the factor that was applied, such as `1.023`"),
        asked("smoothing", "`smoothing: none`, a time such as `0.5 s`, or `unknown`"),
    ];
    if all.contains(&false) {
        return None;
    }
    Some(PowerBasis {
        at_wheels: fields.word("at")? == "wheel",
        driveline: fields.si("driveline"),
        correction: fields.si("correction").unwrap_or(1.0),
        smoothing: if fields.word("smoothing") == Some("unknown") {
            None
        } else {
            Some(fields.si("smoothing").unwrap_or(0.0))
        },
    })
}
