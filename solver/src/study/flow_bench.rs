//! The virtual flow bench: what a tract or a span of its parts passes at a depression, told as workshops tell it.
//!
//! Nothing here marches: the bench is a draw that holds a depression in the steady solver, and all else is arithmetic on what it finds.

use super::{KnownPoint, Of, Quantity};
use crate::case::{BenchCase, BenchSetup, Case, NewValue, Outside, REST};
use crate::error::{CaseError, Error, Problem};
use crate::gas::Gas;
use crate::joint::side::Side;
use crate::network::{JointKind, Network};

/// What the depression of a bench counts as lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Convention {
    /// The pressure is read in a settling chamber behind the last section: its velocity head is lost there, and counted.
    SettlingChamber,
    /// The pressure is read by a static tap in a tube of the size of the last section, and the head of that section is added to it: what is
    /// left is the loss of total pressure.
    TubeTap,
}

/// How flow, depression and effective area hang together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Formula {
    /// `m = A sqrt(2 rho dp)`, with the density before the bench: what workshops use.
    Incompressible,
    /// Isentropic flow from the pressure before the bench to that less the depression. Heywood (1988), Internal Combustion Engine
    /// Fundamentals, appendix C.
    Compressible,
}

/// What the bench is set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Setting {
    /// Depression as the convention counts it [Pa].
    Depression(f64),
    /// Mass flow of all draws [kg/s].
    MassFlow(f64),
    /// Their volume flow in the air before the bench [m^3/s].
    VolumeFlow(f64),
}

/// The still air before a bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Pressure [Pa].
    pub pressure: f64,
    /// Temperature [K].
    pub temperature: f64,
    /// Its gas constant [J/(kg K)].
    pub gas_constant: f64,
    /// Its ratio of specific heats.
    pub gamma: f64,
}

impl Air {
    /// Air of `gas` at rest at a pressure [Pa] and a temperature [K].
    #[must_use]
    pub fn new(gas: &Gas, pressure: f64, temperature: f64) -> Self {
        Self { pressure, temperature, gas_constant: gas.gas_constant, gamma: gas.gamma }
    }

    /// Dry air at 20 degC and 101.325 kPa, the usual reference of flow benches; common practice, no source.
    #[must_use]
    pub fn standard() -> Self {
        let outside = Outside::standard();
        Self::new(&outside.gas, outside.pressure, outside.temperature)
    }

    /// Density [kg/m^3].
    #[must_use]
    pub fn density(&self) -> f64 {
        self.pressure / (self.gas_constant * self.temperature)
    }
}

impl Formula {
    /// Mass flow [kg/s] through each square metre of an ideal opening at a `depression` [Pa] below the pressure of `air`.
    #[must_use]
    pub fn flux(self, air: &Air, depression: f64) -> f64 {
        match self {
            Self::Incompressible => (2.0 * air.density() * depression).sqrt(),
            Self::Compressible => {
                let Air { gamma, .. } = *air;
                let critical = libm::pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0));
                let ratio = (1.0 - depression / air.pressure).max(critical);
                // 1 - r^((gamma-1)/gamma), without the difference of two numbers near one.
                let work = -libm::expm1((gamma - 1.0) / gamma * libm::log(ratio));
                let head = 2.0 * gamma / (gamma - 1.0) * air.pressure * air.density() * work;
                libm::pow(ratio, 1.0 / gamma) * head.sqrt()
            }
        }
    }

    /// Area [m^2] of the ideal opening that passes `mass_flow` [kg/s] at a `depression` [Pa].
    #[must_use]
    pub fn effective_area(self, air: &Air, mass_flow: f64, depression: f64) -> f64 {
        mass_flow / self.flux(air, depression)
    }

    /// `mass_flow` [kg/s] at a depression [Pa] in some air, converted to another depression in other air at the same effective area. For the
    /// incompressible formula that is the usual rule: volume flow goes with `sqrt(dp / rho)`.
    #[must_use]
    pub fn converted(self, mass_flow: f64, [from, to]: [(&Air, f64); 2]) -> f64 {
        self.effective_area(from.0, mass_flow, from.1) * self.flux(to.0, to.1)
    }
}

/// Area [m^2] of a part out of those of a whole with it and without it, by the sum of resistances in series: `1/A^2 = 1/with^2 - 1/without^2`.
/// Infinite for a part that costs nothing, none where the whole passes more with it.
#[must_use]
pub fn series_area(with: f64, without: f64) -> Option<f64> {
    let rest = 1.0 / (with * with) - 1.0 / (without * without);
    (rest >= 0.0).then(|| 1.0 / rest.sqrt())
}

/// Share of the loss that goes with a part, from the areas [m^2] of the whole with it and without it: `1 - (with / without)^2`.
#[must_use]
pub fn series_share(with: f64, without: f64) -> f64 {
    1.0 - (with / without) * (with / without)
}

/// A flow bench, ready to test a case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowBench {
    /// What its depression counts.
    pub convention: Convention,
    /// What it is set to.
    pub setting: Setting,
}

/// What a bench reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchReading {
    /// The air before it.
    pub air: Air,
    /// Mass flow of all draws [kg/s].
    pub mass_flow: f64,
    /// Depression as the convention counts it [Pa].
    pub depression: f64,
    /// Outside pressure less the static pressure in the last section [Pa].
    pub static_depression: f64,
    /// Area of the last section of all draws [m^2]; infinite where a volume takes up the head: one of the case, or a chamber behind a loss without
    /// length.
    pub exit_area: f64,
}

impl BenchReading {
    /// Volume flow in the air before the bench [m^3/s].
    #[must_use]
    pub fn volume_flow(&self) -> f64 {
        self.mass_flow / self.air.density()
    }

    /// Effective area [m^2].
    #[must_use]
    pub fn effective_area(&self, formula: Formula) -> f64 {
        formula.effective_area(&self.air, self.mass_flow, self.depression)
    }

    /// Loss coefficient on the exit area: the square of exit area over effective area, which is depression over velocity head. `None`
    /// where the last part has no section of its own.
    #[must_use]
    pub fn loss_coefficient(&self, formula: Formula) -> Option<f64> {
        let ratio = self.exit_area / self.effective_area(formula);
        ratio.is_finite().then_some(ratio * ratio)
    }
}

/// What a bench reads without a part.
#[derive(Debug, Clone, PartialEq)]
pub struct Removal {
    /// The part that is taken out; what was taken out before it stays out.
    pub part: String,
    /// What the bench reads without it.
    pub reading: BenchReading,
    /// Effective area without it over that with it, less one: how much more flows at the same depression.
    pub gain: f64,
    /// Share of the loss that goes with it, see [`series_share`].
    pub share: f64,
    /// Effective area of the part in its place [m^2], see [`series_area`]; `None` where it carries part of the air only, so that it stands in no
    /// series, or where more flows with it.
    pub area: Option<f64>,
}

/// Depression with which the search for a flow begins [Pa]: 28 inH2O.
const USUAL: f64 = 6_974.489_48;
/// Relative distance at which what is sought is found.
const FOUND: f64 = 1e-9;
/// Largest static depression that is tried, over the outside pressure: beyond it every opening has choked.
const MOST: f64 = 0.9;
/// Largest step of the search, as a factor.
const STRIDE: f64 = 8.0;
/// Most steps of the search.
const STEPS: usize = 40;

impl FlowBench {
    /// What the bench reads with `case` set up on it.
    ///
    /// # Errors
    /// As for [`Case::on_bench`]; parts that do not fit together, no steady state, or a setting that the tract does not come to.
    pub fn test(&self, case: &Case, setup: &BenchSetup) -> Result<BenchReading, Error> {
        let first = match self.setting {
            Setting::Depression(depression) => depression,
            _ => USUAL,
        };
        let on_bench = case.on_bench(setup, first)?;
        let most = MOST * on_bench.case.outside.pressure;
        let mut held = first.min(most);
        let (mut known, mut before) = (None, None::<[f64; 2]>);
        let (mut best, mut is_most) = (0.0, false);
        for _ in 0..STEPS {
            let point = hold(&on_bench, known.as_ref(), held)?;
            let reading = self.read(&on_bench, &point, held).ok_or_else(|| nothing_drawn(case))?;
            let (found, wanted) = self.found_and_wanted(&reading);
            if found.is_nan() || found <= 0.0 {
                return Err(nothing_drawn(case).into());
            }
            if (found / wanted - 1.0).abs() <= FOUND {
                return Ok(reading);
            }
            best = found.max(best);
            // Both grow as a power of the depression that is held: near one, or near a half.
            let here = [libm::log(held), libm::log(found)];
            let power = match before {
                Some(before) if (before[0] - here[0]).abs() > 0.0 => (here[1] - before[1]) / (here[0] - before[0]),
                _ if matches!(self.setting, Setting::Depression(_)) => 1.0,
                _ => 0.5,
            };
            is_most = held >= most && found < wanted;
            if is_most || power.is_nan() || power <= 0.0 {
                break;
            }
            let factor = libm::exp((libm::log(wanted) - here[1]) / power).clamp(1.0 / STRIDE, STRIDE);
            (held, before, known) = ((held * factor).min(most), Some(here), Some(point));
        }
        Err(self.not_reached(case, best, is_most).into())
    }

    /// What the bench, which reads `with` of this setup, reads when `part` is taken out as well.
    ///
    /// # Errors
    /// As for [`FlowBench::test`], and when nothing is left, or no way through.
    pub fn without(
        &self,
        case: &Case,
        setup: &BenchSetup,
        with: &BenchReading,
        part: &str,
        formula: Formula,
    ) -> Result<Removal, Error> {
        let in_series = case.bench_air_all_passes(setup, part)?;
        let mut stripped = setup.clone();
        stripped.removed.push(part.to_owned());
        let reading = self.test(case, &stripped)?;
        let [with, without] = [with, &reading].map(|reading| reading.effective_area(formula));
        Ok(Removal {
            part: part.to_owned(),
            reading,
            gain: without / with - 1.0,
            share: series_share(with, without),
            area: if in_series { series_area(with, without) } else { None },
        })
    }

    fn read(&self, on_bench: &BenchCase, point: &KnownPoint, held: f64) -> Option<BenchReading> {
        let outside = on_bench.case.outside;
        let total_pressure = point.figures.value(Quantity::TotalPressure, &Of::Whole)?;
        Some(BenchReading {
            air: Air::new(&outside.gas, outside.pressure, outside.temperature),
            mass_flow: point.figures.value(Quantity::MassFlow, &Of::Whole)?,
            depression: match self.convention {
                Convention::SettlingChamber => held,
                Convention::TubeTap => outside.pressure - total_pressure,
            },
            static_depression: held,
            exit_area: if on_bench.has_exit { exit_area(&point.network) } else { f64::INFINITY },
        })
    }

    fn found_and_wanted(&self, reading: &BenchReading) -> (f64, f64) {
        match self.setting {
            Setting::Depression(wanted) => (reading.depression, wanted),
            Setting::MassFlow(wanted) => (reading.mass_flow, wanted),
            Setting::VolumeFlow(wanted) => (reading.volume_flow(), wanted),
        }
    }

    fn not_reached(&self, case: &Case, best: f64, is_most: bool) -> CaseError {
        let (found, expected) = match self.setting {
            Setting::Depression(wanted) => {
                (format!("{} kPa", 1e-3 * best.round()), format!("{} kPa", 1e-3 * wanted.round()))
            }
            Setting::MassFlow(wanted) => (format!("{:.1} g/s", 1e3 * best), format!("{:.1} g/s", 1e3 * wanted)),
            Setting::VolumeFlow(wanted) => (format!("{best:.4} m3/s"), format!("{wanted:.4} m3/s")),
        };
        // MOST in words.
        let held = if is_most { ", at nine tenths of the room's pressure below it" } else { "" };
        problem(case, format!("a tract that comes to {found} at most{held}"), format!("one that comes to {expected}"))
    }
}

/// The steady state with `held` [Pa] behind all draws of the bench.
fn hold(on_bench: &BenchCase, known: Option<&KnownPoint>, held: f64) -> Result<KnownPoint, Error> {
    let paths: Vec<String> = on_bench.draws.iter().map(|draw| format!("parts.{draw}.depression")).collect();
    let changes: Vec<(&str, NewValue)> = paths.iter().map(|path| (path.as_str(), NewValue::Si(held))).collect();
    let case = on_bench.case.with(&changes)?;
    let built = case.build(REST)?;
    KnownPoint::near(known, &case, REST, built)
}

/// Area at which the draws take over [m^2].
fn exit_area(network: &Network) -> f64 {
    let area = |joint: usize| match &network.joints[joint].kind {
        JointKind::Series(series) => series.sides.iter().find_map(|side| match side {
            Side::Draw { area, .. } => Some(*area),
            _ => None,
        }),
        JointKind::Wye(_) => None,
    };
    network.draws().into_iter().filter_map(area).sum()
}

fn nothing_drawn(case: &Case) -> CaseError {
    problem(case, "a tract through which no air goes".to_owned(), "a way from the outside to a draw".to_owned())
}

fn problem(case: &Case, found: String, expected: String) -> CaseError {
    let (location, path) = (case.location("flow"), "flow".to_owned());
    CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] }
}

#[cfg(test)]
mod tests;
