//! What the car does at a point.

use crate::fields::Fields;

/// Time of a pull [s]; common practice, no source.
const PULL_TIME: f64 = 10.0;
/// Time for which a throttle step is watched [s].
const STEP_TIME: f64 = 5.0;

/// What the car does at a point.
#[derive(Debug, Clone, PartialEq)]
pub enum Task {
    /// It stays as it is.
    Hold,
    /// A dyno pull.
    Pull {
        /// Crank turns a second at its end [Hz].
        to: f64,
        /// Their rise [Hz/s].
        rate: f64,
    },
    /// The throttle opens from one position to another at a held crank speed.
    Step {
        /// Throttle before it.
        from: f64,
        /// Time for which it is watched [s].
        time: f64,
    },
    /// A roll-on.
    RollOn {
        /// Road speed at its start [m/s].
        from: f64,
        /// Road speed at its end [m/s].
        to: f64,
        /// Gear at its start, counted from one; zero where the driver chooses.
        gear: usize,
    },
}

impl Task {
    /// What the keys of a point say of it.
    pub(super) fn read(fields: &Fields<'_>) -> Option<Self> {
        if let Some(pull) = fields.map("pull") {
            let (from, to, time) = (fields.si("engine_speed"), pull.si("to")?, pull.si_or("in", PULL_TIME));
            let Some(from) = from.filter(|from| *from < to) else {
                pull.problem(
                    "to",
                    "a pull without an `engine_speed` below its end",
                    "`engine_speed: 2000 rpm` beside `pull: {to: 7000 rpm}`",
                );
                return None;
            };
            return Some(Self::Pull { to, rate: (to - from) / time });
        }
        if let Some(step) = fields.map("throttle_step") {
            return Some(Self::Step { from: step.si("from")?, time: step.si_or("watched", STEP_TIME) });
        }
        if let Some(roll_on) = fields.map("roll_on") {
            let (from, to) = (roll_on.si("from")?, roll_on.si("to")?);
            if from >= to {
                roll_on.problem("to", "a speed not above `from`", "a speed above it");
                return None;
            }
            return Some(Self::RollOn { from, to, gear: roll_on.count("gear").unwrap_or(0) });
        }
        Some(Self::Hold)
    }
}
