//! Facts of the trade beside what the demo car gives. A car of nobody is no measurement of any: almost all of this informs, so that a
//! reader sees whether the numbers are those of an engine's inlet tract.

mod gain;

use crate::bench::measure_entry;
use crate::check::{Check, Failure, Findings, Group, Limit, Row, rows_only};
use crate::coupe::{Left, Run};
use crate::figure::{Figure, Role};
use crate::oracle::perfect_gas::PerfectGas;

/// Facts of the trade.
pub const GROUP: Group = Group {
    name: "trade",
    about: "the invented demo car beside published figures and common practice",
    checks: &[
        Check {
            name: "panel_filter",
            about: "the shared panel filter at full load on the dyno",
            source: "media velocity and permissible restriction: Dziubak and Bakala, congress paper, abstract; Dziubak and Karczewski, \
                     Energies 15 (2022) 3285, abstract; clean drop: common practice, no source",
            run: || rows_only(panel_filter()),
        },
        Check {
            name: "inlet_depression",
            about: "static depression at the compressors of the car with the panel filter, over flow",
            source: "anonymous manometer readings on turbocharged saloons in a magazine, for plausibility only",
            run: depression,
        },
        Check {
            name: "ram_at_speed",
            about: "what road speed adds to the pressure in the sealed box at full flow",
            source: "upper bound: isentropic stagnation, NACA Report 1135 (1953), equation 44; recovered share: common practice, no source",
            run: ram,
        },
        Check {
            name: "warm_air",
            about: "how much warmer the air reaches the compressors, and how much of it comes from the hot bay",
            source: "adiabatic mixing of ideal gases (first law); measured rises: anonymous readings of owners, for plausibility only",
            run: || rows_only(warm_air()),
        },
        Check {
            name: "outlet_horn",
            about: "an outlet of 52.7 mm with its horn removed, at 270 cubic feet a minute",
            source: "an anonymous bench reading, for plausibility only",
            run: || rows_only(outlet_horn()),
        },
        Check {
            name: "gain",
            about: "what the sealed box is worth over the panel filter, in power and in road time",
            source: "common practice, no source: a few per cent, a few tenths of a second",
            run: gain::rows,
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
const PRACTICE: Limit = Limit::none("common practice, no source: it shows whether the number is a usual one");
const PLAUSIBLE: Limit = Limit::none("an anonymous reading on another car: for plausibility only");
const INVENTED: Limit = Limit::none("published, but what is compared follows from the invented car's dimensions");
/// Inch of water at 4 degC [Pa].
const INCH_OF_WATER: f64 = 249.088_91;

fn panel_at_full_load() -> Result<Left, Failure> {
    Run { layout: "shared_panel", point: "dyno", changes: &[] }.with_room("box")
}

fn panel_filter() -> Result<Vec<Row>, Failure> {
    let left = panel_at_full_load()?;
    let density = left.volume.0 / (GAS.gas_constant * left.volume.1);
    let velocity = left.flow() / density / left.written("parts.panel.media_area")?;
    let drop = 1e-3 * left.lost(&["panel"]);
    Ok(vec![
        Row::within("drop of the clean panel [kPa]", drop, [0.3, 1.0], PRACTICE),
        Row::within("velocity through the medium [m/s]", velocity, [0.06, 0.12], INVENTED),
        Row::within("drop against what a car is permitted when loaded [kPa]", drop, [0.0, 4.0], INVENTED),
    ])
}

/// Depression of a saloon by engine speed [1/min], which at constant boost is by flow [inH2O].
const SALOON: [(f64, f64); 5] = [(2000.0, 2.0), (3000.0, 10.0), (4000.0, 16.0), (5000.0, 26.0), (6000.0, 32.0)];

fn depression() -> Result<Findings, Failure> {
    let at_share = |share: f64| {
        let changes = [("corrected_flow: 215 g/s", format!("corrected_flow: {} g/s", 215.0 * share))];
        Run { layout: "shared_panel", point: "dyno", changes: &changes }.with_room("box")
    };
    let runs: Vec<Left> = [0.25, 0.5, 0.75].into_iter().map(at_share).collect::<Result<_, _>>()?;
    let full = panel_at_full_load()?;
    let read = |left: &Left| (left.flow(), 1e-3 * left.summary.branches[0].depression);
    let points: Vec<(f64, f64)> = runs.iter().chain([&full]).map(read).collect();
    let exponent = |from: (f64, f64), to: (f64, f64)| libm::log(to.1 / from.1) / libm::log(to.0 / from.0);
    let whole = full.summary.branches[0].lost;
    let (outside, static_box) = (full.summary.outside_pressure, full.volume.0);
    let share = |lost: f64| lost / whole;
    let most = points[3];
    let saloon = SALOON.map(|(speed, inches)| (speed / SALOON[4].0, 1e-3 * inches * INCH_OF_WATER));
    let figure = Figure::new("Depression at the compressor", "flow over that at full load", "static depression [kPa]")
        .computed("demo car, shared panel filter", points.iter().map(|(flow, lost)| (flow / most.0, *lost)))
        .reference("a turbocharged saloon, by engine speed", saloon);
    let rows = vec![
        Row::within("depression at full load [kPa]", most.1, [6.7, 8.0], PLAUSIBLE),
        Row::relative(
            "exponent of flow from half to full load",
            exponent(points[1], most),
            exponent(SALOON[1], SALOON[4]),
            PLAUSIBLE,
        ),
        Row::relative("share of the loss in the snorkel", share(full.lost(&["grille", "snorkel"])), 0.39, PLAUSIBLE),
        Row::relative(
            "share of the loss before the filter",
            share(full.lost(&["grille", "snorkel", "box"])),
            0.28,
            PLAUSIBLE,
        ),
        Row::within("depression in the airbox at full load [kPa]", 1e-3 * (outside - static_box), [1.0, 3.0], PRACTICE),
    ];
    Ok(Findings::from(rows).with(figure))
}

fn ram() -> Result<Findings, Failure> {
    const SPEEDS: [f64; 4] = [0.0, 22.5, 45.0, 67.5];
    const BOUND: Limit = Limit { value: 0.0, why: "no mouth recovers more than stagnation" };
    let at_speed = |speed: f64| {
        let changes = [("road: {speed: 45 m/s}", format!("road: {{speed: {speed} m/s}}"))];
        Run { layout: "twin_sealed", point: "road", changes: &changes }.with_room("box")
    };
    let runs: Vec<Left> = SPEEDS.into_iter().map(at_speed).collect::<Result<_, _>>()?;
    let (pressure, temperature) = (runs[0].summary.outside_pressure, runs[0].summary.outside_temperature);
    let stagnation =
        |speed: f64| 1e-3 * pressure * (1.0 / GAS.pressure_ratio(speed / GAS.sound_speed(temperature)) - 1.0);
    let gains: Vec<f64> = runs.iter().map(|run| 1e-3 * (run.volume.0 - runs[0].volume.0)).collect();
    let rows = vec![
        Row::within("gain at 81 km/h [kPa]", gains[1], [0.0, stagnation(22.5)], BOUND),
        Row::within("gain at 162 km/h [kPa]", gains[2], [0.0, stagnation(45.0)], BOUND),
        Row::within("gain at 243 km/h [kPa]", gains[3], [0.0, stagnation(67.5)], BOUND),
        Row::within("recovered share at 162 km/h", gains[2] / stagnation(45.0), [0.6, 0.9], PRACTICE),
    ];
    let curve = (0..=30).map(|step| 67.5 * f64::from(step) / 30.0);
    let figure = Figure::new("What road speed adds in the box", "road speed [km/h]", "gain of pressure [kPa]")
        .computed("demo car, sealed box", SPEEDS.iter().zip(&gains).map(|(speed, gain)| (3.6 * speed, *gain)))
        .curve(Role::Bound, "stagnation: no mouth recovers more", curve.map(|speed| (3.6 * speed, stagnation(speed))));
    Ok(Findings::from(rows).with(figure))
}

fn warm_air() -> Result<Vec<Row>, Failure> {
    const MIXING: Limit =
        Limit { value: 5e-3, why: "the fan's kinetic energy, 0.07 K of the rise, is left out of the reference" };
    let open = |point| Run { layout: "open_filters", point, changes: &[] }.with_room("left_space");
    let sealed = Run { layout: "twin_sealed", point: "road", changes: &[] }.with_room("box")?;
    let (dyno, road) = (open("dyno")?, open("road")?);
    let bay = dyno.written("parts.bay.temperature")? + 273.15;
    let rise = |left: &Left| left.summary.branches[0].rise;
    let hot = |left: &Left| {
        let origins = &left.summary.branches[0].origins;
        let from_bay = origins.iter().filter(|origin| origin.origin.ends_with("shield"));
        from_bay.map(|origin| origin.share).sum::<f64>()
    };
    let outside = dyno.summary.outside_temperature;
    Ok(vec![
        Row::relative(
            "warming in the space of the open filter [K]",
            dyno.volume.1 - outside,
            hot(&dyno) * (bay - outside),
            MIXING,
        ),
        Row::within("rise with open filters on the dyno [K]", rise(&dyno), [17.8, 20.3], PLAUSIBLE),
        Row::relative("share of hot air on the road", hot(&road), 0.14, PLAUSIBLE),
        Row::relative("rise with the sealed box on the road [K]", rise(&sealed), 3.3, PLAUSIBLE),
        Row::relative(
            "rise with open filters on the road, over sealed",
            rise(&road) / rise(&sealed),
            23.0 / 3.3,
            PLAUSIBLE,
        ),
    ])
}

fn outlet_horn() -> Result<Vec<Row>, Failure> {
    const DIAMETER: f64 = 0.0527;
    /// 270 cubic feet a minute [m^3/s].
    const FLOW: f64 = 270.0 * 0.028_316_846_592 / 60.0;
    // Six inches and three tenths of water are what the bench lost with the horn.
    const MEASURED: f64 = 1e-3 * 6.3 * INCH_OF_WATER;
    let mass_flow = FLOW * 1e5 / (GAS.gas_constant * 300.0);
    let behind = |inlet: &str| measure_entry(DIAMETER, inlet, mass_flow).map(|reading| 1e-3 * reading.total_pressure);
    let horn = behind("shape: flared, radius: 15 mm")?;
    let row = |(name, inlet): (&str, &str)| {
        Ok(Row::relative(format!("more loss with {name} [kPa]"), horn - behind(inlet)?, MEASURED, PLAUSIBLE))
    };
    [("a flush edge", "shape: sharp"), ("a protruding edge", "shape: protruding")].into_iter().map(row).collect()
}
