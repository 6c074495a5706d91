//! Which inputs the spread of the figures comes from.

use super::Place;
use crate::commands::Format;
use crate::failure::Failure;
use crate::print::number::fixed;
use crate::print::{Row as Line, Table};
use crate::{Streams, exit};
use serde_json::json;
use tractwright::case::Number;
use tractwright::quantity::Shape;
use tractwright::study::Evaluator;
use tractwright::study::indices::{Distribution, indices};
use tractwright::study::journal::Records;
use tractwright::study::plan::{Plan, Sample};
use tractwright::study::table::{Row, Rows};

/// Share of the variance below which the polynomials say too little to be believed.
const FORETOLD: f64 = 0.9;
/// Inputs that are shown.
const SHOWN: usize = 15;

/// Prints Sobol's indices of the figures: the share of their variance that each input makes alone, and in all
///
/// Any finished runs will do that fill the space between the bounds: samples of a Sobol sequence, draws from the spreads, a grid.
#[derive(Debug, clap::Args)]
pub(super) struct Indices {
    #[command(flatten)]
    place: Place,
    /// Figure, such as `power` or `recovery.difference`; the aims of the study when it is not given
    #[arg(long, value_name = "NAME")]
    figure: Vec<String>,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Place of an input in a row.
type Scaled<'a> = Box<dyn Fn(&Row) -> Option<f64> + 'a>;

/// An input with its distribution and its place between -1 and 1, or in standard deviations, in a row.
struct Input<'a> {
    name: String,
    distribution: Distribution,
    scaled: Scaled<'a>,
}

/// What came of a figure at a layout and a point.
struct Found {
    layout: String,
    point: String,
    figure: String,
    samples: usize,
    of: Option<tractwright::study::indices::Indices>,
}

impl Indices {
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let plan = self.place.plan()?;
        let folder = self.place.folder();
        let evaluator = Evaluator::new(&plan, &folder);
        let rows = Rows::of(&plan, &evaluator, Records::read(&folder)?);
        let aims = plan.goals.iter().map(|goal| goal.what.name(&plan.variables));
        let figures: Vec<String> = if self.figure.is_empty() { aims.collect() } else { self.figure.clone() };
        let inputs = inputs(&plan, &rows);
        if figures.is_empty() || inputs.is_empty() {
            return Err(Failure::wrong_use(
                "found no figure or no input, expected `--figure` and a study that varies something",
            ));
        }
        let mut found = Vec::new();
        for layout in 0..plan.layouts.len() {
            for point in 0..plan.points.len() {
                found.extend(figures.iter().map(|figure| one(&plan, &rows, (layout, point), &inputs, figure)));
            }
        }
        match self.format {
            Format::Text => found.iter().try_for_each(|found| write!(streams.out, "{}", text(found, &inputs)))?,
            Format::Json => writeln!(streams.out, "{:#}", machine(&found, &inputs))?,
            Format::Csv => return Err(Failure::wrong_use("--format: found `csv`, expected `text` or `json`")),
        }
        Ok(exit::DONE)
    }
}

fn one(plan: &Plan, rows: &Rows<'_>, (layout, point): (usize, usize), inputs: &[Input<'_>], figure: &str) -> Found {
    let complete = |row: Row| {
        let sample: Option<Vec<f64>> = inputs.iter().map(|input| (input.scaled)(&row)).collect();
        Some((sample?, row.figure(figure)?))
    };
    let here = rows.iter().filter(|row| row.run.layout == layout && row.run.point == point);
    let (samples, values): (Vec<Vec<f64>>, Vec<f64>) = here.filter_map(complete).unzip();
    let distributions: Vec<Distribution> = inputs.iter().map(|input| input.distribution).collect();
    Found {
        layout: plan.layouts[layout].name.clone(),
        point: plan.points[point].clone(),
        figure: figure.to_owned(),
        samples: values.len(),
        of: indices(&samples, &distributions, &values),
    }
}

/// The inputs that vary: those of the study, or whatever spreads.
fn inputs<'a>(plan: &'a Plan, rows: &Rows<'_>) -> Vec<Input<'a>> {
    if !matches!(plan.sample, Sample::Spread { .. }) {
        return plan
            .variables
            .iter()
            .enumerate()
            .map(|(index, variable)| {
                let (from, to) = variable.values.bounds();
                let scaled = move |row: &Row| Some(2.0 * (row.run.numbers.get(index)? - from) / (to - from) - 1.0);
                Input { name: variable.name.clone(), distribution: Distribution::Uniform, scaled: Box::new(scaled) }
            })
            .collect();
    }
    let mut numbers: Vec<Number> = Vec::new();
    for number in plan.layouts.iter().flat_map(|layout| layout.case.numbers()) {
        if number.spread.is_some() && !numbers.iter().any(|known| known.path == number.path) {
            numbers.push(number);
        }
    }
    let drawn = rows.names_of_draws();
    let mut inputs = Vec::new();
    for name in drawn {
        let number = numbers.iter().find(|number| *number.path == *name);
        let (middle, width, shape) = match number.and_then(|number| Some((number, number.spread?))) {
            Some((number, spread)) => (number.value, spread.width, spread.shape),
            None => (0.0, 1.0, Shape::Normal),
        };
        let distribution = if shape == Shape::Normal { Distribution::Normal } else { Distribution::Uniform };
        let key = name.clone();
        // A layout that lacks the field does not feel it.
        let scaled = move |row: &Row| Some(row.input(&key).map_or(0.0, |value| (value - middle) / width));
        inputs.push(Input { name, distribution, scaled: Box::new(scaled) });
    }
    inputs
}

fn text(found: &Found, inputs: &[Input<'_>]) -> String {
    let head = format!("\n{} {}: {} of {} runs\n", found.layout, found.point, found.figure, found.samples);
    let Some(of) = &found.of else { return format!("{head}  it does not move, or there are too few runs\n") };
    let mut order: Vec<usize> = (0..inputs.len()).collect();
    order.sort_by(|a, b| of.total[*b].total_cmp(&of.total[*a]));
    let line = |input: &usize| {
        let cells = [of.first[*input], of.total[*input]].map(|index| fixed(index, 3)).to_vec();
        Line::new(inputs[*input].name.clone(), cells)
    };
    let heads = ["alone", "in all"].map(str::to_owned).to_vec();
    let table =
        Table { head: Line::new("share of the variance", heads), rows: order.iter().take(SHOWN).map(line).collect() };
    let trust = if of.foretold < FORETOLD { ": TOO LITTLE, the shares are no more than a hint" } else { "" };
    format!(
        "{head}{}the fit foretells {} % of the variance of runs it has not seen{trust}\n",
        table.render(),
        fixed(100.0 * of.foretold, 1)
    )
}

fn machine(found: &[Found], inputs: &[Input<'_>]) -> serde_json::Value {
    let one = |found: &Found| {
        let of_input = |of: &[f64]| -> serde_json::Map<String, serde_json::Value> {
            inputs.iter().zip(of).map(|(input, index)| (input.name.clone(), json!(index))).collect()
        };
        json!({
            "layout": found.layout,
            "point": found.point,
            "figure": found.figure,
            "runs": found.samples,
            "first": found.of.as_ref().map(|of| of_input(&of.first)),
            "total": found.of.as_ref().map(|of| of_input(&of.total)),
            "foretold": found.of.as_ref().map(|of| of.foretold),
            "deviation": found.of.as_ref().map(|of| of.deviation),
        })
    };
    json!({ "schema": 1, "indices": found.iter().map(one).collect::<Vec<_>>() })
}
