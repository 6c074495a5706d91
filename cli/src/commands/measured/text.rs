//! A log and the model beside it, as tables and sentences.

use crate::overlay::{Miss, Overlay};
use crate::print::number::{fixed, signed_significant, significant, trimmed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use tractwright::case::measured::{Channel, Meaning, Measured};
use tractwright::measured::Doubt;
use tractwright::quantity::Unit;

/// Things told of a log before only their number is.
const MOST_TOLD: usize = 20;

/// Everything; each steady state too where `each` is asked for.
pub(super) fn of(overlay: &Overlay, each: bool) -> String {
    let mut text = String::new();
    let mut say = |words: &str| wrap(words, WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
    say(&head(overlay));
    told(overlay).iter().for_each(|words| say(words));
    doubts(overlay).iter().for_each(|words| say(&format!("  {words}")));
    text.push_str(&format!("\n{}\n", columns(overlay).render()));
    text.push_str(&format!("{}\n", beside(overlay).render()));
    wrap(&basis(overlay), WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
    for words in overlay.without_model() {
        wrap(&format!("  {words}"), WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
    }
    if each {
        text.push_str(&format!("\n{}", states(overlay).render()));
    }
    text
}

/// What the tables and pictures of a log rest on.
pub(crate) fn basis(overlay: &Overlay) -> String {
    let model = if overlay.is_course() {
        "The model goes through one course, at the means of what the log sets, and is read as it comes by the speed of each state,"
    } else {
        "The model is solved at the numbers that each state sets, and read"
    };
    format!(
        "{model} where the gauge sits: a wall tap as static pressure in its own area. Off: root mean square of model less reading; over the \
         spread of a reading, one is as near as it can be told."
    )
}

fn head(overlay: &Overlay) -> String {
    let log = &overlay.log;
    let rate = log.step.map_or(String::new(), |step| format!(", {} rows a second", trimmed(1.0 / step, 2)));
    let runs = if log.runs > 1 { format!(", {} runs", log.runs) } else { String::new() };
    let gaps = if log.dropouts > 0 { format!(", {} gaps", log.dropouts) } else { String::new() };
    format!(
        "{}: {}; {} rows{rate}{runs}{gaps}, {} {} at {}",
        log.file,
        log.form,
        log.rows_read,
        overlay.stations.len(),
        if overlay.is_course() { "states" } else { "steady states" },
        overlay.measured.point
    )
}

/// What is doubtful, a sentence each.
pub(crate) fn doubts(overlay: &Overlay) -> Vec<String> {
    overlay.doubts.iter().map(|doubt| doubtful(&overlay.measured, doubt)).collect()
}

/// A doubt in words.
pub(crate) fn doubtful(measured: &Measured, doubt: &Doubt) -> String {
    let states = if doubt.stations > 1 { format!(" ({} states)", doubt.stations) } else { String::new() };
    format!("doubtful: {}: {}{states}", measured.channels[doubt.channel].name, doubt.text)
}

/// What was noticed in the log.
fn told(overlay: &Overlay) -> Vec<String> {
    let log = &overlay.log;
    let mut all = Vec::new();
    let kept_out = log.told.iter().filter(|told| told.kept_out).count();
    if kept_out > 0 {
        all.push(format!("{kept_out} of {} rows kept out:", log.rows_read));
    }
    for told in log.told.iter().take(MOST_TOLD) {
        let place = if told.line > 0 { format!("line {}: ", told.line) } else { String::new() };
        all.push(format!("  {place}{}", told.text));
    }
    if log.told.len() > MOST_TOLD {
        all.push(format!("  and {} more", log.told.len() - MOST_TOLD));
    }
    if !log.unused.is_empty() {
        all.push(format!("  not spoken of in the case: {}", log.unused.join(", ")));
    }
    all
}

/// Each column with its unit, range and rate, and the number of states in which it is doubtful.
fn columns(overlay: &Overlay) -> Table {
    let head = ["unit", "least", "most", "a second", "empty", "doubtful"].map(str::to_owned).to_vec();
    let doubtful = |number: usize| -> String {
        let own = || overlay.doubts.iter().filter(|doubt| doubt.channel == number).map(|doubt| doubt.stations);
        // A doubt of no state is one of the whole column.
        if own().any(|stations| stations == 0) { "all".to_owned() } else { own().max().unwrap_or(0).to_string() }
    };
    let row = |(number, channel): (usize, &Channel)| {
        let Some(data) = overlay.log.channels[number] else {
            return Row::new(channel.name.clone(), vec![String::new(); 6]).noted("no such column in this log");
        };
        let values = || overlay.log.rows.iter().filter_map(move |row| row.values[number]);
        let shown = |value: f64| if value.is_finite() { significant(data.unit.from_si(value)) } else { "-".to_owned() };
        let cells = vec![
            data.unit.symbol.to_owned(),
            shown(values().fold(f64::INFINITY, f64::min)),
            shown(values().fold(f64::NEG_INFINITY, f64::max)),
            data.step.map_or_else(|| "-".to_owned(), |step| trimmed(1.0 / step, 2)),
            data.missing.to_string(),
            doubtful(number),
        ];
        Row::new(channel.name.clone(), cells).noted(meaning(channel))
    };
    let rows = overlay.measured.channels.iter().enumerate().map(row).collect();
    Table { head: Row::new("column", head).noted("is"), rows }
}

/// What a column is, in words.
pub(super) fn meaning(channel: &Channel) -> String {
    let is = match &channel.meaning {
        Meaning::Time => "time".to_owned(),
        Meaning::EngineSpeed => "engine speed".to_owned(),
        Meaning::RoadSpeed => "road speed".to_owned(),
        Meaning::AirFlow => "air of all draws".to_owned(),
        Meaning::Power(basis) => {
            let at = if basis.driveline.is_some() { "wheels" } else { "crank" };
            let corrected = if (basis.correction - 1.0).abs() > 0.0 {
                format!(", divided by the correction {}", basis.correction)
            } else {
                String::new()
            };
            format!("power at the {at}{corrected}")
        }
        Meaning::Gauge { tap, reads } => format!("{tap}: {}", reads.words()),
        Meaning::Setting => String::new(),
    };
    let offset = channel.offset.as_ref().filter(|offset| offset.number != 0.0);
    let off = offset
        .map_or(String::new(), |offset| format!("{} {} taken off", trimmed(offset.number, 6), offset.unit.symbol));
    let sets = if channel.sets.is_empty() { String::new() } else { format!("sets {}", channel.sets.join(", ")) };
    [is, off, sets].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join("; ")
}

/// What the states come to, gauge by gauge.
pub(crate) fn beside(overlay: &Overlay) -> Table {
    let head = ["unit", "states", "read", "model", "off", "over spread", "worst"].map(str::to_owned).to_vec();
    let row = |miss: &Miss| {
        let channel = &overlay.measured.channels[miss.channel];
        let unit = overlay.log.channels[miss.channel].map(|data| data.unit)?;
        let [read, model, spread] = miss.means;
        let cells = vec![
            unit.symbol.to_owned(),
            miss.stations.to_string(),
            significant(unit.from_si(read)),
            significant(unit.from_si(model)),
            significant(unit.difference_from_si(miss.rms)),
            fixed(miss.rms / spread, 1),
            signed_significant(unit.difference_from_si(miss.worst.1)),
        ];
        Some(Row::new(channel.name.clone(), cells).noted(format!("at {}", overlay.stations[miss.worst.0].name)))
    };
    let rows = overlay.misses().iter().filter_map(row).collect();
    Table { head: Row::new("gauge, means", head), rows }
}

/// Each steady state: reading and model less reading of every gauge.
fn states(overlay: &Overlay) -> Table {
    let gauges: Vec<(usize, &Channel, &'static Unit)> = overlay
        .measured
        .channels
        .iter()
        .enumerate()
        .filter(|(_, channel)| channel.is_reading())
        .filter_map(|(number, channel)| Some((number, channel, overlay.log.channels[number]?.unit)))
        .collect();
    let heads = gauges
        .iter()
        .flat_map(|(_, channel, unit)| [format!("{}, {}", channel.name, unit.symbol), "model less it".to_owned()]);
    let row = |(station, model): (&tractwright::measured::Station, &Result<Vec<Option<f64>>, String>)| {
        let cells = gauges.iter().flat_map(|(number, _, unit)| {
            let read = station.means[*number].map(|mean| mean.value);
            let model = model.as_ref().ok().and_then(|model| model[*number]);
            let shown = |value: f64| significant(unit.from_si(value));
            let apart = read.zip(model).map(|(read, model)| unit.difference_from_si(model - read));
            [read.map_or("-".to_owned(), shown), apart.map_or("-".to_owned(), signed_significant)]
        });
        Row::new(station.name.clone(), cells.collect())
    };
    let rows = overlay.stations.iter().zip(&overlay.models).map(row).collect();
    Table { head: Row::new("state", heads.collect()), rows }
}
