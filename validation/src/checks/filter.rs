//! Filters: the law of the medium, and a measured curve carried to other air.

use crate::bench::Bench;
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::oracle::filter::Slab;
use crate::oracle::perfect_gas::PerfectGas;
use rayon::prelude::*;

/// Checks of filters.
pub const GROUP: Group = Group {
    name: "filter",
    about: "pressure drop of filters between two ducts",
    checks: &[
        Check {
            name: "filter_medium",
            about: "media given by permeability and form coefficient",
            source: "Forchheimer (1901); Ward (1964); Nield and Bejan, Convection in Porous Media, 4th ed., section 1.5",
            run: media,
        },
        Check {
            name: "filter_curve",
            about: "a curve measured on a bench, met on the bench and in hot, cold and thin air",
            source: "the same law, isothermal: what is viscous goes with viscosity over density, what is inertial with 1 over density",
            run: curve,
        },
        Check {
            name: "filter_state",
            about: "one mass flow in four states of the air, over that at 25 degC and 100 kPa",
            source: "similarity of mass flow: inertial part by density, viscous part by viscosity too; 25 degC and 100 kPa as in \
                     ISO 5011, from memory",
            run: states,
        },
        Check {
            name: "filter_pleats",
            about: "area from pleats, and a curve over volume flow",
            source: "two faces a pleat; the law of Darcy and Forchheimer",
            run: pleats,
        },
        Check {
            name: "filter_dust",
            about: "rise of the viscous drop with dust",
            source: "form of Li et al. (2022), Sep. Purif. Technol. 284, 120209; the growth itself is assumed",
            run: dust,
        },
        Check {
            name: "filter_blocked",
            about: "from a clean to a blocked medium before a draw that would take 100 g/s",
            source: "the same isothermal law with the flow that it leaves the draw",
            run: blocked,
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
const DROP: Limit = Limit { value: 5e-4, why: "the part's law leaves out that the air speeds up inside the medium" };
/// Area of the medium [m^2].
const AREA: f64 = 0.02;
/// Air of the bench on which the curve was measured [Pa, K].
const BENCH: (f64, f64) = (101_300.0, 293.15);
/// A medium whose drop is half viscous, half inertial on the way.
const SLAB: Slab = Slab { permeability: 3e-10, form_coefficient: 0.55, thickness: 0.002 };
/// Mass flows [kg/s].
const FLOWS: [f64; 4] = [0.006, 0.012, 0.018, 0.024];

/// Keys of a filter of this medium.
fn medium(slab: &Slab) -> String {
    let Slab { permeability, form_coefficient, thickness } = slab;
    format!(
        "kind: filter, media_area: {AREA} m2, medium: {{permeability: {permeability} m2, thickness: {thickness} m, \
         inertial_coefficient: {form_coefficient}}}"
    )
}

fn media() -> Result<Findings, Failure> {
    let rows = data::rows(data::POROUS_SLABS)?;
    let mut all = Vec::new();
    let mut figure =
        Figure::new("Filter media", "approach velocity [m/s]", "pressure drop [Pa]").logarithmic(true, true);
    for case in ["cellulose_media_0.6mm", "oiled_cotton_gauze_3mm", "foam_12mm", "strong_compressible"] {
        let (mut found, mut expected) = (Vec::new(), Vec::new());
        for row in rows.iter().filter(|row| row.text("case") == Ok(case)) {
            let value = |column| row.number(column);
            let slab = Slab { permeability: value("K_m2")?, form_coefficient: value("C_F")?, thickness: value("L_m")? };
            let density = value("p1_Pa")? / (GAS.gas_constant * value("T_K")?);
            let velocity = value("v_m_s")?;
            let air = (value("p1_Pa")?, value("T_K")?);
            let (drop, exact) = measured(medium(&slab), &slab, air, density * velocity * AREA)?;
            all.push(Row::relative(format!("{case} at {velocity} m/s: drop [Pa]"), drop, exact, DROP));
            found.push((velocity, drop));
            expected.push((velocity, value("dp_compressible_Pa")?));
        }
        figure = figure.computed(case, found).reference(format!("table, {case}"), expected);
    }
    Ok(Findings::from(all).with(figure))
}

/// Drop [Pa] of a filter with these `keys` in air of a pressure [Pa] and a temperature [K], and that of the `slab` at the same flow.
fn measured(keys: String, slab: &Slab, air: (f64, f64), flow: f64) -> Result<(f64, f64), Failure> {
    let (pressure, temperature) = air;
    let [before, behind] = Bench { pressure, temperature, ..Bench::straight(0.15, keys, flow) }.measure()?;
    let exact = slab.isothermal_drop(GAS, before.total_pressure, before.total_temperature, before.mass_flow / AREA);
    Ok((before.total_pressure - behind.total_pressure, exact.unwrap_or(f64::NAN)))
}

/// Numbers as a list of the case file.
fn list(values: impl IntoIterator<Item = f64>) -> String {
    values.into_iter().map(|value| value.to_string()).collect::<Vec<_>>().join(" ")
}

/// Drop [Pa] of the slab on the bench at a mass flow [kg/s].
fn bench_drop(flow: f64) -> f64 {
    SLAB.isothermal_drop(GAS, BENCH.0, BENCH.1, flow / AREA).unwrap_or(f64::NAN)
}

fn curve() -> Result<Findings, Failure> {
    let keys = format!(
        "kind: filter, media_area: {AREA} m2, curve: {{flow: {} kg/s, drop: {} Pa, at: [{} K, {} Pa]}}",
        list(FLOWS),
        list(FLOWS.map(bench_drop)),
        BENCH.1,
        BENCH.0
    );
    let airs = [
        ("on the bench", BENCH),
        ("at -20 degC", (BENCH.0, 253.15)),
        ("at 60 degC", (BENCH.0, 333.15)),
        ("at 80 kPa", (8e4, BENCH.1)),
    ];
    let mut all = Vec::new();
    let mut figure = Figure::new("Filter by its measured curve", "mass flow [kg/s]", "pressure drop [Pa]");
    for (name, air) in airs {
        let measure = |flow: f64| Ok((flow, measured(keys.clone(), &SLAB, air, flow)?));
        let flows = [0.003, 0.009, 0.015, 0.021, 0.027];
        let points: Vec<(f64, (f64, f64))> = flows.into_par_iter().map(measure).collect::<Result<_, Failure>>()?;
        all.extend(
            points.iter().map(|&(flow, (drop, exact))| {
                Row::relative(format!("{name}, {flow} kg/s: drop [Pa]"), drop, exact, DROP)
            }),
        );
        figure = figure
            .computed(name, points.iter().map(|&(flow, (drop, _))| (flow, drop)))
            .reference(format!("law, {name}"), points.iter().map(|&(flow, (_, exact))| (flow, exact)));
    }
    Ok(Findings::from(all).with(figure))
}

fn states() -> Result<Findings, Failure> {
    const LIMIT: Limit =
        Limit { value: 5e-4, why: "drops of some tens of pascals change the density of the air behind" };
    const STANDARD: (f64, f64) = (100_000.0, 298.15);
    /// Viscous alone, then inertial alone.
    const MEDIA: [(&str, &str, Slab); 2] = [
        ("viscous", "factor_viscous", Slab { permeability: 1e-9, form_coefficient: 0.0, thickness: 0.002 }),
        ("inertial", "factor_inertial", Slab { permeability: 1e-2, form_coefficient: 1e3, thickness: 0.01 }),
    ];
    let drop = |slab: &Slab, air| measured(medium(slab), slab, air, 0.012).map(|pair| pair.0);
    // At the same corrected flow the mass flow goes with the pressure and the root of temperature, which the bench takes out.
    let mut all = Vec::new();
    let mut figure =
        Figure::new("Filter drop in another state", "density [kg/m3]", "drop at 25 degC and 100 kPa / drop");
    for (name, column, slab) in MEDIA {
        let standard = drop(&slab, STANDARD)?;
        let (mut found, mut expected) = (Vec::new(), Vec::new());
        for row in data::rows(data::STANDARD_STATE)? {
            let (temperature, pressure) = (row.number("T_K")?, row.number("p_Pa")?);
            let factor = standard / drop(&slab, (pressure, temperature))?;
            let quantity = format!("{name} part at {temperature} K and {pressure} Pa: factor to the standard state");
            all.push(Row::relative(quantity, factor, row.number(column)?, LIMIT));
            found.push((row.number("rho")?, factor));
            expected.push((row.number("rho")?, row.number(column)?));
        }
        figure = figure.computed(name, found).reference(format!("table, {name}"), expected);
    }
    Ok(Findings::from(all).with(figure))
}

fn pleats() -> Result<Findings, Failure> {
    // 50 pleats of 10 mm by 20 mm: 200 cm2, the area of the other checks.
    let keys = format!(
        "kind: filter, pleats: {{count: 50, depth: 10 mm, height: 20 mm}}, medium: {{permeability: {} m2, thickness: {} m, \
         inertial_coefficient: {}}}",
        SLAB.permeability, SLAB.thickness, SLAB.form_coefficient
    );
    let (drop, exact) = measured(keys, &SLAB, BENCH, 0.015)?;
    let density = BENCH.0 / (GAS.gas_constant * BENCH.1);
    let by_volume = format!(
        "kind: filter, media_area: {AREA} m2, curve: {{volume_flow: {} m3/s, drop: {} Pa, at: [{} K, {} Pa]}}",
        list(FLOWS.map(|flow| flow / density)),
        list(FLOWS.map(bench_drop)),
        BENCH.1,
        BENCH.0
    );
    let (drop_by_volume, exact_by_volume) = measured(by_volume, &SLAB, BENCH, 0.015)?;
    Ok(Findings::from(vec![
        Row::relative("50 pleats of 10 x 20 mm: drop [Pa]", drop, exact, DROP),
        Row::relative("curve over volume flow: drop [Pa]", drop_by_volume, exact_by_volume, DROP),
    ]))
}

fn dust() -> Result<Findings, Failure> {
    const LIMIT: Limit =
        Limit { value: 1e-3, why: "drops of some tens of pascals change the density of the air behind" };
    const VISCOUS: Slab = Slab { permeability: 1e-9, form_coefficient: 0.0, thickness: 0.002 };
    let drop = |load: f64| {
        let keys = format!("{}, dust: {{load: {load}, growth: 3}}", medium(&VISCOUS));
        Ok::<_, Failure>(measured(keys, &VISCOUS, BENCH, 0.004)?.0)
    };
    let clean = drop(0.0)?;
    let measure = |load: f64| Ok((load, drop(load)? / clean));
    let points: Vec<(f64, f64)> =
        [0.25, 0.5, 1.0, 1.5, 2.0].into_par_iter().map(measure).collect::<Result<_, Failure>>()?;
    let law = |load: f64| libm::pow(3.0, load);
    let row =
        |&(load, rise): &(f64, f64)| Row::relative(format!("load {load}: drop over clean"), rise, law(load), LIMIT);
    let figure =
        Figure::new("Filter with dust", "dust / dust at which the viscous drop has tripled", "drop / clean drop")
            .computed("marched network", points.clone())
            .reference("3 to the power of load", points.iter().map(|&(load, _)| (load, law(load))));
    Ok(Findings::from(points.iter().map(row).collect::<Vec<_>>()).with(figure))
}

fn blocked() -> Result<Findings, Failure> {
    const ASKED: f64 = 0.1;
    let measure = |permeability: f64| {
        let slab = Slab { permeability, ..SLAB };
        let [before, behind] = Bench::straight(0.15, medium(&slab), ASKED).measure()?;
        let drop = slab.isothermal_drop(GAS, before.total_pressure, before.total_temperature, before.mass_flow / AREA);
        // What the draw takes follows from what is left before it.
        let left = (before.total_pressure - drop.unwrap_or(f64::NAN)) / 1e5;
        Ok((permeability, behind.mass_flow, ASKED * left))
    };
    const LIMIT: Limit = Limit {
        value: 5e-3,
        why: "the air speeds up inside the medium, which the part's law leaves out; here \
                                                    up to nine tenths of the pressure are lost",
    };
    let media = [1e-8, 1e-9, 1e-10, 1e-11, 1e-12, 1e-13];
    let points: Vec<(f64, f64, f64)> = media.into_par_iter().map(measure).collect::<Result<_, Failure>>()?;
    let row = |&(permeability, found, expected): &(f64, f64, f64)| {
        Row::absolute(
            format!("permeability {permeability:e} m2: flow over that asked"),
            found / ASKED,
            expected / ASKED,
            LIMIT,
        )
    };
    let figure = Figure::new("Filter up to blocked", "permeability [m2]", "flow / flow asked")
        .logarithmic(true, true)
        .computed("marched network", points.iter().map(|point| (point.0, point.1 / ASKED)))
        .reference("isothermal law", points.iter().map(|point| (point.0, point.2 / ASKED)));
    Ok(Findings::from(points.iter().map(row).collect::<Vec<_>>()).with(figure))
}
