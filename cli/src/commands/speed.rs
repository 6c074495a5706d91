//! `speed`: cell-updates per second of whole steps on one core.

mod sod;
mod steady;
mod stopwatch;
mod study;

use crate::failure::Failure;
use crate::{Streams, exit};
use stopwatch::Stopwatch;
use tractwright::case::{Built, Case};
use tractwright::flow::InstructionSet;
use tractwright::march::{Acoustic, March, Settings, Until};

/// Measures cell-updates per second of whole steps, all sources included, on one core
#[derive(Debug, clap::Args)]
#[command(
    after_help = "A step holds all its stages, joints, wall friction by table, wall heat, origin tags, ledgers and the choice of the
next step. The best of several runs counts, in time of the processor; compare ratios of one run, not times of two machines.

--sod times Sod's shock tube instead and prints CSV: walls, scheme, cells, steps, seconds, updates_per_second, l1_density. Both schemes
with the limiter monotonised_central, to the time 0.2 in the problem's units, in a tube so wide that what its wall does is reckoned in
every cell but does not show: friction and film by table, or a friction factor. l1_density is the mean absolute error of density against
exact cell means."
)]
pub(crate) struct Speed {
    /// Runs of each measurement; the best counts
    #[arg(long, default_value_t = 9)]
    runs: u32,
    /// Cells of Sod's shock tube, such as 400,1000: times that instead
    #[arg(long, value_name = "CELLS", value_delimiter = ',', value_parser = clap::value_parser!(u32).range(10..=1_000_000))]
    sod: Vec<u32>,
    /// Times steady states instead: cold, from a neighbour, beside the march that settles to them, and over the number of cells
    #[arg(long, conflicts_with = "sod")]
    steady: bool,
    /// Times what a study adds to each run instead
    #[arg(long, conflicts_with_all = ["sod", "steady"])]
    study: bool,
}

/// Cells of a short duct.
const SHORT: usize = 40;
/// Short ducts in a row.
const DUCTS: usize = 15;
/// Cell-updates in one run of a measurement.
const UPDATES: usize = 600_000;
/// A time that no run reaches [s].
const NEVER: f64 = 1e9;

/// What is measured.
struct Tract {
    name: &'static str,
    ducts: usize,
    cells: usize,
    elbows: bool,
}

const TRACTS: [Tract; 4] = [
    Tract { name: "one duct of 600 cells", ducts: 1, cells: 600, elbows: false },
    Tract { name: "one duct of 10,000 cells", ducts: 1, cells: 10_000, elbows: false },
    Tract { name: "15 ducts of 40 cells, plain links", ducts: DUCTS, cells: SHORT, elbows: false },
    Tract { name: "15 ducts of 40 cells, loss joints", ducts: DUCTS, cells: SHORT, elbows: true },
];

impl Tract {
    /// The case: a mouth, ducts of 70 mm that narrow to 66 mm and widen again, with a wall at 60 degC, and a draw that keeps the gas
    /// moving. Every source has work to do.
    fn text(&self, predictor: &str) -> String {
        let mut parts = "  mouth: {kind: mouth, area: 38.5 cm2, lip_radius: 20 mm}\n  turbo: {kind: draw, corrected_flow: 150 g/s}\n".to_owned();
        let mut line = vec!["mouth".to_owned()];
        for duct in 0..self.ducts {
            let length = 10 * self.cells;
            parts.push_str(&format!(
                "  duct{duct}:\n    kind: duct\n    length: {length} mm\n    wall: {{temperature: 60 degC}}\n    sections: [{{at: 0 mm, \
                 diameter: 70 mm}}, {{at: {} mm, diameter: 66 mm}}, {{at: {length} mm, diameter: 70 mm}}]\n",
                length / 2
            ));
            if duct > 0 && self.elbows {
                parts.push_str(&format!("  elbow{duct}: {{kind: elbow, angle: 30 deg, radius: 140 mm}}\n"));
                line.push(format!("elbow{duct}"));
            }
            line.push(format!("duct{duct}"));
        }
        line.push("turbo".to_owned());
        format!(
            "parts:\n{parts}flow:\n  - [{}]\nrun: {{until: 1 s, cell: 10 mm, predictor: {predictor}}}\n",
            line.join(", ")
        )
    }

    /// Least time of a step [s].
    fn step(&self, predictor: &str, runs: u32) -> Result<f64, Failure> {
        let case = Case::from_text("speed", &self.text(predictor))?;
        let Built { network, initial, .. } = case.build(tractwright::case::REST)?;
        let settings = Settings {
            march: March::Acoustic,
            from_steady: false,
            courant: 0.8,
            until: Until::Time(NEVER),
            record_every: NEVER,
        };
        let mut march = Acoustic::new(&network, initial, settings);
        march.start()?;
        let steps = UPDATES / (self.ducts * self.cells);
        let mut best = f64::INFINITY;
        // The first run sets the gas in motion and warms the caches; it does not count.
        for run in 0..=runs {
            let stopwatch = Stopwatch::start();
            for _ in 0..steps {
                march.step(NEVER)?;
            }
            if run > 0 {
                best = best.min(stopwatch.seconds() / steps as f64);
            }
        }
        Ok(best)
    }
}

impl Speed {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        if self.study {
            study::print(streams.out)?;
            return Ok(exit::DONE);
        }
        if !self.sod.is_empty() {
            return sod::print(&self.sod, self.runs, streams.out);
        }
        if self.steady {
            steady::print(self.runs, streams.out)?;
            return Ok(exit::DONE);
        }
        writeln!(
            streams.out,
            "instruction set {:?}, f64, one core, best of {} runs; two rows of origin tags (initial air, mouth)",
            InstructionSet::widest(),
            self.runs
        )?;
        if cfg!(debug_assertions) {
            writeln!(streams.err, "built without full optimisation: `cargo build --release` is several times as fast")?;
        }
        for (name, predictor, stages) in [("SSP-RK2", "none", 2.0), ("Hancock", "hancock", 1.0)] {
            writeln!(streams.out, "\n{name:36} us/step   cell-updates/s   of one duct")?;
            let mut steps = Vec::new();
            for tract in &TRACTS {
                let step = tract.step(predictor, self.runs)?;
                steps.push(step);
                let rate = (tract.ducts * tract.cells) as f64 / step;
                let ratio = 600.0 / steps[0];
                writeln!(streams.out, "{:36} {:7.2}   {rate:14.3e}   {:11.2}", tract.name, 1e6 * step, rate / ratio)?;
            }
            let joint = |step: f64| 1e9 * (step - steps[0]) / ((DUCTS - 1) as f64 * stages);
            writeln!(
                streams.out,
                "a plain link takes {:.0} ns a stage, a loss joint {:.0} ns",
                joint(steps[2]),
                joint(steps[3])
            )?;
        }
        Ok(exit::DONE)
    }
}
