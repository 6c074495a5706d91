//! How far what is measured scatters: what layouts differ by less than, nobody can tell. Common practice, no source, where nothing else is said.

/// Standard deviation of the power of one pull on a dyno, over it.
pub(crate) const PULL: f64 = 0.01;
/// Standard deviation of the time of a roll-on or of a response [s].
pub(crate) const TIME: f64 = 0.1;
/// Recovery that goes with such a pull.
pub(crate) const RECOVERY: f64 = PULL;
/// What a thermocouple of type K, class 1, may be off [K]. IEC 60584-1; from memory.
pub(crate) const THERMOCOUPLE: f64 = 1.5;
