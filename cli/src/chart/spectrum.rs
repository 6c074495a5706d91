//! Sound: what sounds at each draw, and how much the flow of one draw moves the pressure at the others.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::panels::{Panel, Sheet};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::names::sides;
use crate::print::number::{fixed, trimmed};
use crate::print::point;
use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;

/// Records that a spectrum needs at least.
const FEWEST: usize = 64;
/// How far the records may be from even, over their distance.
const EVEN: f64 = 1e-3;
/// Share of the strongest excitation below which a ratio says nothing.
const EXCITED: f64 = 0.02;

/// Changes of a record at each draw from one instant to the next, whose spectrum is that of the signal times the frequency: a step has
/// one then, and where both signals change alike their ratio is that of the signals.
struct Changes {
    /// Distance of the records [s].
    every: f64,
    /// Spectra of static pressure [Pa] and flow [kg/s] of each draw.
    of: Vec<[Vec<Complex64>; 2]>,
}

/// The picture of a result.
///
/// # Errors
/// It has too few or uneven records, or the file cannot be read.
pub(crate) fn drawing(opened: &Opened) -> Result<Drawing, Failure> {
    let draws: Vec<&str> = opened.summary.branches.iter().map(|branch| branch.draw.as_str()).collect();
    let names = sides(&draws);
    let time = opened.reading.file.time()?;
    let (every, records) = even(&time).ok_or_else(|| {
        let found = format!("{}: found {} records", opened.path.display(), time.len());
        Failure::wrong_use(format!("{found}, expected {FEWEST} at even distances at least: an acoustic run"))
    })?;
    let changes = Changes::of(opened, &draws, every, records)?;
    let frequency = |bin: usize, count: usize| bin as f64 / (count as f64 * every);
    let count = records - 1;
    let sounds = |number: usize| {
        // The signal's amplitude from that of its changes: |1 - exp(-i omega dt)| between them.
        let amplitude = |(bin, value): (usize, &Complex64)| {
            let turn = 2.0 * (std::f64::consts::PI * bin as f64 / count as f64).sin();
            (frequency(bin, count), 2.0 / count as f64 * value.norm() / turn)
        };
        let points = changes.of[number][0].iter().enumerate().skip(1).map(amplitude).collect();
        Curve { result: number, look: Look::Line, points, rings: Vec::new(), name: names[number].clone() }
    };
    let mut panels = vec![Panel {
        title: "amplitude of static pressure at the draw, Pa".to_owned(),
        height: 180.0,
        curves: (0..draws.len()).map(sounds).collect(),
        logarithmic: true,
        ..Panel::default()
    }];
    let loudest = changes.loudest();
    if let Some(loudest) = loudest {
        let flow = &changes.of[loudest][1];
        let strongest = flow.iter().map(|value| value.norm()).fold(0.0, f64::max);
        let ratio = |number: usize| {
            let bins = flow.iter().zip(&changes.of[number][0]).enumerate().skip(1);
            let told = bins.map(|(bin, (flow, pressure))| {
                let known = flow.norm() > EXCITED * strongest;
                (frequency(bin, count), if known { 1e-3 * pressure.norm() / flow.norm() } else { f64::NAN })
            });
            let name = format!("at {}", names[number]);
            Curve { result: number, look: Look::Line, points: told.collect(), rings: Vec::new(), name }
        };
        panels.push(Panel {
            title: format!("static pressure per flow of {}, Pa/(g/s)", names[loudest]),
            height: 180.0,
            curves: (0..draws.len()).map(ratio).collect(),
            ..Panel::default()
        });
    }
    let conditions = vec![
        format!("{} | {}", point::describe(&opened.point), point::air(&opened.outside)),
        format!(
            "whole run of {} s, {} Hz apart, up to {} Hz; from the changes between records; the ratio where the flow is excited",
            trimmed(every * count as f64, 4),
            fixed(1.0 / (every * count as f64), 2),
            trimmed(0.5 / every, 0)
        ),
    ];
    let sheet = Sheet {
        title: format!("{}: sound at the draws, and crosstalk", opened.reading.case_name),
        conditions,
        across: "frequency, Hz".to_owned(),
        strips_title: String::new(),
        strips: Vec::new(),
        behind: false,
        panels,
        key: Vec::new(),
    };
    Ok(sheet.drawing())
}

/// Whether the records of a result are even and many enough for a spectrum.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn can_draw(opened: &Opened) -> Result<bool, Failure> {
    Ok(even(&opened.reading.file.time()?).is_some())
}

/// Distance of the records [s] and how many stand so, for the last one comes when the run ends; nothing where they are few or uneven.
fn even(time: &[f64]) -> Option<(f64, usize)> {
    let count = time.len().checked_sub(1).filter(|count| *count >= FEWEST)?;
    let every = (time[count - 1] - time[0]) / (count - 1) as f64;
    let steady = time[..count].windows(2).all(|pair| (pair[1] - pair[0] - every).abs() < EVEN * every);
    steady.then_some((every, count))
}

impl Changes {
    fn of(opened: &Opened, draws: &[&str], every: f64, records: usize) -> Result<Self, Failure> {
        let file = &opened.reading.file;
        let of = draws.iter().map(|draw| {
            let [pressure, flow] = ["static_pressure", "mass_flow"].map(|name| file.series(draw, name));
            Ok([spectrum(&pressure?[..records]), spectrum(&flow?[..records])])
        });
        Ok(Self { every, of: of.collect::<Result<_, Failure>>()? })
    }

    /// The draw whose flow changes most; nothing where none does.
    fn loudest(&self) -> Option<usize> {
        let power = |number: usize| self.of[number][1].iter().map(Complex64::norm_sqr).sum::<f64>() / self.every;
        let loudest = (0..self.of.len()).max_by(|a, b| power(*a).total_cmp(&power(*b)))?;
        (power(loudest) > 0.0).then_some(loudest)
    }
}

/// Spectrum of the changes of a signal between its records.
fn spectrum(signal: &[f64]) -> Vec<Complex64> {
    let mut changes: Vec<f64> = signal.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let transform = RealFftPlanner::<f64>::new().plan_fft_forward(changes.len());
    let mut bins = transform.make_output_vec();
    // Lengths are those that the plan asks for.
    if transform.process(&mut changes, &mut bins).is_err() {
        bins.clear();
    }
    bins
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_has_its_amplitude_at_its_frequency() {
        let count = 500;
        let tone = |k: usize| 3.0 * (2.0 * std::f64::consts::PI * 40.0 * k as f64 / count as f64).sin();
        let signal: Vec<f64> = (0..=count).map(tone).collect();
        let bins = spectrum(&signal);
        let turn = 2.0 * (std::f64::consts::PI * 40.0 / count as f64).sin();
        let amplitude = 2.0 / count as f64 * bins[40].norm() / turn;
        assert!((amplitude - 3.0).abs() < 1e-9, "{amplitude}");
        assert!(bins.iter().enumerate().all(|(bin, value)| bin == 40 || value.norm() < 1e-9));
    }

    #[test]
    fn a_delayed_copy_has_a_ratio_of_one() {
        let step = |at: usize| (0..200).map(|k| if k < at { 0.0 } else { 2.0 }).collect::<Vec<f64>>();
        let (one, other) = (spectrum(&step(50)), spectrum(&step(70)));
        assert!(one.iter().zip(&other).all(|(a, b)| (a.norm() / b.norm() - 1.0).abs() < 1e-12));
        assert_eq!(even(&[0.0; 10]), None);
        let mut time: Vec<f64> = (0..100).map(|k| 1e-3 * f64::from(k)).collect();
        time.push(0.0993);
        assert_eq!(even(&time).map(|found| found.1), Some(100), "the last record stands where the run ended");
        time[50] += 1e-4;
        assert_eq!(even(&time), None);
    }
}
