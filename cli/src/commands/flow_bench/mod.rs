//! `flow_bench`: what a tract or a span of it passes on a flow bench.

mod machine;
mod text;

use super::Format;
use crate::failure::Failure;
use crate::{Streams, exit};
use std::path::PathBuf;
use tractwright::case::{BenchEntry, BenchSetup, Case};
use tractwright::error::Error;
use tractwright::quantity::{self, Dimension};
use tractwright::study::flow_bench::{self as bench, Air, BenchReading, Convention, Formula, Removal, Setting};

/// What a tract or a span of its parts passes on a flow bench: flow, K, effective area, and part by part what each costs
///
/// The air stands still at the outside of the case; walls have its temperature, no fan and no engine runs. All draws are held at one depression.
/// With --to only the way to that part or draw is tested; what hangs on it besides is plugged. Flow lines are followed the way they are read.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright flow_bench twin_sealed.yaml --each
  tractwright flow_bench twin_sealed.yaml --from left_tube --to left_tube --depression '10 inH2O' --entry radiused
  tractwright flow_bench twin_sealed.yaml --to left_turbo --flow '340 cfm' --convention tube_tap
  tractwright flow_bench twin_sealed.yaml --to box --remove rear
  tractwright flow_bench shared_panel.yaml --remove snorkel --remove panel --stay-out --format csv")]
pub(crate) struct FlowBench {
    /// Case file
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Point whose outside air and changed parts hold; those of the case when it is not given
    #[arg(long, value_name = "NAME")]
    point: Option<String>,
    /// First part on the bench; every mouth and leak when it is not given. A plenum stands open to the room
    #[arg(long, value_name = "PART")]
    from: Option<String>,
    /// Last part on the bench, or a draw; every draw when it is not given. A plenum is the settling chamber
    #[arg(long, value_name = "PART")]
    to: Option<String>,
    /// Test depression, such as '10 inH2O' or '7 kPa'
    #[arg(long, value_name = "PRESSURE", value_parser = depression, default_value = "28 inH2O")]
    depression: f64,
    /// Flow of all draws to test at instead, such as '340 cfm' in the air before the bench, or '200 g/s'
    #[arg(long, value_name = "FLOW", value_parser = flow, conflicts_with = "depression")]
    flow: Option<Setting>,
    /// What the depression counts as lost
    #[arg(long, value_enum, default_value_t = ConventionName::SettlingChamber)]
    convention: ConventionName,
    /// Edge by which the air comes in from the room: of the mouths, or of a duct that stands first
    #[arg(long, value_enum, default_value_t = EntryName::AsIs)]
    entry: EntryName,
    /// How K, areas and converted flows follow from flow and depression
    #[arg(long, value_enum, default_value_t = FormulaName::Incompressible)]
    formula: FormulaName,
    /// Part to test without, such as `left_filter`; may be given more than once, each alone
    ///
    /// What stands before and behind it meets. A duct at a wye leaves a short stub of its bore, a duct or mouth in the wall of a plenum its hole with a sharp
    /// edge (an orifice plate, coefficient 0.61), a filter or screen between plenums an empty frame. A gap is sealed.
    #[arg(long, value_name = "PART")]
    remove: Vec<String>,
    /// Test without each mouth, each duct and each loss in turn
    #[arg(long, conflicts_with = "remove")]
    each: bool,
    /// What has been taken out stays out, in the order of --remove, as a workshop strips a tract
    #[arg(long, requires = "remove")]
    stay_out: bool,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Conventions as the command line has them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum ConventionName {
    /// Pressure in a settling chamber: the velocity head of the exit is lost in it, and counted
    #[value(name = "settling_chamber")]
    SettlingChamber,
    /// Static tap in a tube of the exit's size: its velocity head is added back, and not counted
    #[value(name = "tube_tap")]
    TubeTap,
}

/// Entries as the command line has them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum EntryName {
    /// As the case has it
    #[value(name = "as_is")]
    AsIs,
    /// A wide radius, such as clay makes
    Radiused,
    /// No radius
    Sharp,
}

/// Formulas as the command line has them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum FormulaName {
    /// m = A sqrt(2 rho dp), with the density before the bench
    Incompressible,
    /// Isentropic flow to the pressure behind the bench
    Compressible,
}

/// All that there is to print.
struct Found<'a> {
    command: &'a FlowBench,
    formula: Formula,
    /// Whole or span, with all parts.
    reading: BenchReading,
    /// Flows at the usual depressions other than that of the test.
    others: Vec<Other>,
    /// Flow [kg/s] in standard air.
    standard: f64,
    /// What is read without each part.
    removals: Removals,
}

/// Parts, and what is read without each or why it cannot be taken out.
type Removals = Vec<(String, Result<Removal, String>)>;

/// A flow at another depression than that of the test.
struct Other {
    /// The depression [Pa].
    depression: f64,
    /// Mass flow by the conversion [kg/s].
    converted: f64,
    /// Mass flow of the solver [kg/s]; none where the tract does not come to that depression.
    solved: Option<f64>,
}

/// Inch of water at 4 degC [Pa]: the conventional value.
const INCH_OF_WATER: f64 = 249.088_91;
/// Usual test depressions [inH2O].
const USUAL: [f64; 2] = [10.0, 28.0];
/// Relative distance below which two depressions are one.
const SAME: f64 = 1e-6;
/// A cubic foot a minute [m^3/s].
const CUBIC_FOOT_A_MINUTE: f64 = 0.028_316_846_592 / 60.0;

impl FlowBench {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let twice = |(place, part): (usize, &String)| self.remove[..place].contains(part).then(|| part.clone());
        if let Some(part) = self.remove.iter().enumerate().find_map(twice) {
            return Err(Failure::wrong_use(format!("--remove: found `{part}` twice, expected each part once")));
        }
        let case = Case::from_path(&self.case)?;
        let found = self.find(&case)?;
        match self.format {
            Format::Text => write!(streams.out, "{}", text::of(&found))?,
            Format::Json => machine::json(&found, streams.out)?,
            Format::Csv => machine::csv(&found, streams.out)?,
        }
        Ok(exit::DONE)
    }

    fn find(&self, case: &Case) -> Result<Found<'_>, Error> {
        let setup = self.setup();
        let bench = self.bench(self.flow.unwrap_or(Setting::Depression(self.depression)));
        let formula = match self.formula {
            FormulaName::Incompressible => Formula::Incompressible,
            FormulaName::Compressible => Formula::Compressible,
        };
        let reading = bench.test(case, &setup)?;
        let air = &reading.air;
        let mut others = Vec::new();
        let is_tested = |depression: &f64| (reading.depression / depression - 1.0).abs() < SAME;
        for depression in USUAL.map(|inches| inches * INCH_OF_WATER).into_iter().filter(|other| !is_tested(other)) {
            let converted = formula.converted(reading.mass_flow, [(air, reading.depression), (air, depression)]);
            let solved = self.bench(Setting::Depression(depression)).test(case, &setup);
            let solved = solved.ok().map(|reading| reading.mass_flow);
            others.push(Other { depression, converted, solved });
        }
        let standard =
            formula.converted(reading.mass_flow, [(air, reading.depression), (&Air::standard(), reading.depression)]);
        let removals = self.removals(case, &bench, setup, &reading, formula)?;
        Ok(Found { command: self, formula, reading, others, standard, removals })
    }

    fn setup(&self) -> BenchSetup {
        BenchSetup {
            point: self.point.clone(),
            from: self.from.clone(),
            to: self.to.clone(),
            entry: match self.entry {
                EntryName::AsIs => BenchEntry::AsIs,
                EntryName::Radiused => BenchEntry::Radiused,
                EntryName::Sharp => BenchEntry::Sharp,
            },
            removed: Vec::new(),
        }
    }

    fn bench(&self, setting: Setting) -> bench::FlowBench {
        let convention = match self.convention {
            ConventionName::SettlingChamber => Convention::SettlingChamber,
            ConventionName::TubeTap => Convention::TubeTap,
        };
        bench::FlowBench { convention, setting }
    }

    /// What is read without each part. One that was asked for by name must be possible to take out.
    fn removals(
        &self,
        case: &Case,
        bench: &bench::FlowBench,
        mut setup: BenchSetup,
        reading: &BenchReading,
        formula: Formula,
    ) -> Result<Removals, Error> {
        let parts =
            if self.each { case.on_bench(&setup, reading.static_depression)?.parts } else { self.remove.clone() };
        let (mut with, mut removals) = (*reading, Vec::new());
        for part in parts {
            let removal = match bench.without(case, &setup, &with, &part, formula) {
                Ok(removal) => Ok(removal),
                Err(Error::Case(error)) if self.each => Err(why(&error)),
                Err(error) => return Err(error),
            };
            if let (true, Ok(removal)) = (self.stay_out, &removal) {
                with = removal.reading;
                setup.removed.push(part.clone());
            }
            removals.push((part, removal));
        }
        Ok(removals)
    }
}

/// Why a part cannot be taken out, in short: what is found without it.
fn why(error: &tractwright::error::CaseError) -> String {
    let problem = error.problems.first();
    problem.map_or_else(String::new, |problem| problem.found.clone())
}

/// A depression above zero [Pa].
fn depression(text: &str) -> Result<f64, String> {
    match quantity::parse(text, Dimension::PressureDifference) {
        Ok(pressure) if pressure > 0.0 => Ok(pressure),
        Ok(_) => Err("expected more than 0".to_owned()),
        Err(fault) => Err(format!("found {}, expected {}", fault.found, fault.expected)),
    }
}

/// A mass flow or a volume flow above zero.
fn flow(text: &str) -> Result<Setting, String> {
    let read = |dimension| quantity::parse(text, dimension);
    match (read(Dimension::MassFlow), read(Dimension::VolumeFlow)) {
        (Ok(flow), _) if flow > 0.0 => Ok(Setting::MassFlow(flow)),
        (_, Ok(flow)) if flow > 0.0 => Ok(Setting::VolumeFlow(flow)),
        (Err(fault), Err(_)) => Err(format!("found {}, expected a flow such as `340 cfm` or `200 g/s`", fault.found)),
        _ => Err("expected more than 0".to_owned()),
    }
}

#[cfg(test)]
mod tests;
