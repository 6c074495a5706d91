//! What Tractwright is checked against: exact solutions and published data.
//!
//! [`oracle`] holds the solutions, [`data`] the tables, [`checks`] what is compared, [`check`] how. The solver is driven from outside,
//! through case files; none of its formulas is used to say what is right.
#![deny(missing_docs)]

pub mod bench;
pub mod case_text;
pub mod check;
pub mod checks;
pub mod data;
pub mod dice;
pub mod marched;
pub mod oracle;
pub mod shock_tube;
pub mod time_series;
