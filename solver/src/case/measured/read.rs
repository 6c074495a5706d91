//! From the section `measured` to what it says.

use super::{Basis, Channel, LongForm, Meaning, Measured, PowerBasis, Reads, Stations};
use crate::case::{Number, Point, Task};
use crate::fields::{Fields, Range, Value};
use crate::quantity::{self, Dimension};

/// Reads the section.
pub(in crate::case) fn read(fields: &Fields<'_>, points: &[Point]) -> Option<Measured> {
    let point = fields.text("point")?;
    let Some(at) = points.iter().find(|known| known.name == point) else {
        let names: Vec<&str> = points.iter().map(|point| point.name.as_str()).collect();
        fields.problem("point", quantity::quote(&point), format!("a point of the case: {}", names.join(", ")));
        return None;
    };
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
            Some(Stations { of, every })
        }
        None => None,
    };
    let pulls = match fields.text("pulls") {
        Some(name) => Some(number(fields, "pulls", &name)?),
        None => None,
    };
    let course = course(fields, at, &columns, &channels).ok()?;
    if let (Some(speed), Some(Stations { of, .. })) = (course, &stations)
        && *of != speed
    {
        let expected = format!("{}, the speed of the course", quantity::quote(&channels[speed].name));
        fields.problem("stations", quantity::quote(&channels[*of].name), expected);
        return None;
    }
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
    Some(Measured {
        point,
        channels,
        course,
        stations,
        pulls: pulls.or(course),
        decimal_comma,
        every,
        gap: fields.si("gap"),
        long,
    })
}

/// The channel by whose speed the states of a course are told apart; none where the point is one state.
fn course(fields: &Fields<'_>, at: &Point, columns: &[Fields<'_>], channels: &[Channel]) -> Result<Option<usize>, ()> {
    /// What a point says of its course: a log has no say in where it begins and ends.
    const OF_COURSE: [&str; 3] = ["engine_speed", "pull", "roll_on"];
    let (meaning, words) = match at.task {
        Task::Hold => return Ok(None),
        Task::Pull { .. } => (Meaning::EngineSpeed, "a pull without a column of crank speeds"),
        Task::RollOn { .. } => (Meaning::RoadSpeed, "a roll-on without a column of road speeds"),
        Task::Step { .. } => {
            let found = format!("{}, a throttle step, in which no speed tells states apart", quantity::quote(&at.name));
            fields.problem("point", found, "a steady point, a pull or a roll-on");
            return Err(());
        }
    };
    let Some(speed) = channels.iter().position(|channel| channel.meaning == meaning) else {
        let key = if meaning == Meaning::EngineSpeed { "engine_speed" } else { "road_speed" };
        fields.problem("columns", words, format!("one with `is: {key}`"));
        return Err(());
    };
    let own = format!("points.{}.", at.name);
    let says = |path: &String| {
        let of_point = path.strip_prefix(&own).and_then(|rest| rest.split('.').next());
        of_point.is_some_and(|key| OF_COURSE.contains(&key))
    };
    for (column, channel) in columns.iter().zip(channels) {
        if let Some(path) = channel.sets.iter().find(|path| says(path)) {
            let found = format!("{}, where the course begins or ends", quantity::quote(path));
            column.problem(
                "sets",
                found,
                "a column that leaves it alone: readings are laid over it where it comes by their speed",
            );
            return Err(());
        }
    }
    Ok(Some(speed))
}

/// A step of a value; of a temperature the difference.
fn step(fields: &Fields<'_>, text: &str, dimension: Dimension) -> Option<f64> {
    positive(fields, "every", text, dimension.difference())
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
        offset: None,
        location: fields.location(""),
        tap_location: fields.location("tap"),
    };
    match (fields.text("accuracy"), channel.dimension()) {
        (Some(text), Some(dimension)) => {
            channel.accuracy = positive(fields, "accuracy", &text, dimension.difference())?;
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
    if let Some(text) = fields.text("offset") {
        let offset = offset(fields, text, channel.dimension())?;
        if offset.spread.is_some() && !channel.counts() {
            let found = "the spread of an offset that moves what the column sets or is read at";
            fields.problem("offset", found, "a value alone, or a column that only reads something of the model");
            return None;
        }
        channel.offset = Some(offset);
    }
    Some(channel)
}

/// How far all readings of a column lie above the truth alike.
fn offset(fields: &Fields<'_>, text: String, dimension: Option<Dimension>) -> Option<Number> {
    let Some(dimension) = dimension.map(Dimension::difference) else {
        fields.problem("offset", "an offset of a column that only sets numbers", "none, or `is` or `tap` beside it");
        return None;
    };
    let expected = || format!("{}, such as `0 +- {}`", dimension.name(), dimension.example());
    match quantity::written(&text, dimension) {
        Ok(written) if written.numbers.len() == 1 => Some(Number {
            path: format!("measured.columns.{}.offset", fields.name()),
            number: written.numbers[0],
            unit: written.unit,
            value: written.unit.to_si(written.numbers[0]),
            text,
            dimension,
            range: Range::Any,
            spread: written.spread,
            location: fields.location("offset"),
        }),
        Ok(_) => {
            fields.problem("offset", quantity::quote(&text), expected());
            None
        }
        Err(fault) => {
            fields.problem("offset", fault.found, fault.expected);
            None
        }
    }
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
    let at_wheels = fields.word("at")? == "wheel";
    if at_wheels != fields.has("driveline") {
        let [found, expected] = match at_wheels {
            true => [
                "a power at the wheels without `driveline`",
                "the share of the crank's power that reaches them, such as `driveline: 87 %`",
            ],
            false => ["`driveline` beside `at: crank`", "`at: wheel`, or no `driveline`"],
        };
        fields.problem("driveline", found, expected);
        return None;
    }
    Some(PowerBasis {
        driveline: fields.si("driveline"),
        correction: fields.si("correction").unwrap_or(1.0),
        smoothing: if fields.word("smoothing") == Some("unknown") {
            None
        } else {
            Some(fields.si("smoothing").unwrap_or(0.0))
        },
    })
}
