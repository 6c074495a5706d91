//! How a case is run.

use crate::fields::Fields;

/// How a case is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunPlan {
    /// Which march.
    pub march: March,
    /// When it ends.
    pub until: Until,
    /// Length of a cell [m], where a duct asks for no other.
    pub cell: f64,
    /// Simulated time between two rows of the result [s].
    pub record_every: f64,
    /// Last stretch of the run over which means and ledgers are formed [s]; the last half when absent.
    pub average_over: Option<f64>,
    /// Courant number of the acoustic march.
    pub courant: f64,
    /// Slope limiter.
    pub limiter: Limiter,
    /// Flux between cells.
    pub riemann: RiemannSolver,
    /// Predictor of the face states.
    pub predictor: Predictor,
}

/// The ways to go through time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum March {
    /// Explicit; resolves waves.
    Acoustic,
    /// Implicit; resolves walls, bays and warming.
    Slow,
    /// The state that no longer changes.
    Steady,
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

/// Slope limiter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limiter {
    /// Smooth: Newton's method converges on it.
    VanAlbada,
    /// Harmonic mean.
    VanLeer,
    /// Sharpest on shocks.
    MonotonisedCentral,
    /// Most diffusive.
    Minmod,
    /// Central slopes, for tests of order.
    None,
}

/// Flux between cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RiemannSolver {
    /// Three waves.
    Hllc,
    /// Two waves.
    Hll,
    /// One speed.
    Rusanov,
}

/// Predictor of the face states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Predictor {
    /// None: Runge-Kutta stages.
    None,
    /// Hancock's half step.
    Hancock,
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
            march: March::Acoustic,
            until: Until::Settled { below: SETTLED_BELOW, at_most: LONGEST_WAIT },
            cell: CELL,
            record_every: RECORD_EVERY,
            average_over: None,
            courant: COURANT,
            limiter: Limiter::VanAlbada,
            riemann: RiemannSolver::Hllc,
            predictor: Predictor::None,
        }
    }
}

impl RunPlan {
    pub(super) fn read(fields: &Fields<'_>) -> Option<Self> {
        let plan = Self {
            march: match fields.word("march") {
                Some("slow") => March::Slow,
                Some("steady") => March::Steady,
                _ => March::Acoustic,
            },
            until: read_until(fields)?,
            cell: fields.si_or("cell", CELL),
            record_every: fields.si_or("record_every", RECORD_EVERY),
            average_over: fields.si("average_over"),
            courant: fields.si_or("courant", COURANT),
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
            predictor: match fields.word("predictor") {
                Some("hancock") => Predictor::Hancock,
                _ => Predictor::None,
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
