//! The ledgers: where total pressure is lost and what warms the air, branch by branch.

/// Group of a result file that holds the integrals: no part may have this name.
pub const GROUP: &str = "ledger";

mod branch;
mod integrals;
mod metered;
mod summary;

pub use integrals::{Integrals, Places, WALL_HEAT};
pub use summary::{
    BranchSummary, CauseItem, HeatItem, LossItem, MeterSummary, OriginShare, Readings, Summary, Totals, Window,
};
