//! Laws of the powertrain: compressor, turbine, engine, dyno corrections, vehicle.

mod inlet_change;
mod road;
mod tables;

use crate::check::{Check, Group, Limit, rows_only};

const FORMULA: Limit = Limit { value: 1e-8, why: "the same closed formula; the table has nine digits" };

/// Checks of the powertrain's laws.
pub const GROUP: Group = Group {
    name: "power",
    about: "work of compressors and turbines, what an inlet's pressure and temperature are worth, engines, dyno corrections, vehicles",
    checks: &[
        Check {
            name: "compressor_work",
            about: "outlet temperature, power and corrected flow of compressors",
            source: "Saravanamuttoo et al., Gas Turbine Theory, 6th ed., chapter 2; air by Lemmon et al. (2000)",
            run: || rows_only(tables::compressors()),
        },
        Check {
            name: "turbine_work",
            about: "work of a turbine with the burnt gas of a rich petrol mixture",
            source: "gas of constant composition by Heywood (1988), section 4.9, its heat capacities by GRI-Mech 3.0 in Cantera",
            run: || rows_only(tables::turbines()),
        },
        Check {
            name: "inlet_change",
            about: "what 1 kPa, 5 kPa and 10 K before the compressor cost at constant charge pressure",
            source: "a balance by hand from the inputs it states, printed to two or three digits",
            run: || rows_only(inlet_change::rows()),
        },
        Check {
            name: "speed_density",
            about: "air, fuel and power of four engines",
            source: "Heywood, Internal Combustion Engine Fundamentals (1988), chapter 2",
            run: || rows_only(tables::engines()),
        },
        Check {
            name: "dyno_corrections",
            about: "factors of three standards, and the dry pressure they ask for",
            source: "SAE J1349 JUN90 and AUG2004; ISO 1585:1992; vapour by Buck (1996)",
            run: || rows_only(tables::corrections()),
        },
        Check {
            name: "acceleration",
            about: "time and way of a vehicle from 60 to 130 mph at constant power",
            source: "Gillespie, Fundamentals of Vehicle Dynamics (1992), chapters 2 and 4",
            run: || rows_only(road::rows()),
        },
    ],
};
