//! Tables of the keys of a study file.

use crate::case::keys::{RUN_KEYS, optional, required};
use crate::fields::{Key, Value};

/// A study.
pub const STUDY_KEYS: &[Key] = &[
    optional("title", Value::Text, "", "One line that names the study in reports."),
    required("layouts", Value::NamedMaps(LAYOUT_KEYS), "Named layouts: case files, and what is set in them."),
    optional("points", Value::Names, "every point of the first layout", "Operating points, which each layout has."),
    optional("vary", Value::NamedMaps(VARY_KEYS), "", "Named inputs that vary from run to run."),
    optional("sample", Value::Map(SAMPLE_KEYS), "every combination of the inputs", "Which values the inputs take."),
    optional("require", Value::Maps(REQUIRE_KEYS), "", "What a run must meet to be ranked."),
    optional("aims", Value::Maps(AIM_KEYS), "", "What is to become better: one aim ranks, two make a front."),
    optional("search", Value::Map(SEARCH_KEYS), "", "Looks for the best between the bounds of the inputs."),
    optional("run", Value::Map(RUN_KEYS), "steady states", "How each run is marched; the rest is as in its case."),
    optional(
        "keep",
        Value::Word(KEPT),
        "figures",
        "Whether the fields of each run are kept as a result file of its own.",
    ),
];

/// What is kept of a run.
pub(super) const KEPT: &[&str] = &["figures", "fields"];

/// A layout.
pub const LAYOUT_KEYS: &[Key] = &[
    required("case", Value::Text, "Case file, in the folder of the study or below."),
    optional("set", Value::Anything(SET), "", "Values of fields in place of those of the case."),
];
pub(super) const SET: &str = "a map from fields to values such as `{parts.box.volume: 9 L}`";

/// An input that varies.
pub const VARY_KEYS: &[Key] = &[
    required(
        "fields",
        Value::Anything(FIELDS),
        "Fields that take the value; `points.*` stands for the point of the run. A layout may lack some, not all.",
    ),
    optional("values", Value::Anything(VALUES), "", "The values that it takes."),
    optional("from", Value::Text, "", "Lower bound."),
    optional("to", Value::Text, "", "Upper bound."),
    optional("count", Value::Count, "", "Number of values from bound to bound, when every combination is run."),
];
pub(super) const FIELDS: &str = "a field such as `parts.box.volume`, or a list of fields";
pub(super) const VALUES: &str = "values such as `8 10 12 L`, or a list of values";

/// Which values the inputs take.
pub const SAMPLE_KEYS: &[Key] = &[
    required(
        "method",
        Value::Word(METHODS),
        "`grid`: every combination. `sobol`: points that fill the space between the bounds evenly. `spread`: draws from the spreads of the \
         inputs and of the published losses, the same in all layouts.",
    ),
    optional("count", Value::Count, "", "Number of samples, for all but the grid."),
    optional("seed", Value::Count, "1", "Another number draws other samples."),
];
pub(super) const METHODS: &[&str] = &["grid", "sobol", "spread"];

/// A condition.
pub const REQUIRE_KEYS: &[Key] = &[
    required("figure", Value::Text, "A figure such as `recovery` or `recovery.left_turbo`, or an input."),
    optional("at_least", Value::Text, "", "Least value."),
    optional("at_most", Value::Text, "", "Largest value."),
];

/// An aim.
pub const AIM_KEYS: &[Key] = &[
    required("figure", Value::Text, "A figure such as `power` or `inlet_temperature.difference`, or an input."),
    required("want", Value::Word(WANTED), "Whether more is better, or less."),
];
pub(super) const WANTED: &[&str] = &["most", "least"];

/// A search.
pub const SEARCH_KEYS: &[Key] = &[
    optional("evaluations", Value::Count, "100", "Most runs for each layout and point."),
    optional("starts", Value::Count, "8", "Evenly spread runs before the search, the best of which it goes on from."),
    optional("seed", Value::Count, "1", "Another number starts elsewhere."),
];
