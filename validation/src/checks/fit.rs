//! Least squares: values, errors and bounds.

mod bounded;
mod curve;
mod recovered;
mod regression;

use crate::check::{Check, Group};

/// Checks of fits.
pub const GROUP: Group = Group {
    name: "fit",
    about: "least squares with bounds and priors: values, standard errors and what remains",
    checks: &[
        Check {
            name: "regression",
            about: "values, their standard errors and the deviation of the residuals, from both published starts of each problem",
            source: "NIST, Information Technology Laboratory, Statistical Reference Datasets, nonlinear regression, certified to 11 \
                     digits; files as in the package lmfit 1.3.4",
            run: regression::run,
        },
        Check {
            name: "bounded_fit",
            about: "the same where a bound is met or priors count: values, standard errors, correlations",
            source: "scipy.optimize.least_squares on the same residuals (validation/data/bounded_fits.py)",
            run: bounded::run,
        },
        Check {
            name: "recovered",
            about: "two discharge coefficients of a small tract from its own readings with normal noise, 200 times",
            source: "binomial and chi-square distribution",
            run: recovered::run,
        },
    ],
};
