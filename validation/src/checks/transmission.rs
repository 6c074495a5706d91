//! Weak waves through what stands in and beside a line, heard before and behind it.
//!
//! A bell of sound runs towards the element. Before it the wave that runs forward is what arrives, whatever comes back; behind it nothing
//! comes back before the watch ends, so that the wave that runs forward is what an anechoic end would take.

use crate::case_text::{CaseText, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row, rows_only};
use crate::checks::pulses;
use crate::data::{self, DataError};
use crate::figure::Figure;
use crate::marched::Tract;
use crate::oracle::transmission::Element;
use crate::sound::{Heard, Phasor, STILL, bell, listen, sound_speed, travelling, with_shape};
use std::f64::consts::FRAC_PI_4;

/// Checks of what elements let pass.
pub const GROUP: Group = Group {
    name: "transmission",
    about: "sound through chambers, past side branches and through changes of area",
    checks: &[
        Check {
            name: "expansion_chamber",
            about: "transmission loss of chambers of 4, 9 and 16 times the area",
            source: SOURCE,
            run: || measure("expansion_chamber"),
        },
        Check {
            name: "quarter_wave_branch",
            about: "transmission loss of closed pipes beside a line",
            source: SOURCE,
            run: || measure("side_branch_quarter_wave"),
        },
        Check {
            name: "vessel_branch",
            about: "transmission loss of vessels with a neck beside a line",
            source: SOURCE,
            run: || measure("side_branch_helmholtz"),
        },
        Check {
            name: "area_change_pulse",
            about: "pulses at open and closed ends, changes of area and junctions",
            source: "Kinsler et al. (2000), Fundamentals of Acoustics, 4th ed., section 10.9: T = 2 / (1 + A2/A1), R = T - 1",
            run: || rows_only(pulses::rows()),
        },
    ],
};

const SOURCE: &str = "Munjal (2014), Acoustics of Ducts and Mufflers, 2nd ed., chapter 2; Kinsler et al. (2000), sections 10.10 and 10.11";

/// Diameter of the line [m]. Only ratios of areas count.
const DIAMETER: f64 = 0.08;
/// Cells of each leg of the line, and their length [m].
const LEG: (u32, f64) = (1000, 0.01);
/// Time that is watched [s]: shorter than sound needs to the far end of a leg and back.
const WATCH: f64 = 0.056;
/// Time from sample to sample [s]; the bell holds nothing above a third of its rate.
const STEP: f64 = 1e-4;
/// Standard deviation of the bell [m], and its middle before the element [m].
const BELL: (f64, f64) = (0.08, 0.8);
/// Cells between the element and the places where one listens.
const APART: usize = 20;
/// Frequencies of the curve [Hz]: the lowest, and the steps from there.
const CURVE: (f64, u32) = (25.0, 40);
/// Relative uncertainty of frequency that a compared loss must not feel.
const TUNING: f64 = 0.01;
const LIMIT: Limit = Limit { value: 0.5, why: "common practice for a plane-wave loss away from its poles" };
const POLE: Limit = Limit::none("one per cent of frequency moves the loss by more than its limit here");

/// The element of a row of the table.
///
/// # Errors
/// The row is not one of the table.
pub fn element(row: &data::Row) -> Result<Element, DataError> {
    let details = row.text("details")?;
    let value = |name: &str| -> Result<f64, DataError> {
        let found = details.split([';', ' ']).find_map(|word| word.strip_prefix(name)).unwrap_or("");
        let damaged = || DataError::NotANumber { column: format!("details, {name}"), found: found.to_owned() };
        found.parse().map_err(|_| damaged())
    };
    let over_line = |diameter: f64| diameter * diameter / (DIAMETER * DIAMETER);
    Ok(match row.text("case")? {
        "expansion_chamber" => Element::Chamber { ratio: value("m=")?, length: value("L=")? },
        "side_branch_quarter_wave" => {
            let diameter = details.rsplit("D=").next().and_then(|rest| rest.split(';').next());
            let diameter = diameter.and_then(|number| number.parse().ok()).unwrap_or(f64::NAN);
            Element::QuarterWave { ratio: over_line(diameter), length: value("Leff=")? }
        }
        _ => {
            let neck = value("Dn=")?;
            let depth = value("V=")? / (FRAC_PI_4 * neck * neck);
            Element::Vessel { ratio: over_line(neck), length: value("Leff=")?, depth }
        }
    })
}

/// Details without what all rows share and what follows from the rest.
fn short(details: &str) -> &str {
    let own = details.trim_start_matches("S duct D=0.08; ");
    own.split(";f0=").next().unwrap_or(own)
}

fn measure(case: &str) -> Result<Findings, Failure> {
    let table = data::case(data::TRANSMISSION, case)?;
    let mut figure = Figure::new("Transmission loss", "frequency [Hz]", "transmission loss [dB]");
    let (mut rows, mut measured): (Vec<Row>, Vec<(String, Element, Spectrum)>) = (Vec::new(), Vec::new());
    for row in &table {
        let (details, found) = (row.text("details")?, element(row)?);
        if !measured.iter().any(|known| known.0 == details) {
            measured.push((details.to_owned(), found, Spectrum::of(&found)?));
        }
        let Some((details, _, spectrum)) = measured.last() else { continue };
        let name = short(details);
        let (frequency, loss) = (row.number("f_Hz")?, row.number("TL_dB")?);
        let quantity = format!("{name}: loss at {frequency:.0} Hz [dB]");
        rows.push(Row::absolute(quantity, spectrum.loss(frequency), loss, limit(&found, frequency)));
    }
    for (details, element, spectrum) in &measured {
        let name = short(details);
        let exact = |frequency: f64| element.loss(sound_speed(), frequency);
        let frequencies = || (2..=CURVE.1).map(|index| CURVE.0 * f64::from(index));
        let smooth = frequencies().filter(|frequency| !limit(element, *frequency).value.is_infinite());
        let pairs = smooth.map(|frequency| (spectrum.loss(frequency), exact(frequency)));
        rows.push(Row::worst_by(Measure::Absolute, format!("{name}: worst from 50 to 1000 Hz [dB]"), pairs, LIMIT));
        let fine = (10..=8 * CURVE.1).map(|index| CURVE.0 * f64::from(index) / 8.0);
        figure = figure
            .reference(format!("{name}, exact"), fine.map(|frequency| (frequency, exact(frequency))))
            .computed(name, frequencies().map(|frequency| (frequency, spectrum.loss(frequency))));
    }
    Ok(Findings::from(rows).with(figure))
}

/// What a loss may be off, by how steep it is in frequency.
fn limit(element: &Element, frequency: f64) -> Limit {
    let loss = |factor: f64| element.loss(sound_speed(), factor * frequency);
    let moved = (loss(1.0 + TUNING) - loss(1.0)).abs().max((loss(1.0 - TUNING) - loss(1.0)).abs());
    if moved < LIMIT.value { LIMIT } else { POLE }
}

/// What was heard before and behind an element.
struct Spectrum {
    before: Heard,
    behind: Heard,
}

impl Spectrum {
    fn of(element: &Element) -> Result<Self, Failure> {
        let tract = Tract::read(&case(element))?;
        let near = LEG.0 as usize - APART;
        let mut heard = listen(&tract, STEP, &[("upstream", near), ("downstream", APART)])?;
        let missing = || Failure::Missing("sound".to_owned());
        let behind = heard.pop().ok_or_else(missing)?;
        Ok(Self { before: heard.pop().ok_or_else(missing)?, behind })
    }

    /// Transmission loss [dB] at a frequency [Hz].
    fn loss(&self, frequency: f64) -> f64 {
        let arrives = Phasor::of(&self.before.forward, STEP, frequency);
        let passes = Phasor::of(&self.behind.forward, STEP, frequency);
        -20.0 * libm::log10(passes.over(arrives).modulus())
    }
}

/// The case file: parts `far`, `upstream`, the element, `downstream`, `end`.
fn case(element: &Element) -> String {
    let leg = f64::from(LEG.0) * LEG.1;
    let wide = |ratio: f64| DIAMETER * ratio.sqrt();
    let case = CaseText::new(STILL.0, STILL.1)
        .part("far", "kind: wall")
        .part("upstream", smooth_duct(leg, DIAMETER))
        .part("downstream", smooth_duct(leg, DIAMETER))
        .part("end", "kind: wall");
    let tee = |case: CaseText| {
        case.part("y", "kind: wye, legs: {upstream: 0 deg, downstream: 0 deg, branch: 90 deg}")
            .line(&["far", "upstream", "y.upstream"])
            .line(&["y.downstream", "downstream", "end"])
    };
    let case = match *element {
        Element::Chamber { ratio, length } => case.part("chamber", smooth_duct(length, wide(ratio))).line(&[
            "far",
            "upstream",
            "chamber",
            "downstream",
            "end",
        ]),
        Element::QuarterWave { ratio, length } => tee(case)
            .part("branch", smooth_duct(length, wide(ratio)))
            .part("cap", "kind: wall")
            .line(&["y.branch", "branch", "cap"]),
        Element::Vessel { ratio, length, depth } => tee(case)
            .part("neck", smooth_duct(length, wide(ratio)))
            .part("vessel", format!("kind: plenum, volume: {} m3", depth * FRAC_PI_4 * wide(ratio) * wide(ratio)))
            .line(&["y.branch", "neck", "vessel"]),
    };
    let shape = |place: f64| bell(place, leg - BELL.1, BELL.0);
    with_shape(case, ("upstream", leg, LEG.0), 1e-4 * STILL.0, travelling, shape)
        .run(format!("march: acoustic, until: {WATCH} s, cell: {} m, record_every: {STEP} s", LEG.1))
        .text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_exact_losses_agree_with_the_table() {
        for row in data::rows(data::TRANSMISSION).unwrap() {
            let loss = element(&row).unwrap().lumped_loss(343.231_978, row.number("f_Hz").unwrap());
            assert_relative_eq!(loss, row.number("TL_dB").unwrap(), max_relative = 2e-6);
        }
    }

    #[test]
    fn poles_are_not_judged() {
        let branch = Element::QuarterWave { ratio: 0.4, length: 0.25 };
        assert!(limit(&branch, 343.0).value.is_infinite());
        assert!(limit(&branch, 200.0).value.is_finite());
    }

    #[test]
    fn a_wrong_loss_does_not_hold() {
        let branch = Element::QuarterWave { ratio: 0.4, length: 0.25 };
        let exact = branch.loss(sound_speed(), 300.0);
        assert!(Row::absolute("loss", exact + 0.4, exact, limit(&branch, 300.0)).holds());
        assert!(!Row::absolute("loss", exact - 0.6, exact, limit(&branch, 300.0)).holds());
    }
}
