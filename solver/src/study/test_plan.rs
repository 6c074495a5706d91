//! Where gauges would narrow a wanted figure most, before anything is measured.
//!
//! What is uncertain of a case is known before as its spreads say; readings that follow from it in a straight line then narrow it by the rule of Bayes:
//! Tarantola 2005, Inverse Problem Theory, chapter 3. Gauges are chosen one by one, each time the one that narrows the figure most, which finds
//! nearly the best set of so many (Krause, Singh and Guestrin 2008, Journal of Machine Learning Research 9, 235).

mod choose;

pub use choose::{Choice, choose, narrowed, unmeasured};

use super::{Aim, KnownPoint, Measure};
use crate::case::{Case, NewValue, Number, Point, Task};
use crate::error::{CaseError, Error, Problem};
use crate::flow::DuctId;
use crate::joint::side::Side;
use crate::loss::Deviations;
use crate::network::{JointKind, Network, Tap};
use crate::quantity::Shape;

/// Something uncertain.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// A number of the case with a spread, by path.
    Number(String),
    /// A published law of loss.
    Law(&'static str),
}

/// What a gauge would read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Static pressure [Pa]; of a volume and of a draw as well.
    Pressure,
    /// Total temperature [K].
    Temperature,
}

/// A gauge that could be fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauge {
    /// Where, as [`Tap::find`] reads it.
    pub place: String,
    /// What.
    pub kind: Kind,
}

/// How well gauges read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Standard deviation of what a gauge is off by in all its readings alike [Pa, K].
    pub gauge: f64,
    /// Standard deviation by which a reading of one test is off besides [Pa, K].
    pub test: f64,
}

/// What one input does, per standard deviation of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// To the wanted figure [its SI unit].
    pub figure: f64,
    /// To the reading of each gauge at each point [Pa, K]: by point, then by gauge.
    pub readings: Vec<Vec<f64>>,
}

/// Step of the differences, in standard deviations of the input.
const STEP: f64 = 0.1;
/// Places in a duct nearer to each other than this are one [m].
const SAME_PLACE: f64 = 1e-3;

/// A layout, or two whose difference is wanted, and what is uncertain of them.
#[derive(Debug)]
pub struct TestPlan {
    cases: Vec<Case>,
    points: Vec<String>,
    aim_point: String,
    measure: Measure,
    /// States of the first case at the points.
    bases: Vec<KnownPoint>,
    /// States of all cases at the point of the figure.
    aims: Vec<KnownPoint>,
    inputs: Vec<Input>,
    gauges: Vec<Gauge>,
    taps: Vec<Tap>,
}

impl TestPlan {
    /// Gauges in `case` at `points` for the figure of `aim` at `aim_point`, of one `draw` or of all; with a case `against` it for how much more that one has of it.
    ///
    /// # Errors
    /// A point at which is measured is no steady state, a case has none at a point, or nothing in them is uncertain.
    pub fn new(
        case: Case,
        against: Option<Case>,
        points: Vec<String>,
        aim_point: &str,
        aim: Aim,
        draw: Option<&str>,
    ) -> Result<Self, Error> {
        let cases: Vec<Case> = std::iter::once(case).chain(against).collect();
        for point in &points {
            refuse_course(&cases[0], point)?;
        }
        let bases = points.iter().map(|point| KnownPoint::of(&cases[0], point)).collect::<Result<Vec<_>, _>>()?;
        let aims = cases.iter().map(|case| KnownPoint::of(case, aim_point)).collect::<Result<Vec<_>, _>>()?;
        let refused = |(found, expected): (String, String)| {
            let (location, path) = (cases[0].location(""), "aim".to_owned());
            CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] }
        };
        let measure = Measure::new(aim, draw, &aims[0].figures).map_err(refused)?;
        let mut inputs: Vec<Input> = Vec::new();
        for number in cases.iter().flat_map(Case::numbers).filter(|number| deviation(number).is_some()) {
            let input = Input::Number(number.path);
            if !inputs.contains(&input) {
                inputs.push(input);
            }
        }
        let is_known = |law: &str| cases.iter().all(|case| case.loss_factors.of(law).is_some());
        let laws = Deviations::new(|_| 0.0);
        inputs.extend(laws.named().filter(|law| !is_known(law.0)).map(|(law, _)| Input::Law(law)));
        let gauges = candidates(&cases[0], &bases[0].network);
        let taps = gauges.iter().filter_map(|gauge| Tap::find(&bases[0].network, &gauge.place).ok()).collect();
        Ok(Self { cases, points, aim_point: aim_point.to_owned(), measure, bases, aims, inputs, gauges, taps })
    }

    /// What is uncertain.
    #[must_use]
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// The gauges that could be fitted.
    #[must_use]
    pub fn gauges(&self) -> &[Gauge] {
        &self.gauges
    }

    /// The figure as the cases stand [SI].
    #[must_use]
    pub fn figure(&self) -> f64 {
        self.figure_of(&self.aims.iter().collect::<Vec<_>>())
    }

    /// What the figure is of.
    #[must_use]
    pub fn measure(&self) -> &Measure {
        &self.measure
    }

    fn figure_of(&self, states: &[&KnownPoint]) -> f64 {
        let values: Vec<f64> =
            states.iter().map(|state| self.measure.value(&state.figures).unwrap_or(f64::NAN)).collect();
        values[values.len() - 1] - if values.len() > 1 { values[0] } else { 0.0 }
    }

    /// What the input of this number does, by central differences.
    ///
    /// # Errors
    /// There is no steady state a tenth of a standard deviation away.
    pub fn effect(&self, input: usize) -> Result<Effect, Error> {
        let input = &self.inputs[input];
        let at = |sign: f64| {
            let states = self.aims.iter().zip(&self.cases);
            let states = states.map(|(base, case)| moved(case, &self.aim_point, base, input, sign * STEP));
            let states = states.collect::<Result<Vec<_>, Error>>()?;
            let figure = self.figure_of(&states.iter().collect::<Vec<_>>());
            let point = |(base, point): (&KnownPoint, &String)| {
                self.read(&moved(&self.cases[0], point, base, input, sign * STEP)?)
            };
            let readings = self.bases.iter().zip(&self.points).map(point).collect::<Result<Vec<_>, Error>>()?;
            Ok::<_, Error>((figure, readings))
        };
        let (up, down) = (at(1.0)?, at(-1.0)?);
        let slope = |up: f64, down: f64| (up - down) / (2.0 * STEP);
        let pairs = up.1.iter().zip(&down.1);
        let readings = pairs.map(|(up, down)| up.iter().zip(down).map(|(up, down)| slope(*up, *down)).collect());
        Ok(Effect { figure: slope(up.0, down.0), readings: readings.collect() })
    }

    fn read(&self, known: &KnownPoint) -> Result<Vec<f64>, Error> {
        let work = known.work()?;
        let read = |(tap, gauge): (&Tap, &Gauge)| {
            let air = tap.air(&known.network, &work);
            if gauge.kind == Kind::Pressure { air.pressure } else { air.total_temperature }
        };
        Ok(self.taps.iter().zip(&self.gauges).map(read).collect())
    }
}

/// Standard deviation of a number; `None` where it has none.
fn deviation(number: &Number) -> Option<f64> {
    let spread = number.spread.filter(|spread| spread.width > 0.0)?;
    Some(if spread.shape == Shape::Uniform { spread.width / 3.0_f64.sqrt() } else { spread.width })
}

/// Refuses a pull, a roll-on or a throttle step as the point at which is measured: what gauges read there is another at each instant.
fn refuse_course(case: &Case, point: &str) -> Result<(), CaseError> {
    let is_held = |known: &&Point| known.name == point && known.task != Task::Hold;
    let Some(point) = case.points.iter().find(is_held) else { return Ok(()) };
    let steady = case.points.iter().filter(|point| point.task == Task::Hold && point.phases.is_empty());
    let steady: Vec<&str> = steady.map(|point| point.name.as_str()).collect();
    Err(CaseError {
        problems: vec![Problem {
            location: point.location.clone(),
            path: format!("points.{}", point.name),
            found: "a pull, a roll-on or a throttle step to measure at".to_owned(),
            expected: match steady.is_empty() {
                true => "a case with a point that is one state".to_owned(),
                false => format!("a point that is one state, by `--at`: {}", steady.join(", ")),
            },
            nearest: None,
        }],
    })
}

/// The state with an input moved by so many of its standard deviations.
fn moved(case: &Case, point: &str, base: &KnownPoint, input: &Input, steps: f64) -> Result<KnownPoint, Error> {
    match input {
        Input::Law(moved) => {
            let deviations = Deviations::new(|law| if law == *moved { steps } else { 0.0 });
            base.neighbour(case, point, deviations)
        }
        Input::Number(path) => {
            let number = case.numbers().into_iter().find(|number| number.path == *path);
            let Some((value, deviation)) = number.and_then(|number| Some((number.value, deviation(&number)?))) else {
                return base.neighbour(case, point, Deviations::default());
            };
            let case = case.with(&[(path, NewValue::Si(value + steps * deviation))])?;
            base.neighbour(&case, point, Deviations::default())
        }
    }
}

/// Places where a hole can be drilled: both ends of each duct and where its sections change, each volume, each draw. The end of a duct at which a draw
/// takes over is the draw's place.
fn candidates(case: &Case, network: &Network) -> Vec<Gauge> {
    let mut places: Vec<String> = Vec::new();
    for (id, name) in network.ducts.iter().enumerate() {
        let duct = DuctId(id);
        let length = network.arena.cells(duct) as f64 * network.arena.cell_length(duct);
        let own = |number: &Number| {
            let start = format!("parts.{name}.sections[");
            number.path.strip_prefix(&start).is_some_and(|rest| rest.ends_with("].at"))
        };
        let mut at: Vec<f64> = case.numbers().iter().filter(|number| own(number)).map(|number| number.value).collect();
        let ends = [0.0, length].into_iter().enumerate();
        at.extend(ends.filter(|(end, _)| !ends_at_draw(network, 2 * id + end)).map(|(_, at)| at));
        at.sort_by(f64::total_cmp);
        at.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        places.extend(at.iter().map(|at| format!("{name}:{}mm", (1e6 * at.min(length)).floor() * 1e-3)));
    }
    places.extend(network.volumes.iter().map(|volume| volume.name.clone()));
    places.extend(network.draws().into_iter().map(|joint| network.draw_name(joint).to_owned()));
    let kinds = [Kind::Pressure, Kind::Temperature];
    let both = |place: String| kinds.map(|kind| Gauge { place: place.clone(), kind });
    places.into_iter().filter(|place| Tap::find(network, place).is_ok()).flat_map(both).collect()
}

/// Whether nothing stands between the end of this number of a duct and a draw.
fn ends_at_draw(network: &Network, number: usize) -> bool {
    network.draws().into_iter().any(|joint| {
        let joint = &network.joints[joint];
        let JointKind::Series(series) = &joint.kind else { return false };
        joint.losses.is_empty() && series.sides.iter().any(|side| matches!(side, Side::Duct { end } if *end == number))
    })
}
