//! Derivatives of cases, and how differences between layouts spread.

mod levers;
mod linear;
mod pulls;

use crate::check::{Check, Group};

/// Checks of levers and spreads.
pub const GROUP: Group = Group {
    name: "spread",
    about: "derivatives of steady states, differences between layouts over their inputs, pulls that show them",
    checks: &[
        Check {
            name: "levers",
            about: "what area, open share, flow and outside air do to the pressure behind a wire mesh",
            source: "Idelchik, 3rd ed. (1994), diagram 8-6, differentiated",
            run: levers::mesh,
        },
        Check {
            name: "paired_samples",
            about: "the difference of two draws, one of which spreads normally; the same path twice; identical layouts",
            source: "quantiles of the normal distribution, Abramowitz and Stegun 26.2",
            run: linear::samples,
        },
        Check {
            name: "sets_of_pulls",
            about: "power of the two-sided test with the number of sets A-B-A that is told, and with one fewer",
            source: "power of a test with known scatter, Montgomery, Design and Analysis of Experiments, chapter 2 (from memory)",
            run: pulls::power,
        },
    ],
};
