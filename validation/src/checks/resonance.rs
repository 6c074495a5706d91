//! Natural frequencies of pipes, cones, horns and vessels with a neck.
//!
//! Each starts from its mode shape at an amplitude at which sound is linear, so that the zero crossings are those of one mode.

use crate::case_text::{CaseText, smooth_duct};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::checks::modes;
use crate::marched::{Tract, duct, volume};
use crate::oracle::acoustics::{FLANGED_END, Resonator, UNFLANGED_END, closed_open};
use crate::sound::{STILL, compressed, sound_speed, with_shape};
use crate::time_series::Series;
use std::f64::consts::PI;

/// Checks of natural frequencies.
pub const GROUP: Group = Group {
    name: "resonance",
    about: "natural frequencies, from the mode shape at an amplitude of 10 Pa",
    checks: &[
        Check {
            name: "quarter_wave",
            about: "three modes of a pipe with one closed end",
            source: SOURCE,
            run: || rows_only([1, 2, 3].into_iter().map(|mode| QuarterWavePipe { mode, ..PIPE }.measure()).collect()),
        },
        Check {
            name: "ideal_pipes",
            about: "modes of pipes with two open and two closed ends, the open ones ideal",
            source: SOURCE,
            run: || rows_only(modes::rows(&["open_open", "closed_closed"], "none")),
        },
        Check {
            name: "radiating_pipes",
            about: "modes of pipes whose open ends radiate, unflanged and flanged",
            source: "Levine and Schwinger (1948), 0.6133 radii; Nomura and others (1960), 0.8217 radii; Kinsler et al. (2000), section 10.3",
            run: modes::radiating,
        },
        Check {
            name: "cones",
            about: "modes of cones with open and closed ends, the open ones ideal",
            source: HORNS,
            run: || rows_only(modes::rows(&modes::CONES, "r1")),
        },
        Check {
            name: "horns",
            about: "modes of exponential horns with closed ends",
            source: HORNS,
            run: || rows_only(modes::rows(&["exponential_horn_closed_closed"], "A=")),
        },
        Check {
            name: "line_neck",
            about: "a vessel with a neck of 100 cells: tan(kL) = S/(kV)",
            source: SOURCE,
            run: || rows_only(Ok(vec![VESSEL.measure()?])),
        },
        Check {
            name: "radiating_necks",
            about: "vessels with a neck, ideal, and with the length that both ends of the neck add",
            source: "tan(kL) = S/(kV); inner end flanged (0.8217 radii), outer end unflanged (0.6133 radii), Levine and Schwinger (1948)",
            run: || rows_only(modes::necks()),
        },
        Check {
            name: "lumped_neck",
            about: "a vessel with an opening whose air is one lump: Helmholtz",
            source: "Kinsler et al. (2000), Fundamentals of Acoustics, 4th ed., section 10.8; flanged ends by Rayleigh, section 307",
            run: || {
                rows_only(Ok(vec![
                    LumpedVessel::measure(0.8)?,
                    LumpedVessel::measure(0.1)?,
                    LumpedVessel::measure_mouth()?,
                ]))
            },
        },
    ],
};

const SOURCE: &str = "Kinsler et al. (2000), Fundamentals of Acoustics, 4th ed., chapter 10";
const HORNS: &str = "Fletcher and Rossing (1998), The Physics of Musical Instruments, 2nd ed., chapter 8";
const PIPE: QuarterWavePipe = QuarterWavePipe { length: 0.5, diameter: 0.05, mode: 1 };
const VESSEL: Vessel = Vessel { volume: 0.005, neck_length: 0.1, neck_diameter: 0.05 };

/// Amplitude over the pressure outside. At 1e-4 the shift by steepening lies far below the limits.
pub(super) const AMPLITUDE: f64 = 1e-4;
/// Cells in the pipe or neck.
pub(super) const CELLS: u32 = 100;
/// Periods that are watched.
const PERIODS: f64 = 5.0;
/// Samples in a period.
const SAMPLES: f64 = 200.0;

/// Keys of `run` for a few periods of `frequency` [Hz] on cells of a duct of `length` [m].
pub(super) fn run(frequency: f64, length: f64) -> String {
    let (until, cell) = (PERIODS / frequency, length / f64::from(CELLS));
    let every = 1.0 / (SAMPLES * frequency);
    format!("march: acoustic, until: {until} s, cell: {cell} m, record_every: {every} s")
}

/// A pipe closed at its first end and open at its last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuarterWavePipe {
    /// Length [m].
    pub length: f64,
    /// Diameter [m].
    pub diameter: f64,
    /// Mode, from 1.
    pub mode: u32,
}

impl QuarterWavePipe {
    /// Exact frequency [Hz].
    #[must_use]
    pub fn frequency(&self) -> f64 {
        closed_open(sound_speed(), self.length, self.mode)
    }

    fn measure(&self) -> Result<Row, Failure> {
        let tract = Tract::read(&self.case())?;
        let pipe = duct(tract.network(), "pipe")?;
        let (_, closed_end) = tract.march_recording(|march| {
            let cells = march.network.arena.cell_states(&march.work.cells, pipe).pressure;
            cells[cells.len() - 1]
        })?;
        self.row(&closed_end)
    }

    /// The case file: parts `end`, `pipe`, `mouth`. The pressure of the last cell of `pipe` is read.
    #[must_use]
    pub fn case(&self) -> String {
        let wave_number = 2.0 * PI * self.frequency() / sound_speed();
        let area = 0.25 * PI * self.diameter * self.diameter;
        let case = CaseText::new(STILL.0, STILL.1)
            .part("end", "kind: wall")
            .part("pipe", smooth_duct(self.length, self.diameter))
            .part("mouth", format!("kind: mouth, area: {area} m2, radiation: none"))
            .line(&["mouth", "pipe", "end"]);
        // The flow line runs inward, so places count from the open end.
        let shape = |place: f64| libm::cos(wave_number * (self.length - place));
        with_shape(case, ("pipe", self.length, CELLS), AMPLITUDE * STILL.0, compressed, shape)
            .run(run(self.frequency(), self.length))
            .text()
    }

    /// The row, from the pressure [Pa] at the closed end.
    ///
    /// # Errors
    /// When the pressure does not oscillate.
    pub fn row(&self, closed_end: &Series) -> Result<Row, Failure> {
        const WHY: &str = "some ten times what a plain second-order scheme gets on 100 cells";
        let value = match self.mode {
            1 => 1e-3,
            2 => 2e-3,
            _ => 4e-3,
        };
        let quantity = format!("frequency of mode {} [Hz]", self.mode);
        let found = closed_end.frequency(STILL.0)?;
        Ok(Row::relative(quantity, found, self.frequency(), Limit { value, why: WHY }))
    }
}

/// A vessel that breathes through a neck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vessel {
    /// Volume [m^3].
    pub volume: f64,
    /// Length of the neck [m].
    pub neck_length: f64,
    /// Diameter of the neck [m].
    pub neck_diameter: f64,
}

impl Vessel {
    fn resonator(&self) -> Resonator {
        let neck_area = 0.25 * PI * self.neck_diameter * self.neck_diameter;
        Resonator { sound_speed: sound_speed(), volume: self.volume, neck_area, neck_length: self.neck_length }
    }

    /// Exact frequency [Hz] with the neck as a line and the volume as one state.
    #[must_use]
    pub fn frequency(&self) -> f64 {
        self.resonator().line_frequency()
    }

    fn measure(&self) -> Result<Row, Failure> {
        let tract = Tract::read(&self.case())?;
        self.row(&vessel_pressure(&tract)?)
    }

    /// The case file: parts `vessel`, `neck`, `mouth`. The pressure of `vessel` is read.
    #[must_use]
    pub fn case(&self) -> String {
        let wave_number = 2.0 * PI * self.frequency() / sound_speed();
        let highest = compressed(STILL.0 * (1.0 + AMPLITUDE));
        let case = CaseText::new(STILL.0, STILL.1)
            .part("vessel", format!("kind: plenum, volume: {} m3", self.volume))
            .part("neck", smooth_duct(self.neck_length, self.neck_diameter))
            .part("mouth", format!("kind: mouth, area: {} m2, radiation: none", self.resonator().neck_area))
            .line(&["mouth", "neck", "vessel"])
            .initial_volume("vessel", highest.pressure, highest.temperature);
        let shape = |place: f64| libm::sin(wave_number * place) / libm::sin(wave_number * self.neck_length);
        with_shape(case, ("neck", self.neck_length, CELLS), AMPLITUDE * STILL.0, compressed, shape)
            .run(run(self.frequency(), self.neck_length))
            .text()
    }

    /// The row, from the pressure [Pa] in the vessel.
    ///
    /// # Errors
    /// When the pressure does not oscillate.
    pub fn row(&self, vessel: &Series) -> Result<Row, Failure> {
        const LIMIT: Limit = Limit { value: 1e-3, why: "as for the lowest mode of a pipe on 100 cells" };
        Ok(Row::relative("frequency [Hz]", vessel.frequency(STILL.0)?, self.frequency(), LIMIT))
    }
}

/// Pressure [Pa] over time in the part `vessel`.
fn vessel_pressure(tract: &Tract) -> Result<Series, Failure> {
    let index = volume(tract.network(), "vessel")?;
    Ok(tract.march_recording(|march| march.work.volumes[index].pressure)?.1)
}

/// A vessel of 5 litres with an opening of 40 mm in a wall of 20 mm.
struct LumpedVessel;

impl LumpedVessel {
    const VOLUME: f64 = 0.005;
    const RADIUS: f64 = 0.02;
    const THICKNESS: f64 = 0.02;

    fn resonator() -> Resonator {
        let neck_length = Self::THICKNESS + 2.0 * FLANGED_END * Self::RADIUS;
        let neck_area = PI * Self::RADIUS * Self::RADIUS;
        Resonator { sound_speed: sound_speed(), volume: Self::VOLUME, neck_area, neck_length }
    }

    /// Row at a Courant number.
    fn measure(courant: f64) -> Result<Row, Failure> {
        const LIMIT: Limit = Limit { value: 1e-3, why: "as for the lowest mode of a pipe on 100 cells" };
        let frequency = Self::resonator().lumped_frequency();
        let highest = compressed(STILL.0 * (1.0 + AMPLITUDE));
        let (hole, thickness) = (2.0 * Self::RADIUS, Self::THICKNESS);
        let keys = format!("diameter: {hole} m, thickness: {thickness} m, discharge_coefficient: 1");
        let text = CaseText::new(STILL.0, STILL.1)
            .part("vessel", format!("kind: plenum, volume: {} m3", Self::VOLUME))
            .part("opening", format!("kind: orifice_plate, {keys}"))
            .line(&["vessel", "opening", "outside"])
            .initial_volume("vessel", highest.pressure, highest.temperature)
            .run(format!("{}, courant: {courant}", run(frequency, 1.0)))
            .text();
        let found = vessel_pressure(&Tract::read(&text)?)?.frequency(STILL.0)?;
        Ok(Row::relative(format!("frequency at Courant number {courant} [Hz]"), found, frequency, LIMIT))
    }

    /// Row of the same vessel with a mouth of that size straight in its wall: all its length is that which the ends add.
    fn measure_mouth() -> Result<Row, Failure> {
        const LIMIT: Limit = Limit { value: 0.01, why: "constant end corrections, which are those of low frequency" };
        let neck_length = (FLANGED_END + UNFLANGED_END) * Self::RADIUS;
        let frequency = Resonator { neck_length, ..Self::resonator() }.lumped_frequency();
        let highest = compressed(STILL.0 * (1.0 + AMPLITUDE));
        let text = CaseText::new(STILL.0, STILL.1)
            .part("vessel", format!("kind: plenum, volume: {} m3", Self::VOLUME))
            .part("mouth", format!("kind: mouth, area: {} m2", PI * Self::RADIUS * Self::RADIUS))
            .line(&["mouth", "vessel"])
            .initial_volume("vessel", highest.pressure, highest.temperature)
            .run(run(frequency, 1.0))
            .text();
        let found = vessel_pressure(&Tract::read(&text)?)?.frequency(STILL.0)?;
        Ok(Row::relative("frequency with a mouth in the wall [Hz]", found, frequency, LIMIT))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(frequency: f64) -> Series {
        let times: Vec<f64> = (0..1000).map(|index| f64::from(index) / (SAMPLES * frequency)).collect();
        let value = |time: &f64| STILL.0 * (1.0 + AMPLITUDE * libm::cos(2.0 * PI * frequency * time));
        Series { values: times.iter().map(value).collect(), times }
    }

    #[test]
    fn the_right_tone_holds_and_a_false_one_does_not() {
        let pipe = PIPE;
        assert!(pipe.row(&tone(pipe.frequency())).unwrap().holds());
        assert!(!pipe.row(&tone(1.002 * pipe.frequency())).unwrap().holds());
        let vessel = VESSEL;
        assert!(vessel.row(&tone(vessel.frequency())).unwrap().holds());
        // The lumped value is what a march must not give.
        assert!(!vessel.row(&tone(vessel.resonator().lumped_frequency())).unwrap().holds());
    }

    #[test]
    fn the_mode_shape_fills_the_duct() {
        let pipe = QuarterWavePipe { length: 0.5, diameter: 0.05, mode: 2 };
        assert_eq!(pipe.case().matches("part: pipe").count(), 100);
    }
}
