//! Two draws on one box that an open duct feeds: what one does to the other.

use crate::case_text::{CaseText, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::figure::Figure;
use crate::marched::Tract;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::shared_box::{SharedBox, SteadyFlow, Tube};
use crate::time_series::Series;
use tractwright::march::Acoustic;

/// Checks of crosstalk.
pub const GROUP: Group = Group {
    name: "crosstalk",
    about: "two draws on one box: what one does to the other",
    checks: &[
        Check {
            name: "crosstalk_means",
            about: "pressures and flows of both draws while the left one takes less and less",
            source: "isentropic ducts between handbook losses: Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), diagrams 3",
            run: means,
        },
        Check {
            name: "crosstalk_waves",
            about: "total pressure and flow at the right draw over the frequency of the left one, from 4 to 250 Hz",
            source: "plane waves in mean flow and lumped elements: Munjal, Acoustics of Ducts and Mufflers, 2nd ed. (2014), chapters 2 and 3",
            run: waves,
        },
        Check {
            name: "crosstalk_step",
            about: "the left draw falls to half within 40 ms: pressure at the right draw in time",
            source: "inertance of the feed, compliance of the box and losses, integrated: Munjal (2014), chapter 2",
            run: step,
        },
        Check {
            name: "no_crosstalk_apart",
            about: "the same draws, each on a box and a mouth of its own",
            source: "nothing joins them",
            run: apart,
        },
    ],
};

/// The tract: thin lips at the mouth, sharp edges in the box, no friction.
const SHARED: SharedBox = SharedBox {
    gas: PerfectGas::AIR,
    pressure: 1e5,
    temperature: 300.0,
    feed: Tube { length: 0.4, diameter: 0.08, inlet_loss: 1.0 },
    volume: 0.008,
    left: Tube { length: 0.4, diameter: 0.06, inlet_loss: 0.5 },
    right: Tube { length: 0.5, diameter: 0.06, inlet_loss: 0.5 },
    left_flow: 0.08,
    right_flow: 0.08,
};

/// Length of a cell [m].
const CELL: f64 = 0.01;

/// Keys of the mouth of the feed: an ideal open end, before which the pressure holds and nothing is radiated.
fn ideal_mouth(tube: &Tube) -> String {
    format!("kind: mouth, area: {} m2", tube.area())
}

/// Keys of the left draw, with further keys.
fn left_draw(keys: &str) -> String {
    format!("kind: draw, flow: {} kg/s{keys}", SHARED.left_flow)
}

/// The parts of the right draw and both tubes, and the lines that lead to the draws from the boxes of these names.
fn draws(case: CaseText, left: &str, left_box: &str, right_box: &str) -> CaseText {
    let SharedBox { pressure, temperature, right_flow, .. } = SHARED;
    case.part("left_tube", smooth_duct(SHARED.left.length, SHARED.left.diameter))
        .part("right_tube", smooth_duct(SHARED.right.length, SHARED.right.diameter))
        .part("left", left)
        .part("right", format!("kind: draw, corrected_flow: {right_flow} kg/s, at: [{temperature} K, {pressure} Pa]"))
        .line(&[left_box, "left_tube", "left"])
        .line(&[right_box, "right_tube", "right"])
}

/// The parts of a box and its feed, whose names end in `side`.
fn fed_box(case: CaseText, side: &str) -> CaseText {
    let name = |part: &str| format!("{part}{side}");
    case.part(&name("mouth"), ideal_mouth(&SHARED.feed))
        .part(&name("feed"), smooth_duct(SHARED.feed.length, SHARED.feed.diameter))
        .part(&name("box"), format!("kind: plenum, volume: {} m3", SHARED.volume))
        .line(&[&name("mouth"), &name("feed"), &name("box")])
}

/// The case file with this left draw and way to run: parts `mouth`, `feed`, `box`, `left_tube`, `right_tube`, `left`, `right`.
#[must_use]
pub fn shared_case(left: &str, run: &str) -> String {
    let case = fed_box(CaseText::new(SHARED.pressure, SHARED.temperature), "");
    draws(case, left, "box", "box").run(run).text()
}

/// The same with a box and a mouth for each draw.
fn parted_case(left: &str, run: &str) -> String {
    let case = CaseText::new(SHARED.pressure, SHARED.temperature);
    draws(fed_box(fed_box(case, "_left"), "_right"), left, "box_left", "box_right").run(run).text()
}

/// Total pressure [Pa] and mass flow [kg/s] at the right draw over time.
struct AtRight {
    pressure: Series,
    flow: Series,
}

impl AtRight {
    /// Marches a case and looks at every record.
    fn of(text: &str) -> Result<Self, Failure> {
        let tract = Tract::read(text)?;
        let found =
            tract.network().joints.iter().position(|joint| joint.parts.last().is_some_and(|part| part == "right"));
        let joint = found.ok_or_else(|| Failure::Missing("right draw".to_owned()))?;
        let state = |march: &Acoustic<'_>| {
            march.work.joints[joint].series().map(|state| (state.total_pressures[0], state.mass_flow))
        };
        let mut flow = Series::default();
        let (_, pressure) = tract.march_recording(|march| {
            let (pressure, mass_flow) = state(march).unwrap_or((f64::NAN, f64::NAN));
            flow.times.push(march.clock.time);
            flow.values.push(mass_flow);
            pressure
        })?;
        Ok(Self { pressure, flow })
    }

    fn last(&self) -> [f64; 2] {
        [&self.pressure, &self.flow].map(|series| series.values.last().copied().unwrap_or(f64::NAN))
    }
}

fn steady(shared: &SharedBox) -> Result<SteadyFlow, Failure> {
    shared.steady().ok_or_else(|| Failure::NoSolution("two draws on a box".to_owned()))
}

fn means() -> Result<Findings, Failure> {
    const MEAN: Limit =
        Limit { value: 1e-5, why: "the same losses, solved without a march; slow flow adds a linear part to them" };
    const CHANGE: Limit = Limit { value: 2e-3, why: "the same, over the change alone" };
    let quiet = steady(&SharedBox { left_flow: 1e-9, ..SHARED })?.right.total_pressure;
    let (mut rows, mut dots) = (Vec::new(), Vec::new());
    for share in [1.0, 0.75, 0.5, 0.25, 0.0] {
        let left = format!("kind: draw, flow: {} kg/s", share * SHARED.left_flow);
        let run = format!("march: acoustic, until: settled, settled_below: 1e-9, cell: {CELL} m");
        let [pressure, flow] = AtRight::of(&shared_case(&left, &run))?.last();
        let exact = steady(&SharedBox { left_flow: (share * SHARED.left_flow).max(1e-9), ..SHARED })?.right;
        let named = |what: &str| format!("{what} at the right draw, left draw at {share}");
        rows.push(Row::relative(named("total pressure [Pa]"), pressure, exact.total_pressure, MEAN));
        rows.push(Row::relative(named("mass flow [kg/s]"), flow, exact.mass_flow, MEAN));
        if share > 0.0 {
            let (found, exact) = (quiet - pressure, quiet - exact.total_pressure);
            rows.push(Row::relative(named("crosstalk, fall of total pressure [Pa]"), found, exact, CHANGE));
        }
        dots.push((share * SHARED.left_flow, pressure, exact.total_pressure));
    }
    let figure =
        Figure::new("Two draws on a box", "flow of the left draw [kg/s]", "total pressure at the right draw [Pa]")
            .computed("marched", dots.iter().map(|(flow, found, _)| (*flow, *found)))
            .reference("losses balanced", dots.iter().map(|(flow, _, exact)| (*flow, *exact)));
    Ok(Findings::from(rows).with(figure))
}

/// Response at the right draw [Pa s/kg] and [1] to a sine of the left one at a frequency [Hz].
fn response(frequency: f64) -> Result<[f64; 2], Failure> {
    /// Share of its flow by which the left draw swings.
    const AMPLITUDE: f64 = 0.02;
    /// Time that the start takes to fade [s].
    const START: f64 = 0.2;
    let periods = (0.06 * frequency).ceil().max(1.0);
    let whole = ((START * frequency).ceil() + periods) / frequency;
    let left = left_draw(&format!(", pulse: {{amplitude: {AMPLITUDE}, frequency: {frequency} Hz}}"));
    let run =
        format!("march: acoustic, until: {whole} s, cell: {CELL} m, record_every: {} s", 1.0 / (32.0 * frequency));
    let right = AtRight::of(&shared_case(&left, &run))?;
    let swing = AMPLITUDE * SHARED.left_flow;
    Ok([
        right.pressure.tone(frequency, periods as u32)?.norm() / swing,
        right.flow.tone(frequency, periods as u32)?.norm() / swing,
    ])
}

fn waves() -> Result<Findings, Failure> {
    const WAVES: Limit = Limit {
        value: 1e-2,
        why: "a second-order scheme on 10 mm, a swing of 2 %, and a start that has all but faded",
    };
    const LUMPED: Limit =
        Limit { value: 3e-2, why: "lumps of air are short against the wave; at 16 Hz the right tube is 1/43 of it" };
    let flow = steady(&SHARED)?;
    let mut rows = Vec::new();
    let mut dots = Vec::new();
    for frequency in [4.0, 8.0, 16.0, 32.0, 50.0, 64.0, 80.0, 100.0, 130.0, 160.0, 200.0, 250.0] {
        let [pressure, passed] = response(frequency)?;
        let exact = SHARED.waves(&flow, frequency).ok_or_else(|| Failure::NoSolution("waves in a box".to_owned()))?;
        rows.push(Row::relative(
            format!("total pressure per flow at {frequency} Hz [Pa s/kg]"),
            pressure,
            exact.pressure.norm(),
            WAVES,
        ));
        rows.push(Row::relative(format!("flow per flow at {frequency} Hz"), passed, exact.flow.norm(), WAVES));
        if frequency <= 16.0 {
            let lumped = SHARED.lumped(&flow, frequency).pressure.norm();
            rows.push(Row::relative(
                format!("total pressure per flow at {frequency} Hz, lumped [Pa s/kg]"),
                pressure,
                lumped,
                LUMPED,
            ));
        }
        dots.push((frequency, pressure));
    }
    let frequencies = || (0..=200).map(|step| 4.0 * libm::pow(65.0, f64::from(step) / 200.0));
    let exact = |frequency: f64| SHARED.waves(&flow, frequency).map_or(f64::NAN, |response| response.pressure.norm());
    let lumped = |frequency: f64| SHARED.lumped(&flow, frequency).pressure.norm();
    let figure = Figure::new(
        "What the left draw does to the right one",
        "frequency [Hz]",
        "total pressure per mass flow [Pa s/kg]",
    )
    .logarithmic(true, true)
    .computed("marched", dots)
    .reference("plane waves", frequencies().map(|frequency| (frequency, exact(frequency))))
    .reference("lumped", frequencies().map(|frequency| (frequency, lumped(frequency))));
    Ok(Findings::from(rows).with(figure))
}

/// When the left draw begins and ends to fall [s].
const FALL: (f64, f64) = (0.3, 0.34);

/// Flow of the left draw [kg/s] that falls to half.
fn falling(time: f64) -> f64 {
    let done = ((time - FALL.0) / (FALL.1 - FALL.0)).clamp(0.0, 1.0);
    SHARED.left_flow * (1.0 - 0.5 * done)
}

fn fall_keys() -> String {
    format!(", table: {{time: 0 {} {} s, factor: 1 1 0.5}}", FALL.0, FALL.1)
}

fn step() -> Result<Findings, Failure> {
    const ENDS: Limit = Limit { value: 1e-3, why: "what still rings a fifth of a second after the fall" };
    const COURSE: Limit = Limit { value: 5e-2, why: "lumps of air know no waves in the tubes" };
    let run = format!("march: acoustic, until: 0.55 s, cell: {CELL} m, record_every: 1 ms");
    let right = AtRight::of(&shared_case(&left_draw(&fall_keys()), &run))?.pressure;
    let (before, after) = (steady(&SHARED)?, steady(&SharedBox { left_flow: 0.5 * SHARED.left_flow, ..SHARED })?);
    let rise = after.right.total_pressure - before.right.total_pressure;
    let lumped =
        SHARED.lumped_course(&right.times, falling).ok_or_else(|| Failure::NoSolution("a lumped box".to_owned()))?;
    let from = right.times.partition_point(|time| *time < FALL.0);
    let at = |time: f64| right.values[right.times.partition_point(|at| *at < time - 1e-6).min(right.values.len() - 1)];
    let course = right.values.iter().zip(&lumped).skip(from).map(|(found, exact)| ((found - exact) / rise, 0.0));
    let rows = vec![
        Row::relative("rise at the right draw after all [Pa]", at(0.55) - at(FALL.0), rise, ENDS),
        Row::worst_by(
            crate::check::Measure::Absolute,
            "in between, off the lumped course, over the rise",
            course,
            COURSE,
        ),
        Row::relative(
            "highest, over that before [Pa]",
            highest(&right.values[from..]) - at(FALL.0),
            highest(&lumped[from..]) - lumped[from],
            COURSE,
        ),
    ];
    let points = |values: &[f64]| {
        right.times.iter().copied().zip(values.iter().copied()).skip(from.saturating_sub(20)).collect::<Vec<_>>()
    };
    let figure = Figure::new("The left draw falls to half", "time [s]", "total pressure at the right draw [Pa]")
        .computed("marched", points(&right.values))
        .reference("lumped", points(&lumped));
    Ok(Findings::from(rows).with(figure))
}

fn highest(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

fn apart() -> Result<Findings, Failure> {
    const NOTHING: Limit =
        Limit { value: 1e-9, why: "the start rings off to this; steps of the march are shared, the air is not" };
    const SOME: Limit = Limit { value: 0.0, why: "or the left draw did nothing" };
    let run = format!("march: acoustic, until: 0.6 s, cell: {CELL} m, record_every: 1 ms");
    let left = left_draw(&fall_keys());
    let (shared, parted) =
        (AtRight::of(&shared_case(&left, &run))?.pressure, AtRight::of(&parted_case(&left, &run))?.pressure);
    let change = |series: &Series| {
        let from = series.times.partition_point(|time| *time < FALL.0);
        let values = &series.values[from..];
        (highest(values) + highest(&values.iter().map(|value| -value).collect::<Vec<_>>())) / SHARED.pressure
    };
    let rows = vec![
        Row::at_least("change at the right draw on one box, over the pressure", change(&shared), 1e-3, SOME),
        Row::vanishing("change at the right draw on a box of its own", change(&parted), NOTHING),
    ];
    let late = |series: &Series| {
        series
            .times
            .iter()
            .copied()
            .zip(series.values.iter().copied())
            .filter(|(time, _)| *time > 0.28)
            .collect::<Vec<_>>()
    };
    let rest = steady(&SharedBox { left_flow: 1e-9, ..SHARED })?.right.total_pressure;
    let figure = Figure::new("The left draw falls to half", "time [s]", "total pressure at the right draw [Pa]")
        .computed("on one box", late(&shared))
        .computed("on boxes apart", late(&parted))
        .reference("losses of the right draw alone", [(0.28, rest), (0.6, rest)]);
    Ok(Findings::from(rows).with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parted_case_has_two_of_each() {
        let text = parted_case(&left_draw(""), "march: acoustic, until: 1 ms");
        for part in ["mouth_left", "mouth_right", "box_left", "box_right", "left_tube", "right_tube"] {
            assert!(text.contains(part), "{part}");
        }
        assert!(Tract::read(&text).is_ok());
    }

    #[test]
    fn the_left_draw_falls_to_half() {
        for (time, share) in [(0.0, 1.0), (0.32, 0.75), (1.0, 0.5)] {
            assert!((falling(time) / SHARED.left_flow - share).abs() < 1e-12, "{time}");
        }
    }
}
