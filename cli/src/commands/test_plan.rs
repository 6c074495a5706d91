//! `test_plan`: where gauges would narrow a figure most, before anything is measured.

use super::levers::table::measured;
use super::levers::{AimName, Scale};
use super::{Format, write_failed};
use crate::failure::Failure;
use crate::print::number::{fixed, trimmed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use crate::runs::many;
use crate::{Streams, exit, interrupt};
use serde_json::json;
use std::path::PathBuf;
use tractwright::case::Case;
use tractwright::quantity::{self, Dimension};
use tractwright::study::Measure;
use tractwright::study::test_plan::{Accuracy, Effect, Input, Kind, TestPlan, choose, narrowed, unmeasured};

/// Tells which gauges, and how many tests, would narrow a figure most, before anything is measured
///
/// Spreads of the case and of published losses say what is uncertain. Candidates are holes at both ends of each duct, where its sections change, in
/// volumes and at draws, for static pressure or a thermocouple. All goes in straight lines from the case as it stands.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright test_plan twin_sealed.yaml --aim recovery --point road_stock --at spooling --at road_stock
  tractwright test_plan twin_sealed.yaml --against divided_box.yaml --aim power --point road_raised --gauges 6 --tests 3
  tractwright test_plan twin_sealed.yaml --aim temperature --point road_stock --draw left_turbo --format csv")]
pub(crate) struct TestPlanCommand {
    /// Case file; the gauges are for this layout
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// What is to be known better: a figure of the levers
    #[arg(long, value_enum)]
    aim: AimName,
    /// Point at which it is wanted
    #[arg(long, value_name = "NAME")]
    point: String,
    /// Draw of which it is wanted; all draws, weighted by their flow, when it is not given
    #[arg(long, value_name = "NAME")]
    draw: Option<String>,
    /// Another layout: what is wanted then is how much more of the figure it has
    #[arg(long, value_name = "CASE")]
    against: Option<PathBuf>,
    /// Point at which is measured; may be given more than once. The one at which the figure is wanted when it is not given
    #[arg(long, value_name = "NAME")]
    at: Vec<String>,
    /// Gauges to choose
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = whole)]
    gauges: usize,
    /// Tests of each point for which they are chosen
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole)]
    tests: usize,
    /// What a pressure gauge may be off by in all its readings alike, as one standard deviation
    #[arg(long, value_name = "PRESSURE", value_parser = pressure, default_value = "30 Pa")]
    accuracy: f64,
    /// By how much a pressure differs from test to test besides
    #[arg(long, value_name = "PRESSURE", value_parser = pressure, default_value = "30 Pa")]
    scatter: f64,
    /// What a thermocouple may be off by in all its readings alike, as one standard deviation
    #[arg(long, value_name = "DIFFERENCE", value_parser = temperature, default_value = "1.5 K")]
    temperature_accuracy: f64,
    /// By how much a temperature differs from test to test besides
    #[arg(long, value_name = "DIFFERENCE", value_parser = temperature, default_value = "0.5 K")]
    temperature_scatter: f64,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Inputs at a time; as many as there are cores when it is not given
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    threads: usize,
}

/// Numbers of tests that are told beside the one that is asked for.
const TESTS: [usize; 4] = [1, 2, 4, 8];
/// From the 10 % to the 90 % quantile of a normal distribution, in its standard deviations.
const RANGE: f64 = 2.563_103;

/// All that there is to print: the range before, and with each gauge and all above it for each number of tests [SI].
struct Planned<'a> {
    command: &'a TestPlanCommand,
    plan: &'a TestPlan,
    /// Inputs that move the figure.
    counted: [usize; 2],
    before: f64,
    /// Numbers of tests that are told, rising.
    tests: Vec<usize>,
    rows: Vec<(usize, Vec<f64>)>,
}

impl TestPlanCommand {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        let case = Case::from_path(&self.case)?;
        let against = self.against.as_ref().map(|file| Case::from_path(file)).transpose()?;
        let points = if self.at.is_empty() { vec![self.point.clone()] } else { self.at.clone() };
        let plan = TestPlan::new(case, against, points, &self.point, self.aim.aim(), self.draw.as_deref())?;
        let count = plan.inputs().len();
        let effects = many("inputs", count, self.threads, streams.err, streams.bars, |input| plan.effect(input))?;
        let Some(effects) = effects else { return Ok(exit::INTERRUPTED) };
        let effects = effects.into_iter().collect::<Result<Vec<Effect>, _>>()?;
        let before = RANGE * unmeasured(&effects);
        if before.is_nan() {
            let expected = "one that both layouts have";
            return Err(Failure::wrong_use(format!(
                "found a figure that one of the layouts does not have, expected {expected}"
            )));
        }
        if before <= 0.0 {
            let expected = "a spread such as `0.8 +- 0.1` in the case, or a handbook loss";
            return Err(Failure::wrong_use(format!(
                "found nothing uncertain that moves the figure, expected {expected}"
            )));
        }
        let accuracy = |kind| self.accuracy_of(kind);
        let chosen = choose(&effects, plan.gauges(), accuracy, self.tests, self.gauges);
        let gauges: Vec<usize> = chosen.iter().map(|choice| choice.gauge).collect();
        let mut tests: Vec<usize> = TESTS.into_iter().chain([self.tests]).collect();
        tests.sort_unstable();
        tests.dedup();
        let row = |last: usize| {
            let with = |tests: &usize| RANGE * narrowed(&effects, plan.gauges(), &gauges[..=last], accuracy, *tests);
            (gauges[last], tests.iter().map(with).collect())
        };
        let moves = |is: fn(&Input) -> bool| {
            let inputs = plan.inputs().iter().zip(&effects);
            inputs.filter(|(input, effect)| is(input) && RANGE * effect.figure.abs() > 1e-3 * before).count()
        };
        let counted = [moves(|input| matches!(input, Input::Number(_))), moves(|input| matches!(input, Input::Law(_)))];
        let rows: Vec<_> = (0..gauges.len()).map(row).collect();
        let planned = Planned { command: self, plan: &plan, counted, before, tests, rows };
        match self.format {
            Format::Text => write!(streams.out, "{}", planned.text())?,
            Format::Json => writeln!(streams.out, "{:#}", planned.json())?,
            Format::Csv => planned.csv(streams.out)?,
        }
        Ok(exit::DONE)
    }

    fn accuracy_of(&self, kind: Kind) -> Accuracy {
        match kind {
            Kind::Pressure => Accuracy { gauge: self.accuracy, test: self.scatter },
            Kind::Temperature => Accuracy { gauge: self.temperature_accuracy, test: self.temperature_scatter },
        }
    }
}

impl Planned<'_> {
    fn text(&self) -> String {
        let scale = Scale::of(self.command.aim.aim().quantity());
        let shown = |value: f64| fixed(scale.factor * value, scale.decimals);
        let mut text = String::new();
        let mut say = |words: &str| wrap(words, WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
        let words = self.words();
        let what = match &self.command.against {
            Some(other) => {
                format!("{words}: that of {} less that of {},", other.display(), self.command.case.display())
            }
            None => words,
        };
        let [numbers, laws] = self.counted;
        say(&format!(
            "{what} at {}: {} {}, from 10 to 90 % {} {} wide before any test, by {numbers} numbers with a spread and {laws} published laws of loss",
            self.command.point,
            shown(self.plan.figure()),
            scale.unit,
            shown(self.before),
            scale.unit,
        ));
        let row = |(gauge, widths): &(usize, Vec<f64>)| {
            let gauge = &self.plan.gauges()[*gauge];
            let cells = std::iter::once(word(gauge.kind).to_owned()).chain(widths.iter().map(|width| shown(*width)));
            Row::new(gauge.place.as_str(), cells.collect())
        };
        let tests =
            self.tests.iter().map(|tests| if *tests == 1 { "1 test".to_owned() } else { format!("{tests} tests") });
        let head = std::iter::once("reads".to_owned()).chain(tests).collect();
        let table = Table { head: Row::new("gauge", head), rows: self.rows.iter().map(row).collect() };
        if !self.rows.is_empty() {
            text.push_str(&format!("\n{}\n", table.render()));
        }
        let mut say = |words: &str| wrap(words, WIDTH).iter().for_each(|line| text.push_str(&format!("{line}\n")));
        if self.rows.len() < self.command.gauges {
            let other = if self.rows.is_empty() { "" } else { "other " };
            say(&format!("No {other}gauge narrows the range by as much as a thousandth of it."));
        }
        say(&format!(
            "Each row: how wide the same range is with that gauge and all above it, {} gauges looked at, chosen one by one for {} test{} of each \
             point ({}). Pressure: off by {} Pa in all readings of a gauge, {} Pa more from test to test; temperature {} and {} K. On straight lines \
             from the case as it stands; `fit` then finds the numbers.",
            self.plan.gauges().len(),
            self.command.tests,
            if self.command.tests == 1 { "" } else { "s" },
            if self.command.at.is_empty() { self.command.point.clone() } else { self.command.at.join(", ") },
            trimmed(self.command.accuracy, 1),
            trimmed(self.command.scatter, 1),
            trimmed(self.command.temperature_accuracy, 2),
            trimmed(self.command.temperature_scatter, 2),
        ));
        text
    }

    /// What is to be known better, in words.
    fn words(&self) -> String {
        measured(self.command.aim.aim(), self.plan.measure())
    }

    /// Its key, as studies name it.
    fn key(&self) -> String {
        let key = self.command.aim.aim().quantity().key();
        match self.plan.measure() {
            Measure::Of(..) => key.to_owned(),
            Measure::Between { .. } => format!("{key}.difference"),
        }
    }

    fn json(&self) -> serde_json::Value {
        let row = |(gauge, widths): &(usize, Vec<f64>)| {
            let gauge = &self.plan.gauges()[*gauge];
            let widths: Vec<_> =
                self.tests.iter().zip(widths).map(|(tests, width)| json!({ "tests": tests, "range": width })).collect();
            json!({ "place": gauge.place, "reads": word(gauge.kind), "with_all_above": widths })
        };
        json!({
            "schema": 1,
            "figure": self.key(),
            "words": self.words(),
            "unit": self.command.aim.aim().quantity().unit(),
            "point": self.command.point,
            "value": self.plan.figure(),
            "range_before": self.before,
            "numbers": self.counted[0],
            "laws": self.counted[1],
            "gauges": self.rows.iter().map(row).collect::<Vec<_>>(),
        })
    }

    fn csv(&self, out: &mut dyn std::io::Write) -> Result<(), Failure> {
        let mut csv = csv::Writer::from_writer(out);
        let head = ["place", "reads"].map(str::to_owned).into_iter();
        csv.write_record(head.chain(self.tests.iter().map(|tests| format!("range_with_{tests}_tests"))))
            .map_err(write_failed)?;
        for (gauge, widths) in &self.rows {
            let gauge = &self.plan.gauges()[*gauge];
            let names = [gauge.place.clone(), word(gauge.kind).to_owned()].into_iter();
            csv.write_record(names.chain(widths.iter().map(f64::to_string))).map_err(write_failed)?;
        }
        Ok(csv.flush()?)
    }
}

fn word(kind: Kind) -> &'static str {
    match kind {
        Kind::Pressure => "pressure",
        Kind::Temperature => "temperature",
    }
}

/// A whole number above zero.
fn whole(text: &str) -> Result<usize, String> {
    text.parse().ok().filter(|number| *number > 0).ok_or_else(|| "expected a whole number of 1 or more".to_owned())
}

fn pressure(text: &str) -> Result<f64, String> {
    positive(text, Dimension::PressureDifference)
}

fn temperature(text: &str) -> Result<f64, String> {
    positive(text, Dimension::TemperatureDifference)
}

fn positive(text: &str, dimension: Dimension) -> Result<f64, String> {
    match quantity::parse(text, dimension) {
        Ok(value) if value > 0.0 => Ok(value),
        Ok(_) => Err("expected more than 0".to_owned()),
        Err(fault) => Err(format!("found {}, expected {}", fault.found, fault.expected)),
    }
}

#[cfg(test)]
mod tests;
