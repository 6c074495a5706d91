//! The gas: properties of air and the isentropic relations.

use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data::{self, DataError};
use crate::figure::Figure;
use crate::oracle::orifice::Opening;
use crate::oracle::perfect_gas::PerfectGas;
use tractwright::gas::Gas;

/// Checks of the gas.
pub const GROUP: Group = Group {
    name: "gas",
    about: "properties of air and isentropic relations",
    checks: &[
        Check {
            name: "viscosity",
            about: "Sutherland's law against the standard's formula and against a wide-range equation of state",
            source: "US Standard Atmosphere 1976, eq. 51; Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21",
            run: viscosity,
        },
        Check {
            name: "sound_speed",
            about: "speed of sound of dry air against a wide-range equation of state",
            source: "Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331",
            run: sound_speed,
        },
        Check {
            name: "humid_air",
            about: "gas constant of humid air, as density",
            source: "Buck 1996; Picard et al., Metrologia 45 (2008) 149; ASHRAE RP-1485",
            run: humid_air,
        },
        Check {
            name: "isentropic",
            about: "total pressure of a moving stream",
            source: "NACA Report 1135 (1953), eq. 44",
            run: isentropic,
        },
        Check {
            name: "flow_function",
            about: "the section that passes a given flow, up to choking",
            source: "Heywood (1988), appendix C",
            run: flow_function,
        },
    ],
};

/// The formula itself, to the digits of the table.
const FORMULA: Limit = Limit { value: 1e-7, why: "the same closed formula; the table has 8 digits" };

/// Pairs of computed and reference value, one a row of the table.
fn pairs(
    table: &[data::Row],
    pair: impl Fn(&data::Row) -> Result<(f64, f64), DataError>,
) -> Result<Vec<(f64, f64)>, DataError> {
    table.iter().map(pair).collect()
}

/// Picture of a computed quantity over a column, beside a column that is known.
fn over(figure: Figure, table: &[data::Row], across: &str, pairs: &[(f64, f64)]) -> Result<Figure, DataError> {
    let across: Vec<_> = table.iter().map(|row| row.number(across)).collect::<Result<_, _>>()?;
    let points = |of: fn(&(f64, f64)) -> f64| across.iter().copied().zip(pairs.iter().map(of)).collect::<Vec<_>>();
    Ok(figure.computed("computed", points(|pair| pair.0)).reference("table", points(|pair| pair.1)))
}

/// The rows of the table of air properties up to a temperature [K].
fn air_properties(highest_temperature: f64) -> Result<Vec<data::Row>, DataError> {
    let mut table = data::rows(data::AIR_PROPERTIES)?;
    table.retain(|row| row.number("T_K").is_ok_and(|temperature| temperature <= highest_temperature));
    Ok(table)
}

fn viscosity() -> Result<Findings, Failure> {
    const NATURE: Limit = Limit { value: 5.6e-3, why: "what the law itself is off between 223 and 333 K" };
    let gas = Gas::dry_air();
    let pair = |column| move |row: &data::Row| Ok((gas.viscosity(row.number("T_K")?), row.number(column)?));
    let formula = pairs(&air_properties(f64::INFINITY)?, pair("mu_sutherland_Pa_s"))?;
    let nature = pairs(&air_properties(333.15)?, pair("mu_coolprop_Pa_s"))?;
    let figure = Figure::new("Viscosity of air against an equation of state", "temperature [K]", "viscosity [Pa s]");
    let figure = over(figure, &air_properties(333.15)?, "T_K", &nature)?;
    Ok(Findings::from(vec![
        Row::worst("viscosity, formula [Pa s]", formula, FORMULA),
        Row::worst("viscosity, equation of state [Pa s]", nature, NATURE),
    ])
    .with(figure))
}

fn sound_speed() -> Result<Findings, Failure> {
    const NATURE: Limit = Limit { value: 4e-4, why: "constant gamma of 1.4 below 343 K" };
    let gas = Gas::dry_air();
    let pair = |column| move |row: &data::Row| Ok((gas.sound_speed(row.number("T_K")?), row.number(column)?));
    let formula = pairs(&air_properties(f64::INFINITY)?, pair("a_ideal_m_s"))?;
    let nature = pairs(&air_properties(343.15)?, pair("a_coolprop_m_s"))?;
    let figure = Figure::new("Speed of sound against an equation of state", "temperature [K]", "speed of sound [m/s]");
    let figure = over(figure, &air_properties(343.15)?, "T_K", &nature)?;
    Ok(Findings::from(vec![
        Row::worst("speed of sound, formula [m/s]", formula, FORMULA),
        Row::worst("speed of sound, equation of state [m/s]", nature, NATURE),
    ])
    .with(figure))
}

fn humid_air() -> Result<Findings, Failure> {
    const NATURE: Limit = Limit { value: 7e-4, why: "no compressibility factor in an ideal mixture" };
    let table = data::rows(data::HUMID_AIR)?;
    let pair = |column| {
        move |row: &data::Row| {
            let (pressure, temperature) = (row.number("p_Pa")?, row.number("t_C")? + 273.15);
            let gas = Gas::moist_air(pressure, temperature, row.number("RH")?);
            Ok((pressure / (gas.gas_constant * temperature), row.number(column)?))
        }
    };
    let metrology = pairs(&table, pair("rho_cipm2007"))?;
    let figure =
        Figure::new("Density of humid air, one dot a state", "density of CIPM 2007 [kg/m3]", "density [kg/m3]")
            .computed("computed", metrology.iter().map(|(found, known)| (*known, *found)))
            .reference("the same", metrology.iter().map(|(_, known)| (*known, *known)));
    Ok(Findings::from(vec![
        Row::worst("density, formula [kg/m3]", pairs(&table, pair("rho_simple"))?, FORMULA),
        Row::worst("density, CIPM 2007 [kg/m3]", metrology, NATURE),
        Row::worst("density, equation of state [kg/m3]", pairs(&table, pair("rho_coolprop"))?, NATURE),
    ])
    .with(figure))
}

fn isentropic() -> Result<Findings, Failure> {
    const ARITHMETIC: Limit = Limit { value: 1e-10, why: "the same closed formula; the table has 12 digits" };
    const TEMPERATURE: f64 = 300.0;
    let gas = Gas::new(1.4, 287.05);
    let table = data::rows(data::ISENTROPIC)?;
    let total_pressure = pairs(&table, |row| {
        let speed = row.number("M")? * gas.sound_speed(TEMPERATURE);
        Ok((gas.total_pressure(1e5, TEMPERATURE, speed), 1e5 / row.number("p_p0")?))
    })?;
    let figure = Figure::new("Total pressure at 1 bar", "Mach number", "total pressure [Pa]").logarithmic(false, true);
    let figure = over(figure, &table, "M", &total_pressure)?;
    Ok(Findings::from(vec![
        Row::worst("total pressure [Pa]", total_pressure, ARITHMETIC),
        Row::relative("flow function at Mach one", gas.choking_flow_function(), 0.684_731_456, FORMULA),
    ])
    .with(figure))
}

fn flow_function() -> Result<Findings, Failure> {
    const ARITHMETIC: Limit = Limit { value: 1e-8, why: "the same relation, solved the other way round" };
    const AREA: f64 = 1e-3;
    let gas = Gas::new(1.4, 287.05);
    let opening =
        Opening { gas: PerfectGas::AIR, effective_area: AREA, total_pressure: 101_325.0, total_temperature: 293.15 };
    let back_pressure = |ratio: f64| ratio * opening.total_pressure;
    let from_total = |ratio: f64| {
        let mass_flow = opening.mass_flow(back_pressure(ratio));
        gas.section_at_total(mass_flow, opening.total_temperature, AREA, opening.total_pressure).pressure
    };
    let from_static = |ratio: f64| {
        let mass_flow = opening.mass_flow(back_pressure(ratio));
        gas.section_at_static(mass_flow, opening.total_temperature, AREA, back_pressure(ratio)).total_pressure
    };
    // Close to choking the pressure goes with the square root of the flow that is left, so the last ratio stays clear of it.
    let ratios = [0.999_999, 0.999, 0.99, 0.95, 0.9, 0.8, 0.7, 0.6, 0.55];
    let falls = ratios.map(|ratio| (from_total(ratio), back_pressure(ratio)));
    let rises = ratios.map(|ratio| (from_static(ratio), opening.total_pressure));
    let figure = Figure::new("Pressure in a section that passes a flow", "mass flow [kg/s]", "static pressure [Pa]")
        .computed(
            "solved",
            falls.iter().zip(ratios).map(|((found, _), ratio)| (opening.mass_flow(back_pressure(ratio)), *found)),
        )
        .reference("isentropic", ratios.map(|ratio| (opening.mass_flow(back_pressure(ratio)), back_pressure(ratio))));
    Ok(Findings::from(vec![
        Row::worst("static pressure from total [Pa]", falls, ARITHMETIC),
        Row::worst("total pressure from static [Pa]", rises, ARITHMETIC),
    ])
    .with(figure))
}
