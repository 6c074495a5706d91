//! How a case is run.

use crate::fields::Fields;
use crate::flow::{Limiter, Predictor, RiemannSolver, Scheme};
use crate::march::March;

/// How a case is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunPlan {
    /// Which march.
    pub march: March,
    /// What it starts from; where `initial` stands, from that.
    pub start: Start,
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

/// What a run starts from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// The steady state of its first instant.
    Steady,
    /// Rest, or what `initial` says.
    Rest,
}

/// The end of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// At this time [s].
    Time(f64),
    /// With the steady state.
    Steady,
    /// When flow and recovery ring no more.
    Settled {
        /// Relative ringing that is allowed.
        below: f64,
        /// Longest wait [s].
        at_most: f64,
    },
}

/// Relative ringing that counts as settled.
pub(crate) const SETTLED_BELOW: f64 = 1e-4;
/// Longest wait for `settled` [s]: some hundred periods of the slowest resonance of a tract with a box, about 20 Hz.
pub(crate) const LONGEST_WAIT: f64 = 5.0;
/// Length of a cell [m].
const CELL: f64 = 0.01;
/// Time between two rows [s].
pub(crate) const RECORD_EVERY: f64 = 1e-3;
/// The same for the slow march.
const RECORD_EVERY_SLOW: f64 = 1.0;
/// Courant number.
const COURANT: f64 = 0.8;

impl Default for RunPlan {
    fn default() -> Self {
        Self {
            march: March::Acoustic,
            start: Start::Steady,
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
        let until = read_until(fields)?;
        let march = read_march(fields, until)?;
        let record_every = if march == March::Slow { RECORD_EVERY_SLOW } else { RECORD_EVERY };
        let plan = Self {
            march,
            start: match fields.word("start") {
                Some("rest") => Start::Rest,
                _ => Start::Steady,
            },
            until,
            cell: fields.si_or("cell", CELL),
            record_every: fields.si_or("record_every", record_every),
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

/// The march that the case names, or the one that fits its end.
fn read_march(fields: &Fields<'_>, until: Until) -> Option<March> {
    let steady = until == Until::Steady;
    match fields.word("march") {
        Some("slow") if matches!(until, Until::Settled { .. }) => {
            fields.problem("until", "the slow march, in which nothing rings, until it settles", "`steady`, or a time");
            None
        }
        Some("slow") => Some(March::Slow),
        Some(_) if steady => {
            fields.problem("march", "`acoustic` beside `until: steady`", "`slow`, which finds the steady state");
            None
        }
        _ => Some(if steady { March::Slow } else { March::Acoustic }),
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
    if fields.word("until") == Some("steady") || !fields.has("until") && fields.word("march") == Some("slow") {
        return Some(Until::Steady);
    }
    let below = fields.si("settled_below").unwrap_or(SETTLED_BELOW);
    Some(Until::Settled { below, at_most: fields.si("at_most").unwrap_or(LONGEST_WAIT) })
}
