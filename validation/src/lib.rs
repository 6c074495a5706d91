//! What Tractwright is checked against: exact solutions and published data.
//!
//! [`oracle`] holds the solutions, [`data`] the tables, [`checks`] what is compared, [`check`] how. [`case_text`] writes the cases with
//! which the solver is driven from outside, [`marched`] runs them and reads what they leave; [`bench`], [`bench_pipe`], [`shock_tube`] and
//! [`sound`] are set-ups that several checks share, [`coupe`] runs the demo car, [`random_tract`] draws tracts of any kind ([`drawing`]).
//! [`page`] writes what came out, [`tally`] counts it, [`shown`] writes its numbers. None of the solver's formulas is used to say what is
//! right.
//!
//! A new check is an entry in its group's `GROUP`, a new group one file, one line in [`checks::GROUPS`] and one word in the list of tests
//! below it.
#![deny(missing_docs)]

pub mod bench;
pub mod bench_pipe;
pub mod case_text;
pub mod check;
pub mod checks;
pub mod coupe;
pub mod data;
pub mod dice;
pub mod drawing;
pub mod figure;
pub mod marched;
pub mod oracle;
pub mod page;
pub mod random_tract;
pub mod refinement;
pub mod ring;
pub mod shock_tube;
pub mod shown;
pub mod sound;
pub mod tally;
pub mod time_series;
