//! The engine behind the tract: steady points, dyno pulls, roll-ons.

mod bands;
mod demo;
mod pull;
mod roll_on;
mod steady;

use crate::check::{Check, Group};

/// Checks of the engine and what it drives.
pub const GROUP: Group = Group {
    name: "engine",
    about: "a twin-turbo engine behind its tract: steady points, dyno pulls, roll-ons, what a restriction costs",
    checks: &[
        Check {
            name: "engine_steady",
            about: "compressor, charge, air, turbine, fuel and torque at steady points, from the state of the inlet and the manifolds",
            source: "Saravanamuttoo et al., chapter 2; Heywood (1988), chapters 2 and 13; Stodola (1927) and Watson and Janota (1982), from \
                     memory",
            run: steady::rows,
        },
        Check {
            name: "roll_on",
            about: "time of a roll-on through three shifts, from the power over road speed that the result tells",
            source: "quadrature; Gillespie, Fundamentals of Vehicle Dynamics (1992), chapters 2 and 4",
            run: roll_on::rows,
        },
        Check {
            name: "dyno_pull",
            about: "power of a slow dyno pull at the crank speeds of steady points, and how the difference falls with the rate",
            source: "the steady points; a lag in proportion to the rate",
            run: pull::rows,
        },
        Check {
            name: "restriction",
            about: "power and time that a soiled filter costs, where the charge is held and where it is not",
            source: "ORNL/TM-2009/021: 6 to 12 % more time at full throttle at 6 to 7 kPa; Energies 2022, 15, 3285: 1 to 1.5 % of power for \
                     each kPa; both of unboosted engines",
            run: bands::rows,
        },
    ],
};
