//! Two draws on one box that an open duct feeds: what one does to the other.

use crate::case_text::{CaseText, InitialState, Stretch, settled, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row};
use crate::figure::Figure;
use crate::marched::Tract;
use crate::oracle::shared_box::{SharedBox, SteadyFlow, Stream, Tube};
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
            about: "the left draw loses 2 % of its flow within 5 ms: pressure at the right draw in time",
            source: "plane waves in mean flow, summed over their frequencies: Munjal (2014), chapter 3",
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
const SHARED: SharedBox = SharedBox::EXAMPLE;

/// Length of a cell [m].
const CELL: f64 = 0.01;

/// Keys of the mouth of the feed: an ideal open end, before which the pressure holds and nothing is radiated.
fn ideal_mouth(tube: &Tube) -> String {
    format!("kind: mouth, area: {} m2, radiation: none", tube.area())
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

/// The parts of a box and its feed, whose names end in `side`, with a steady flow to begin with.
fn fed_box(case: CaseText, side: &str, flow: &SteadyFlow) -> CaseText {
    let name = |part: &str| format!("{part}{side}");
    let case = in_flow(case, &name("feed"), &SHARED.feed, &flow.feed).initial_volume(
        &name("box"),
        flow.box_pressure(),
        SHARED.temperature,
    );
    case.part(&name("mouth"), ideal_mouth(&SHARED.feed))
        .part(&name("feed"), smooth_duct(SHARED.feed.length, SHARED.feed.diameter))
        .part(&name("box"), format!("kind: plenum, volume: {} m3", SHARED.volume))
        .line(&[&name("mouth"), &name("feed"), &name("box")])
}

/// Lets a tube begin with a stream.
fn in_flow(case: CaseText, name: &str, tube: &Tube, stream: &Stream) -> CaseText {
    let Stream { pressure, temperature, .. } = *stream;
    let state = InitialState { pressure, temperature, velocity: stream.velocity(SHARED.gas) };
    case.initial(name, Stretch { from: 0.0, to: tube.length }, state)
}

/// The case file with this left draw and way to run, from the steady flow on: parts `mouth`, `feed`, `box`, `left_tube`, `right_tube`, `left`,
/// `right`. What rings is the left draw's doing alone.
fn shared_case(left: &str, run: &str) -> Result<String, Failure> {
    let flow = steady(&SHARED)?;
    let case = fed_box(CaseText::new(SHARED.pressure, SHARED.temperature), "", &flow);
    let case = in_flow(case, "left_tube", &SHARED.left, &flow.left);
    let case = in_flow(case, "right_tube", &SHARED.right, &flow.right);
    Ok(draws(case, left, "box", "box").run(run).text())
}

/// The right draw with nothing beside it.
const ALONE: SharedBox = SharedBox { left_flow: 1e-9, ..SHARED };

/// The same with a box and a mouth for each draw.
fn parted_case(left: &str, run: &str) -> Result<String, Failure> {
    let of_right = steady(&ALONE)?;
    // On its own box the left draw is the right one of a box with no other.
    let of_left = steady(&SharedBox { right: SHARED.left, ..ALONE })?;
    let case = CaseText::new(SHARED.pressure, SHARED.temperature);
    let case = fed_box(fed_box(case, "_left", &of_left), "_right", &of_right);
    let case = in_flow(case, "left_tube", &SHARED.left, &of_left.right);
    let case = in_flow(case, "right_tube", &SHARED.right, &of_right.right);
    Ok(draws(case, left, "box_left", "box_right").run(run).text())
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
    let quiet = steady(&ALONE)?.right.total_pressure;
    let (mut rows, mut dots) = (Vec::new(), Vec::new());
    for share in [1.0, 0.75, 0.5, 0.25, 0.1] {
        let left = format!("kind: draw, flow: {} kg/s", share * SHARED.left_flow);
        // Without friction nothing happens along the ducts, so few cells will do.
        let run = settled(0.05);
        let [pressure, flow] = AtRight::of(&shared_case(&left, &run)?)?.last();
        let exact = steady(&SharedBox { left_flow: share * SHARED.left_flow, ..SHARED })?.right;
        let named = |what: &str| format!("{what} at the right draw, left draw at {share}");
        rows.push(Row::relative(named("total pressure [Pa]"), pressure, exact.total_pressure, MEAN));
        rows.push(Row::relative(named("mass flow [kg/s]"), flow, exact.mass_flow, MEAN));
        let (fall, exact_fall) = (quiet - pressure, quiet - exact.total_pressure);
        rows.push(Row::relative(named("crosstalk, fall of total pressure [Pa]"), fall, exact_fall, CHANGE));
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
    const START: f64 = 0.12;
    // No fewer than 135 cells a wave.
    let cell = if frequency < 90.0 { 2.0 * CELL } else { CELL };
    let periods = (0.06 * frequency).ceil().max(1.0);
    let whole = ((START * frequency).ceil() + periods) / frequency;
    let left = left_draw(&format!(", pulse: {{amplitude: {AMPLITUDE}, frequency: {frequency} Hz}}"));
    let run =
        format!("march: acoustic, until: {whole} s, cell: {cell} m, record_every: {} s", 1.0 / (32.0 * frequency));
    let right = AtRight::of(&shared_case(&left, &run)?)?;
    let swing = AMPLITUDE * SHARED.left_flow;
    Ok([
        right.pressure.tone(frequency, periods as u32)?.norm() / swing,
        right.flow.tone(frequency, periods as u32)?.norm() / swing,
    ])
}

fn waves() -> Result<Findings, Failure> {
    const SLOW: Limit = Limit { value: 5e-3, why: "a second-order scheme, and a start that has all but faded" };
    const FAST: Limit =
        Limit { value: 2e-2, why: "on a flank of the tubes' resonances, which cells of 10 mm shift by 0.1 %" };
    const LUMPED: Limit =
        Limit { value: 3e-2, why: "lumps of air are short against the wave; at 16 Hz the right tube is 1/43 of it" };
    let flow = steady(&SHARED)?;
    let mut rows = Vec::new();
    let mut dots = Vec::new();
    for frequency in [4.0, 8.0, 16.0, 32.0, 50.0, 64.0, 80.0, 100.0, 130.0, 160.0, 200.0, 250.0] {
        let limit = if frequency < 180.0 { SLOW } else { FAST };
        let [pressure, passed] = response(frequency)?;
        let exact = SHARED.waves(&flow, frequency).ok_or_else(|| Failure::NoSolution("waves in a box".to_owned()))?;
        rows.push(Row::relative(
            format!("total pressure per flow at {frequency} Hz [Pa s/kg]"),
            pressure,
            exact.pressure.norm(),
            limit,
        ));
        rows.push(Row::relative(format!("flow per flow at {frequency} Hz"), passed, exact.flow.norm(), limit));
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

/// When the left draw begins to fall [s].
const FALL: f64 = 0.05;

/// Keys of a left draw that loses a share of its flow within a time [s].
fn falling(share: f64, ramp: f64) -> String {
    left_draw(&format!(", table: {{time: 0 {FALL} {} s, factor: 1 1 {}}}", FALL + ramp, 1.0 - share))
}

fn step() -> Result<Findings, Failure> {
    /// Share of its flow that the left draw loses, small enough for straight laws.
    const SHARE: f64 = 0.02;
    const RAMP: f64 = 5e-3;
    const COURSE: Limit =
        Limit { value: 1e-2, why: "a second-order scheme on 10 mm, and losses that are not straight" };
    let run = format!("march: acoustic, until: 0.25 s, cell: {CELL} m, record_every: 0.5 ms");
    let right = AtRight::of(&shared_case(&falling(SHARE, RAMP), &run)?)?.pressure;
    let flow = steady(&SHARED)?;
    let times: Vec<f64> = right.times.iter().map(|time| time - FALL).collect();
    let drop = SHARE * SHARED.left_flow;
    let exact = SHARED.fall(&flow, RAMP, &times).ok_or_else(|| Failure::NoSolution("waves in a box".to_owned()))?;
    let exact: Vec<f64> = exact.iter().map(|per_flow| drop * per_flow).collect();
    let found: Vec<f64> = right.values.iter().map(|value| value - flow.right.total_pressure).collect();
    let peak = highest(&exact);
    let off = found.iter().zip(&exact).map(|(found, exact)| ((found - exact) / peak, 0.0));
    let late = |values: &[f64]| values.last().copied().unwrap_or(f64::NAN);
    let rows = vec![
        Row::worst_by(
            Measure::Absolute,
            "course of total pressure, off that of plane waves, over the peak",
            off,
            COURSE,
        ),
        Row::relative("first peak [Pa]", highest(&found), peak, COURSE),
        Row::relative("rise after 0.2 s [Pa]", late(&found), late(&exact), COURSE),
    ];
    let points = |values: &[f64]| right.times.iter().copied().zip(values.iter().copied()).collect::<Vec<_>>();
    let figure =
        Figure::new("The left draw loses 2 % of its flow", "time [s]", "rise of total pressure at the right draw [Pa]")
            .computed("marched", points(&found))
            .reference("plane waves", points(&exact));
    Ok(Findings::from(rows).with(figure))
}

fn highest(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

fn apart() -> Result<Findings, Failure> {
    const NOTHING: Limit = Limit { value: 1e-9, why: "what the start from a steady state found elsewhere still rings" };
    const SOME: Limit = Limit { value: 0.0, why: "or the left draw did nothing" };
    let run = format!("march: acoustic, until: 0.25 s, cell: {CELL} m, record_every: 1 ms");
    let left = falling(0.5, 5e-3);
    let shared = AtRight::of(&shared_case(&left, &run)?)?.pressure;
    let parted = AtRight::of(&parted_case(&left, &run)?)?.pressure;
    let change = |series: &Series| {
        let from = series.times.partition_point(|time| *time < FALL);
        let values = &series.values[from..];
        (highest(values) + highest(&values.iter().map(|value| -value).collect::<Vec<_>>())) / SHARED.pressure
    };
    let rows = vec![
        Row::at_least("change at the right draw on one box, over the pressure", change(&shared), 1e-3, SOME),
        Row::vanishing("change at the right draw on a box of its own", change(&parted), NOTHING),
    ];
    let points = |series: &Series| series.times.iter().copied().zip(series.values.iter().copied()).collect::<Vec<_>>();
    let alone = steady(&ALONE)?.right.total_pressure;
    let figure = Figure::new("The left draw falls to half", "time [s]", "total pressure at the right draw [Pa]")
        .computed("on one box", points(&shared))
        .computed("on boxes apart", points(&parted))
        .reference("losses of the right draw alone", [(0.0, alone), (0.25, alone)]);
    Ok(Findings::from(rows).with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parted_case_has_two_of_each() {
        let text = parted_case(&left_draw(""), "march: acoustic, until: 1 ms").unwrap();
        for part in ["mouth_left", "mouth_right", "box_left", "box_right", "left_tube", "right_tube"] {
            assert!(text.contains(part), "{part}");
        }
        assert!(Tract::read(&text).is_ok());
    }
}
