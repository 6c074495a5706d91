//! How a case is run.

use crate::fields::Fields;
use crate::flow::{Limiter, Predictor, RiemannSolver, Scheme};

/// How a case is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunPlan {
    /// When it ends.
    pub until: Until,
    /// Length of a cell [m], where a duct asks for no other.
    pub cell: f64,
    /// Simulated time between two rows of the result [s].
    pub record_every: f64,
    /// Last stretch of the run over which means and ledgers are formed [s].
    pub average_over: Option<f64>,
    /// Courant number of the acoustic march.
    pub courant: f64,
    /// Limiter, Riemann solver and predictor.
    pub scheme: Scheme,
}

/// The end of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// At this time [s].
    Time(f64),
    /// When flow and recovery ring no more.
    Settled {
        /// Relative ringing that is allowed.
        below: f64,
        /// Longest wait [s].
        at_most: f64,
    },
}

/// Relative ringing that counts as settled.
const SETTLED_BELOW: f64 = 1e-4;
/// Longest wait for `settled` [s]: some hundred periods of the slowest resonance of a tract with a box, about 20 Hz.
const LONGEST_WAIT: f64 = 5.0;
/// Length of a cell [m].
const CELL: f64 = 0.01;
/// Time between two rows [s].
const RECORD_EVERY: f64 = 1e-3;
/// Courant number.
const COURANT: f64 = 0.8;

impl Default for RunPlan {
    fn default() -> Self {
        Self {
            until: Until::Settled { below: SETTLED_BELOW, at_most: LONGEST_WAIT },
            cell: CELL,
            record_every: RECORD_EVERY,
            average_over: None,
            courant: COURANT,
            scheme: Scheme::default(),
        }
    }
}

impl RunPlan {
    pub(super) fn read(fields: &Fields<'_>) -> Option<Self> {
        let plan = Self {
            until: read_until(fields)?,
            cell: fields.si_or("cell", CELL),
            record_every: fields.si_or("record_every", RECORD_EVERY),
            average_over: fields.si("average_over"),
            courant: fields.si_or("courant", COURANT),
            scheme: Scheme {
                limiter: match fields.word("limiter") {
                    Some("van_leer") => Limiter::VanLeer,
                    Some("monotonised_central") => Limiter::MonotonisedCentral,
                    Some("minmod") => Limiter::Minmod,
                    Some("none") => Limiter::None,
                    _ => Limiter::VanAlbada,
                },
                riemann: match fields.word("riemann") {
                    Some("hll") => RiemannSolver::Hll,
                    Some("rusanov") => RiemannSolver::Rusanov,
                    _ => RiemannSolver::Hllc,
                },
                march: match fields.word("predictor") {
                    Some("hancock") => Predictor::Hancock,
                    _ => Predictor::None,
                },
            },
        };
        if let (Until::Time(end), Some(stretch)) = (plan.until, plan.average_over)
            && stretch > end
        {
            fields.problem("average_over", format!("{stretch} s of a run of {end} s"), "at most the whole run");
            return None;
        }
        Some(plan)
    }
}

fn read_until(fields: &Fields<'_>) -> Option<Until> {
    if let Some(end) = fields.si("until") {
        for key in ["settled_below", "at_most"] {
            if fields.has(key) {
                fields.problem(key, format!("`{key}` of a run until {end} s"), "`until: settled` beside it");
                return None;
            }
        }
        return Some(Until::Time(end));
    }
    let below = fields.si("settled_below").unwrap_or(SETTLED_BELOW);
    Some(Until::Settled { below, at_most: fields.si("at_most").unwrap_or(LONGEST_WAIT) })
}
