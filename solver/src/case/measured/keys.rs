//! Tables of the keys of `measured`.

use crate::case::keys::{optional, required};
use crate::fields::{Key, Range, Value};
use crate::quantity::Dimension;

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
        "each row is a state of its own",
        "Which rows are one state, to be averaged; of a pull or a roll-on those of one speed.",
    ),
    optional(
        "pulls",
        Value::Text,
        "all rows count; of a pull or a roll-on that of its speed",
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
        "offset",
        Value::Text,
        "nothing",
        "How far all its readings lie above the truth alike, which is taken off them (of a power behind its correction); a spread is how well that is known.",
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
