//! Waves: pressure, velocity and temperature along a branch over time, as maps, with the profile of a moment above each.

use super::axis::Axis;
use super::drawing::{Drawing, Moments, Values};
use super::path::{self, Along};
use super::{coloured as text, shade, straight as line, told};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::number::fixed;
use crate::print::point;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use tractwright::ledger::BranchSummary;

/// Cells of a map across and up, at most.
const COLUMNS: usize = 150;
const ROWS: usize = 200;
/// Width of a map, heights of a profile and of a map, space left of each field and right of the last [px].
const WIDTH: f64 = 250.0;
const PROFILE: f64 = 90.0;
const MAP: f64 = 260.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 20.0;
/// Top of the profiles and of the maps [px].
const TOP: f64 = 34.0;
const UNDER: f64 = TOP + PROFILE + 26.0;
/// Steps between the levels that a page keeps of a value; level zero is none.
const STEPS: f64 = 254.0;

/// A quantity that is shown: its name in the file, title with unit, factor and offset from SI.
const FIELDS: [(&str, &str, f64, f64); 3] = [
    ("pressure", "static pressure, kPa", 1e-3, 0.0),
    ("velocity", "velocity, m/s", 1.0, 0.0),
    ("temperature", "static temperature, degC", 1.0, -273.15),
];

/// Values over time and along the path, row by row from the start.
struct Map {
    columns: usize,
    values: Vec<f64>,
}

/// The picture of the branch of a result that this draw ends, the first one when none is named.
///
/// # Errors
/// There is no such draw, the run has no waves, or the file cannot be read.
pub(crate) fn drawing(opened: &Opened, draw: Option<&str>) -> Result<Drawing, Failure> {
    let branches = &opened.summary.branches;
    let wanted = |branch: &&BranchSummary| draw.is_none_or(|draw| branch.draw == draw);
    let Some(branch) = branches.iter().find(wanted) else {
        let known = branches.iter().map(|branch| branch.draw.as_str()).collect::<Vec<_>>().join(", ");
        let found =
            format!("{}: found no draw `{}`, expected one of: {known}", opened.path.display(), draw.unwrap_or(""));
        return Err(Failure::wrong_use(found));
    };
    let time = opened.reading.file.time()?;
    if time.len() < 3 {
        let found = format!("{}: found {} records, expected a run through time", opened.path.display(), time.len());
        return Err(Failure::wrong_use(found));
    }
    let parts = path::parts(opened, branch)?;
    let rows: Vec<usize> = (0..time.len()).step_by(time.len().div_ceil(ROWS)).collect();
    let times: Vec<f64> = rows.iter().map(|row| time[*row]).collect();
    let end = parts.last().map_or(0.0, |part| part.to);
    let up = Axis::exactly([times[0], times[times.len() - 1]], [UNDER + MAP, UNDER], 6);
    let mut body = String::new();
    let mut extremes = Vec::new();
    for (number, (field, title, factor, offset)) in FIELDS.iter().enumerate() {
        let map = Map::read(opened, &parts, field, &rows)?.scaled(*factor, *offset);
        let left = LEFT + number as f64 * (WIDTH + LEFT);
        let across = Axis::exactly([0.0, end], [left, left + WIDTH], 4);
        body.push_str(&of_field(&map, title, &across, &up, &parts));
        let [low, high] = map.bounds();
        extremes.push(vec![(*title).to_owned(), fixed(low, 3), fixed(high, 3)]);
    }
    body.push_str(&text(LEFT - 8.0, UNDER - 8.0, "end", "#486581", "time, s"));
    for tick in &up.ticks {
        body.push_str(&text(LEFT - 8.0, tick.place + 4.0, "end", "#486581", &tick.label));
    }
    Ok(Drawing {
        title: format!("{}: waves along the branch of {}", opened.reading.case_name, branch.draw),
        conditions: vec![
            format!("{} | {}", point::describe(&opened.point), point::air(&opened.outside)),
            format!(
                "{} of {} records; above each map the profile of one moment; white: parts without cells",
                rows.len(),
                time.len()
            ),
        ],
        size: [FIELDS.len() as f64 * (WIDTH + LEFT) + RIGHT, UNDER + MAP + 76.0],
        body,
        values: Values::new(["field", "least", "largest"], extremes),
        moments: Some(Moments { times, axis: up.to_string() }),
    })
}

/// Whether anything but the mean can be seen: the largest change of pressure over time at the draws is above a thousandth.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn has_waves(opened: &Opened) -> Result<bool, Failure> {
    for branch in &opened.summary.branches {
        let pressure = opened.reading.file.series(&branch.draw, "static_pressure")?;
        let [low, high] = pressure.iter().fold([f64::INFINITY, 0.0_f64], |[low, high], p| [low.min(*p), high.max(*p)]);
        if pressure.len() > 2 && high - low > 1e-3 * high {
            return Ok(true);
        }
    }
    Ok(false)
}

impl Map {
    /// Reads row after row, so that no field has to lie in memory as a whole. What lies in no duct is not a number.
    fn read(opened: &Opened, parts: &[Along], field: &str, rows: &[usize]) -> Result<Self, Failure> {
        let file = &opened.reading.file;
        let end = parts.last().map_or(0.0, |part| part.to);
        let ducts: Vec<(&Along, Vec<f64>)> = parts
            .iter()
            .filter(|part| part.is_duct)
            .map(|part| Ok((part, file.constant(&part.name, "x")?)))
            .collect::<Result<_, Failure>>()?;
        let cells: usize = ducts.iter().map(|duct| duct.1.len()).sum();
        let columns = cells.clamp(1, COLUMNS);
        // Which cell of which duct each column shows.
        let place = |column: usize| {
            let at = (column as f64 + 0.5) / columns as f64 * end;
            let number = ducts.iter().position(|(part, _)| part.from <= at && at < part.to)?;
            let (part, x) = &ducts[number];
            let cell = x.partition_point(|x| part.from + x < at).min(x.len() - 1);
            Some((number, cell))
        };
        let places: Vec<Option<(usize, usize)>> = (0..columns).map(place).collect();
        let mut values = Vec::with_capacity(rows.len() * columns);
        for row in rows {
            let read = |duct: &(&Along, Vec<f64>)| file.field_rows(&duct.0.name, field, *row..row + 1);
            let now = ducts.iter().map(read).collect::<Result<Vec<_>, _>>()?;
            values.extend(places.iter().map(|place| place.map_or(f64::NAN, |(duct, cell)| now[duct][[0, cell]])));
        }
        Ok(Self { columns, values })
    }

    fn scaled(mut self, factor: f64, offset: f64) -> Self {
        self.values.iter_mut().for_each(|value| *value = factor * *value + offset);
        self
    }

    fn bounds(&self) -> [f64; 2] {
        let known = self.values.iter().copied().filter(|value| value.is_finite());
        let [low, high] = known.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)]);
        if high > low { [low, high] } else { [low - 0.5, low + 0.5] }
    }

    /// Shares of the way from the least to the largest value.
    fn shares(&self) -> impl Iterator<Item = f64> + '_ {
        let [low, high] = self.bounds();
        self.values.iter().map(move |value| (value - low) / (high - low))
    }

    /// A PNG of the map, the last row on top.
    fn png(&self) -> Option<Vec<u8>> {
        let rows = self.values.len() / self.columns;
        let mut pixels = resvg::tiny_skia::Pixmap::new(self.columns as u32, rows as u32)?;
        let shares: Vec<f64> = self.shares().collect();
        for (number, pixel) in pixels.pixels_mut().iter_mut().enumerate() {
            let (row, column) = (rows - 1 - number / self.columns, number % self.columns);
            let share = shares[row * self.columns + column];
            let [red, green, blue] = if share.is_finite() { shade::colour(share) } else { [255; 3] };
            *pixel = resvg::tiny_skia::PremultipliedColorU8::from_rgba(red, green, blue, 255)?;
        }
        pixels.encode_png().ok()
    }

    /// A byte a value, one for the least; none where there is no value.
    fn bytes(&self) -> String {
        let level = |share: f64| if share.is_finite() { 1 + (STEPS * share).round() as u8 } else { 0 };
        STANDARD.encode(self.shares().map(level).collect::<Vec<u8>>())
    }
}

fn of_field(map: &Map, title: &str, across: &Axis, up: &Axis, parts: &[Along]) -> String {
    let [low, high] = map.bounds();
    let left = across.place(0.0).unwrap_or(0.0);
    let (right, bottom) = (left + WIDTH, UNDER + MAP);
    let high_low = Axis::exactly([low, high], [TOP + PROFILE, TOP], 3);
    let mut out = text(left, TOP - 16.0, "start", "#102a43", title);
    for tick in &high_low.ticks {
        out.push_str(&line([left, tick.place], [right, tick.place], "#dfe5eb"));
        out.push_str(&text(left - 6.0, tick.place + 4.0, "end", "#486581", &tick.label));
    }
    let place = |(column, value): (usize, &f64)| {
        let x = left + (column as f64 + 0.5) / map.columns as f64 * WIDTH;
        Some((x, high_low.place(*value)?))
    };
    let first: Vec<Option<(f64, f64)>> = map.values.iter().take(map.columns).enumerate().map(place).collect();
    let mut path = String::new();
    for stretch in first.split(Option::is_none) {
        for (number, (x, y)) in stretch.iter().flatten().enumerate() {
            path.push_str(&format!("{}{x:.1} {y:.1}", if number == 0 { "M" } else { "L" }));
        }
    }
    out.push_str(&format!(
        "<path class=\"profile\" d=\"{path}\" fill=\"none\" stroke=\"#08306b\" stroke-width=\"1.6\" data-x=\"{across}\" \
         data-y=\"{high_low}\" data-columns=\"{}\" data-values=\"{}\"/>\n",
        map.columns,
        map.bytes()
    ));
    if let Some(png) = map.png() {
        out.push_str(&format!(
            "<image x=\"{left:.1}\" y=\"{UNDER}\" width=\"{WIDTH}\" height=\"{MAP}\" preserveAspectRatio=\"none\" \
             href=\"data:image/png;base64,{}\"/>\n",
            STANDARD.encode(png)
        ));
    }
    for part in parts {
        let (Some(from), Some(to)) = (across.place(part.from), across.place(part.to)) else { continue };
        out.push_str(&format!(
            "<rect x=\"{from:.1}\" y=\"{UNDER}\" width=\"{:.1}\" height=\"{MAP}\" fill=\"none\" stroke=\"#9fb3c8\" \
             stroke-width=\"0.5\" pointer-events=\"all\"{}\n",
            to - from,
            told(&part.name, "rect")
        ));
    }
    let start = up.place(0.0).unwrap_or(bottom);
    out.push_str(&format!(
        "<path class=\"moment\" d=\"M{left:.1} 0H{right:.1}\" transform=\"translate(0 {start:.1})\" stroke=\"#b45309\"/>\n"
    ));
    for tick in &across.ticks {
        out.push_str(&text(tick.place, bottom + 16.0, "middle", "#486581", &tick.label));
    }
    out.push_str(&text(right, bottom + 32.0, "end", "#486581", "path, m"));
    out + &bar(left, bottom + 44.0, [low, high])
}

/// The colours with the values that they stand for.
fn bar(left: f64, top: f64, [low, high]: [f64; 2]) -> String {
    let mut out = shade::level([left + 0.25 * WIDTH, top], 0.5 * WIDTH);
    let decimals = (2.0 - (high - low).log10().floor()).clamp(0.0, 6.0) as usize;
    out.push_str(&text(left + 0.25 * WIDTH - 6.0, top + 10.0, "end", "#486581", &fixed(low, decimals)));
    out + &text(left + 0.75 * WIDTH + 6.0, top + 10.0, "start", "#486581", &fixed(high, decimals))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_map_keeps_its_values_within_its_levels() {
        let map = Map { columns: 3, values: vec![1.0, f64::NAN, 2.0, 3.0, 1.5, 1.0] };
        let near = |found: [f64; 2], known: [f64; 2]| found.iter().zip(known).all(|(a, b)| (a - b).abs() < 1e-12);
        assert!(near(map.bounds(), [1.0, 3.0]));
        let bytes = STANDARD.decode(map.bytes()).expect("base64");
        assert_eq!(bytes, [1, 0, 128, 255, 65, 1]);
        assert!(map.png().is_some_and(|png| png.starts_with(b"\x89PNG")));
        assert!(
            near(Map { columns: 1, values: vec![2.0, 2.0] }.bounds(), [1.5, 2.5]),
            "a field at rest has a scale too"
        );
    }
}
