//! Published and independently computed reference values, compiled in, each table with its sources in its first lines.

/// Exact star states of one-dimensional Riemann problems.
pub const STAR_STATES: &str = include_str!("../data/toro_star_states.csv");
/// Points of exact Riemann solutions.
pub const RIEMANN_PROFILES: &str = include_str!("../data/riemann_profiles.csv");
/// What a plain second-order scheme reaches on Riemann problems.
pub const RIEMANN_ERRORS: &str = include_str!("../data/riemann_l1_errors.csv");
/// Cell means of a shock that runs into waves of entropy.
pub const SHOCK_AND_WAVES: &str = include_str!("../data/shu_osher_reference.csv");
/// Cell means of two blasts that collide between walls.
pub const COLLIDING_BLASTS: &str = include_str!("../data/blast_reference.csv");
/// Exact rates at which shocks make entropy.
pub const ENTROPY_PRODUCTION: &str = include_str!("../data/entropy_production.csv");
/// Nodes that warm and cool in a bay.
pub const SOAK_NODES: &str = include_str!("../data/soak_nodes.csv");
/// Observations of reference problems of nonlinear regression.
pub const REGRESSION_POINTS: &str = include_str!("../data/strd_points.csv");
/// Their starts, certified values and standard errors.
pub const REGRESSION_VALUES: &str = include_str!("../data/strd_values.csv");
/// Fits of some of them with bounds and priors.
pub const BOUNDED_FITS: &str = include_str!("../data/bounded_fits.csv");
/// Explosions of a cylinder and of a sphere.
pub const EXPLOSIONS: &str = include_str!("../data/explosions.csv");
/// Shocks that run through a change of area.
pub const SHOCK_AREA_CHANGE: &str = include_str!("../data/shock_area_change.csv");
/// Shocks that run into a junction.
pub const JUNCTION_WAVES: &str = include_str!("../data/junction_wave_cases.csv");
/// Isentropic flow over the Mach number.
pub const ISENTROPIC: &str = include_str!("../data/isentropic_area_mach.csv");
/// Normal shocks and their reflection from a wall.
pub const NORMAL_SHOCK: &str = include_str!("../data/normal_shock_reflection.csv");
/// Nozzles with a given exit pressure.
pub const NOZZLES: &str = include_str!("../data/nozzle_cases.csv");
/// Profiles of those nozzles.
pub const NOZZLE_PROFILES: &str = include_str!("../data/nozzle_profiles.csv");
/// Adiabatic flow with friction over the Mach number.
pub const FANNO: &str = include_str!("../data/fanno_table.csv");
/// Flow with heat and without friction over the Mach number.
pub const RAYLEIGH: &str = include_str!("../data/rayleigh_table.csv");
/// Pipes with friction between a reservoir and a back pressure.
pub const FANNO_PIPES: &str = include_str!("../data/fanno_pipe_cases.csv");
/// Pipes with area change, friction and heat at once.
pub const PIPE_FLOW: &str = include_str!("../data/generalized_1d_flow.csv");
/// Friction factors of pipes.
pub const FRICTION: &str = include_str!("../data/friction_factor.csv");
/// Nusselt numbers of turbulent pipe flow.
pub const NUSSELT: &str = include_str!("../data/nusselt_pipe.csv");
/// Air in pipes with hot walls.
pub const HEAT_PICKUP: &str = include_str!("../data/pipe_heat_pickup.csv");
/// Convection on plates and cylinders in still and in moving air.
pub const CONVECTION: &str = include_str!("../data/heat_convection_cases.csv");
/// Radiation between plates with shields between them.
pub const SHIELDS: &str = include_str!("../data/heat_radiation_cases.csv");
/// Resonance frequencies of pipes, cones and vessels.
pub const RESONANCES: &str = include_str!("../data/radiation_resonance_cases.csv");
/// Transmission loss of a chamber and of side branches.
pub const TRANSMISSION: &str = include_str!("../data/acoustics_transmission_loss.csv");
/// Reflection of sound from an open pipe end.
pub const OPEN_ENDS: &str = include_str!("../data/open_end_radiation.csv");
/// Ideal flow through a nozzle over its pressure ratio.
pub const NOZZLE_FLOW: &str = include_str!("../data/nozzle_flow_function.csv");
/// Discharge coefficient of orifice plates.
pub const PLATE_COEFFICIENTS: &str = include_str!("../data/iso5167_discharge_coefficient.csv");
/// Loss coefficients of junctions.
pub const JUNCTION_LOSSES: &str = include_str!("../data/junction_losses.csv");
/// Emptying and filling of a vessel.
pub const VESSELS: &str = include_str!("../data/plenum_cases.csv");
/// Expansibility of orifice plates and nozzles.
pub const EXPANSIBILITY: &str = include_str!("../data/iso5167_expansibility.csv");
/// Sudden expansions in compressible flow.
pub const SUDDEN_EXPANSION: &str = include_str!("../data/sudden_expansion_compressible.csv");
/// Pressure drop of porous slabs.
pub const POROUS_SLABS: &str = include_str!("../data/filter_darcy_forchheimer.csv");
/// Filter drops brought to a standard state.
pub const STANDARD_STATE: &str = include_str!("../data/iso5011_correction.csv");
/// Transport properties of dry air.
pub const AIR_PROPERTIES: &str = include_str!("../data/sutherland_air.csv");
/// Density of humid air.
pub const HUMID_AIR: &str = include_str!("../data/humid_air.csv");
/// Loss coefficients of fittings by several handbooks.
pub const LOSS_COEFFICIENTS: &str = include_str!("../data/loss_coefficients.csv");
/// Stagnation pressure of the air that a car meets.
pub const RAM_PRESSURE: &str = include_str!("../data/ram_pressure.csv");
/// Recovery of inlets over inner over free speed, from memory.
pub const INLET_RECOVERY: &str = include_str!("../data/inlet_recovery.csv");
/// Ideal flow at the depressions of a flow bench.
pub const FLOW_BENCH: &str = include_str!("../data/flowbench_cases.csv");
/// Outlet temperature and power of compressors.
pub const COMPRESSORS: &str = include_str!("../data/compressor_cases.csv");
/// Ideal work of burnt gas that expands.
pub const TURBINES: &str = include_str!("../data/turbine_work.csv");
/// Factors of dyno correction.
pub const DYNO_CORRECTIONS: &str = include_str!("../data/dyno_corrections.csv");
/// Air, fuel and power of engines by speed and density.
pub const ENGINES: &str = include_str!("../data/airflow_power_cases.csv");
/// Acceleration of vehicles at constant power.
pub const ACCELERATION: &str = include_str!("../data/vehicle_acceleration.csv");
/// Standard atmosphere over height.
pub const ATMOSPHERE: &str = include_str!("../data/std_atmosphere.csv");

/// Errors and orders of a plain second-order scheme on smooth flow.
pub const ORDERS: &str = include_str!("../data/order_of_accuracy.csv");
/// Errors on smooth waves for each limiter, flux and march.
pub const SCHEME_ERRORS: &str = include_str!("../data/scheme_errors.csv");
/// Points of a simple wave.
pub const SIMPLE_WAVE: &str = include_str!("../data/simple_wave.csv");
/// Fields and sources of a manufactured solution in a duct of varying area.
pub const MANUFACTURED: &str = include_str!("../data/mms_quasi1d.csv");

/// Why a table cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DataError {
    /// The text is not CSV.
    #[error("reference table: {0}")]
    Malformed(String),
    /// A column is missing.
    #[error("reference table: found no column `{0}`")]
    NoColumn(String),
    /// A value is not a number.
    #[error("reference table, column `{column}`: found `{found}`, expected a number")]
    NotANumber {
        /// The column.
        column: String,
        /// What stands there.
        found: String,
    },
    /// A row is missing.
    #[error("reference table: found no row `{0}`")]
    NoRow(String),
}

/// A row of a table.
#[derive(Debug, Clone)]
pub struct Row {
    names: csv::StringRecord,
    values: csv::StringRecord,
}

impl Row {
    /// Text in a column.
    ///
    /// # Errors
    /// When there is no such column.
    pub fn text(&self, column: &str) -> Result<&str, DataError> {
        let index = self.names.iter().position(|name| name == column);
        index.and_then(|index| self.values.get(index)).ok_or_else(|| DataError::NoColumn(column.to_owned()))
    }

    /// Number in a column, in the unit that its name or the head of the table gives.
    ///
    /// # Errors
    /// When there is no such column or no number in it.
    pub fn number(&self, column: &str) -> Result<f64, DataError> {
        let found = self.text(column)?;
        found.parse().map_err(|_| DataError::NotANumber { column: column.to_owned(), found: found.to_owned() })
    }
}

/// Rows of a table.
///
/// # Errors
/// When the table is not CSV.
pub fn rows(table: &str) -> Result<Vec<Row>, DataError> {
    let malformed = |error: csv::Error| DataError::Malformed(error.to_string());
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    let names = reader.headers().map_err(malformed)?.clone();
    reader.records().map(|values| Ok(Row { names: names.clone(), values: values.map_err(malformed)? })).collect()
}

/// The rows of one case of a table that has a column `case`.
///
/// # Errors
/// When the table is not CSV or has no such case.
pub fn case(table: &str, name: &str) -> Result<Vec<Row>, DataError> {
    let mut rows = rows(table)?;
    rows.retain(|row| row.text("case") == Ok(name));
    if rows.is_empty() { Err(DataError::NoRow(name.to_owned())) } else { Ok(rows) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_column_and_a_wrong_number_are_named() {
        let rows = rows("# source\ncase,x\na,one\n").unwrap();
        assert_eq!(rows[0].number("y"), Err(DataError::NoColumn("y".to_owned())));
        assert_eq!(
            rows[0].number("x").unwrap_err().to_string(),
            "reference table, column `x`: found `one`, expected a number"
        );
        assert!(case("case,x\na,1\n", "b").is_err());
    }
}
