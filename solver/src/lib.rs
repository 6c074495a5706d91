//! Unsteady one-dimensional gas dynamics of an engine's inlet tract.
//!
//! The modules stand in the order in which they use each other: each uses only those above it.
#![deny(missing_docs)]

pub mod error;
pub mod suggest;
pub mod quantity;
pub mod yaml;
pub mod fields;
pub mod gas;
pub mod flow;
pub mod loss;
pub mod heat;
pub mod powertrain;
pub mod part;
pub mod joint;
pub mod network;
pub mod ledger;
pub mod march;
pub mod record;
pub mod case;
pub mod run;
pub mod measured;
pub mod study;
