//! What breathes through the tract and what it drives: compressor, turbine, charge cooler, engine, vehicle, dyno corrections.
//!
//! Pure laws in SI units, continuous and with finite slopes, so that Newton can step through rest, choking and a pressure ratio of
//! one. Knows nothing of networks or of time.

mod monotone;
mod root;
pub mod compressor;
pub mod cooler;
pub mod turbine;
pub mod vehicle;
pub mod weather;
pub mod train;
pub mod work;
#[cfg(test)]
mod finite;

pub use compressor::{Compressor, Generic, MapFault, MapRow, Reference, SpeedLines, TableFault};
pub use cooler::{Cooler, CoolerFault};
pub use train::{
    Inlet, Load, MOST_TURBOS, OverSpeed, Powertrain, Regime, Shared, Standing, Surroundings, Turbo, TurboStanding,
};
pub use turbine::{ExhaustGas, Turbine, Wastegate};
pub use vehicle::{Road, Vehicle};
pub use weather::{Correction, Standard, Window};
pub use work::{ChargeSensitivity, Engine, Ports};
