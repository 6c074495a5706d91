//! Natural frequencies by the table: pipes, cones, horns and vessels with a neck, each from its mode shape.

use super::resonance::{AMPLITUDE, CELLS, run};
use crate::case_text::{CaseText, duct, sections_at_faces, smooth_duct};
use crate::check::{Failure, Findings, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::marched::{self, Tract};
use crate::oracle::acoustics::{FLANGED_END, UNFLANGED_END};
use crate::sound::{STILL, compressed, sound_speed, with_shape};
use std::f64::consts::{FRAC_PI_4, PI, TAU};

/// Cases of cones in the table.
pub const CONES: [&str; 4] =
    ["cone_closed_small_open_large", "cone_open_small_closed_large", "cone_open_open", "cone_closed_closed"];

/// Length [m] and diameter [m] of the pipes that are compared.
const PIPE: (f64, f64) = (0.5, 0.05);

/// What a tube is like along its length.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bore {
    /// Of constant diameter [m].
    Pipe(f64),
    /// Straight from one radius [m] to another.
    Cone(f64, f64),
    /// Of an area that rises as exp(2 m x), m in [1/m].
    Horn(f64),
}

/// A tube in one of its modes.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Tube<'a> {
    bore: Bore,
    length: f64,
    /// Whether the first and the last end are open.
    open: [bool; 2],
    /// Key `radiation` of the open ends.
    radiation: &'a str,
    mode: u32,
    /// Exact frequency [Hz].
    frequency: f64,
}

/// Value behind `name` in the details of a row.
fn detail(row: &data::Row, name: &str) -> Result<f64, Failure> {
    let details = row.text("details")?;
    let found = details.split([';', ' ', ',']).find_map(|word| word.strip_prefix(name)).unwrap_or("");
    found.parse().map_err(|_| Failure::Missing(format!("`{name}` in the details of a row")))
}

impl<'a> Tube<'a> {
    fn of(row: &'a data::Row) -> Result<Self, Failure> {
        let case = row.text("case")?;
        let (bore, radiation) = if case.starts_with("cone") {
            (Bore::Cone(detail(row, "r1=")?, detail(row, "r2=")?), "none")
        } else if case.starts_with("exponential") {
            (Bore::Horn(detail(row, "m=")?), "none")
        } else {
            (Bore::Pipe(row.number("D_m")?), row.text("details")?)
        };
        let open = match case {
            "open_open" | "cone_open_open" => [true, true],
            "cone_open_small_closed_large" => [true, false],
            "quarter_wave_closed_open" | "cone_closed_small_open_large" => [false, true],
            _ => [false, false],
        };
        let mode = row.number("mode")? as u32;
        Ok(Self { bore, length: row.number("L_m")?, open, radiation, mode, frequency: row.number("f_Hz")? })
    }

    /// Overpressure of the mode at a place [m], up to a factor.
    fn shape(&self, place: f64) -> f64 {
        let wave_number = TAU * self.frequency / sound_speed();
        match self.bore {
            Bore::Pipe(_) if !self.open[0] => libm::cos(wave_number * place),
            Bore::Pipe(_) => {
                // Both ends add the same length to what is missing to whole half waves.
                let added = 0.5 * (f64::from(self.mode) * PI - wave_number * self.length);
                libm::sin(wave_number * place + added)
            }
            Bore::Cone(first, last) => {
                let apex = self.length * first / (last - first);
                let closed = libm::atan(wave_number * apex);
                let phase = if self.open[0] { 0.0 } else { closed };
                libm::sin(wave_number * place + phase) / (apex + place)
            }
            Bore::Horn(flare) => {
                let turns = f64::from(self.mode) * PI / self.length;
                let (sine, cosine) = libm::sincos(turns * place);
                libm::exp(-flare * place) * (cosine + flare / turns * sine)
            }
        }
    }

    fn duct(&self) -> String {
        let faces =
            |diameter: &dyn Fn(f64) -> f64| duct(self.length, &sections_at_faces(self.length, CELLS, diameter), 0.0);
        match self.bore {
            Bore::Pipe(diameter) => smooth_duct(self.length, diameter),
            Bore::Cone(first, last) => faces(&|place| 2.0 * (first + (last - first) * place / self.length)),
            Bore::Horn(flare) => faces(&|place| 0.04 * libm::exp(flare * place)),
        }
    }

    fn end_diameter(&self, place: f64) -> f64 {
        match self.bore {
            Bore::Pipe(diameter) => diameter,
            Bore::Cone(first, last) => 2.0 * (first + (last - first) * place / self.length),
            Bore::Horn(flare) => 0.04 * libm::exp(flare * place),
        }
    }

    /// Number of the cell in which the mode swings most, and its swing.
    fn loudest(&self) -> (usize, f64) {
        let width = self.length / f64::from(CELLS);
        let swing = |cell: u32| self.shape((f64::from(cell) + 0.5) * width).abs();
        (0..CELLS)
            .map(|cell| (cell as usize, swing(cell)))
            .fold((0, 0.0), |most, own| if own.1 > most.1 { own } else { most })
    }

    /// The case file: parts `first`, `tube`, `last`.
    fn case(&self) -> String {
        let end = |index: usize, place: f64| {
            let diameter = self.end_diameter(place);
            let (area, radiation) = (FRAC_PI_4 * diameter * diameter, self.radiation);
            if self.open[index] {
                format!("kind: mouth, area: {area} m2, radiation: {radiation}")
            } else {
                "kind: wall".to_owned()
            }
        };
        let case = CaseText::new(STILL.0, STILL.1)
            .part("first", end(0, 0.0))
            .part("tube", self.duct())
            .part("last", end(1, self.length))
            .line(&["first", "tube", "last"]);
        let (_, swing) = self.loudest();
        let shape = |place: f64| self.shape(place) / swing;
        with_shape(case, ("tube", self.length, CELLS), AMPLITUDE * STILL.0, compressed, shape)
            .run(run(self.frequency, self.length))
            .text()
    }

    /// Frequency that the march gives [Hz].
    fn measure(&self) -> Result<f64, Failure> {
        let tract = Tract::read(&self.case())?;
        let (tube, (cell, _)) = (marched::duct(tract.network(), "tube")?, self.loudest());
        let (_, series) =
            tract.march_recording(|march| march.network.arena.cell_states(&march.work.cells, tube).pressure[cell])?;
        series.frequency(STILL.0)
    }

    fn name(&self, case: &str) -> String {
        let bore = match self.bore {
            Bore::Pipe(_) => String::new(),
            Bore::Cone(first, last) => format!(", {first} to {last} m"),
            Bore::Horn(flare) => format!(", m = {flare}/m"),
        };
        let radiation = if self.radiation == "none" { "" } else { self.radiation };
        let words = format!("{radiation} {}{bore}: mode {} [Hz]", case.replace('_', " "), self.mode);
        words.trim_start().to_owned()
    }
}

/// What the frequency of a mode between ideal or closed ends may be off.
fn ideal(mode: u32) -> Limit {
    let value = match mode {
        1 => 1e-3,
        2 => 2e-3,
        _ => 4e-3,
    };
    Limit { value, why: "some ten times what a plain second-order scheme gets on 100 cells" }
}

/// The same of one whose open ends radiate.
const RADIATING: Limit = Limit { value: 0.01, why: "a constant end correction, which is that of low frequency" };

/// Rows of the table of one of the `cases` whose details begin with `details`; of pipes only those of one size.
fn table(cases: &[&str], details: &str) -> Result<Vec<data::Row>, Failure> {
    let mut rows = data::rows(data::RESONANCES)?;
    rows.retain(|row| {
        let text = |column: &str| row.text(column).unwrap_or("");
        let size = row.number("L_m") == Ok(PIPE.0) && row.number("D_m") == Ok(PIPE.1);
        let is_pipe = !text("case").contains("cone") && !text("case").contains("horn");
        cases.contains(&text("case")) && text("details").starts_with(details) && (size || !is_pipe)
    });
    Ok(rows)
}

/// Rows of tubes whose ends are closed or ideal.
///
/// # Errors
/// A march stopped, or a mode does not swing.
pub fn rows(cases: &[&str], details: &str) -> Result<Vec<Row>, Failure> {
    let frequency = |row: &data::Row| {
        let tube = Tube::of(row)?;
        Ok(Row::relative(tube.name(row.text("case")?), tube.measure()?, tube.frequency, ideal(tube.mode)))
    };
    table(cases, details)?.iter().map(frequency).collect()
}

/// Rows and picture of pipes whose open ends radiate.
///
/// # Errors
/// A march stopped, or a mode does not swing.
pub fn radiating() -> Result<Findings, Failure> {
    let mut rows = Vec::new();
    let mut figure = Figure::new("Modes of a pipe of 0.5 m and 50 mm", "mode", "frequency [Hz]");
    for case in ["quarter_wave_closed_open", "open_open"] {
        for end in ["unflanged", "flanged"] {
            let (mut found, mut known) = (Vec::new(), Vec::new());
            for row in &table(&[case], end)? {
                let tube = Tube::of(row)?;
                let frequency = tube.measure()?;
                rows.push(Row::relative(tube.name(case), frequency, tube.frequency, RADIATING));
                found.push((f64::from(tube.mode), frequency));
                known.push((f64::from(tube.mode), tube.frequency));
            }
            let name = format!("{end} {}", case.replace('_', " "));
            figure = figure.reference(format!("{name}, exact"), known).computed(name, found);
        }
    }
    Ok(Findings::from(rows).with(figure))
}

/// Rows of vessels with a neck. The solver adds the outer length where the mouth radiates; the inner one belongs to the neck of the case.
///
/// # Errors
/// A march stopped, or a vessel does not swing.
pub fn necks() -> Result<Vec<Row>, Failure> {
    let mut rows = data::case(data::RESONANCES, "helmholtz_line_neck_lumped_volume")?;
    rows.retain(|row| {
        row.text("details").is_ok_and(|details| details.starts_with("inner") || details.starts_with("none"))
    });
    rows.iter().map(neck).collect()
}

fn neck(row: &data::Row) -> Result<Row, Failure> {
    let (diameter, volume, frequency) = (row.number("D_m")?, detail(row, "V=")?, row.number("f_Hz")?);
    let radiates = row.text("details")?.starts_with("inner");
    let (inner, outer) = if radiates { (FLANGED_END, UNFLANGED_END) } else { (0.0, 0.0) };
    let (length, outer) = (row.number("L_m")? + 0.5 * diameter * inner, 0.5 * diameter * outer);
    let (radiation, limit) = if radiates { ("unflanged", RADIATING) } else { ("none", ideal(1)) };
    let wave_number = TAU * frequency / sound_speed();
    let highest = compressed(STILL.0 * (1.0 + AMPLITUDE));
    let area = FRAC_PI_4 * diameter * diameter;
    let case = CaseText::new(STILL.0, STILL.1)
        .part("vessel", format!("kind: plenum, volume: {volume} m3"))
        .part("neck", smooth_duct(length, diameter))
        .part("mouth", format!("kind: mouth, area: {area} m2, radiation: {radiation}"))
        .line(&["mouth", "neck", "vessel"])
        .initial_volume("vessel", highest.pressure, highest.temperature);
    let shape = |place: f64| libm::sin(wave_number * (place + outer)) / libm::sin(wave_number * (length + outer));
    let text = with_shape(case, ("neck", length, CELLS), AMPLITUDE * STILL.0, compressed, shape)
        .run(run(frequency, length))
        .text();
    let tract = Tract::read(&text)?;
    let index = marched::volume(tract.network(), "vessel")?;
    let (_, series) = tract.march_recording(|march| march.work.volumes[index].pressure)?;
    let kind = if radiates { "radiating" } else { "ideal" };
    let quantity = format!("{kind}, {volume} m3, neck {} m by {diameter} m [Hz]", row.number("L_m")?);
    Ok(Row::relative(quantity, series.frequency(STILL.0)?, frequency, limit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_ends_lie_where_the_mode_swings_and_open_ones_where_it_does_not() {
        let mut seen = 0;
        for row in [table(&CONES, "r1").unwrap(), table(&["exponential_horn_closed_closed"], "A=").unwrap()].concat() {
            let tube = Tube::of(&row).unwrap();
            let (_, swing) = tube.loudest();
            for (place, open) in [0.0, tube.length].into_iter().zip(tube.open) {
                let slope = (tube.shape(place + 1e-6) - tube.shape(place - 1e-6)) / 2e-6 * tube.length;
                let should_vanish = if open { tube.shape(place) } else { slope };
                assert!(should_vanish.abs() < 1e-4 * swing, "{row:?} {place}: {should_vanish}");
            }
            seen += 1;
        }
        assert_eq!(seen, 30);
    }

    #[test]
    fn a_radiating_mode_is_told_from_an_ideal_one() {
        let rows = table(&["open_open"], "").unwrap();
        let first =
            |kind: &str| rows.iter().find(|row| row.text("details") == Ok(kind)).unwrap().number("f_Hz").unwrap();
        assert!(!Row::relative("", first("none"), first("unflanged"), RADIATING).holds());
        assert!(!Row::relative("", first("flanged"), first("unflanged"), RADIATING).holds());
    }
}
