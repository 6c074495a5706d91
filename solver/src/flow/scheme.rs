//! Choices of the numerical scheme.

/// Limiter of the slopes in the cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Limiter {
    /// Smooth everywhere, so that Newton's method converges on it: the default of both marches.
    #[default]
    VanAlbada,
    /// Van Leer's harmonic mean.
    VanLeer,
    /// Monotonised central difference: sharpest on shocks and contacts.
    MonotonisedCentral,
    /// The smaller slope: most diffusive.
    Minmod,
    /// Central slopes without a limiter: for tests of order on smooth flow.
    None,
}

/// Approximate Riemann solver of the faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RiemannSolver {
    /// Three waves: keeps contacts. The default.
    #[default]
    Hllc,
    /// Two waves: smears contacts; for tests.
    Hll,
    /// One speed: most diffusive; for tests.
    Rusanov,
}

/// Whether face states are carried to the middle of the step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Predictor {
    /// They are not: for Runge-Kutta stages and for steady solvers.
    #[default]
    None,
    /// Hancock's half-step predictor: second order in time with one evaluation a step.
    Hancock,
}

/// The numerical scheme of an arena.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Scheme {
    /// Limiter of the slopes in the cells.
    pub limiter: Limiter,
    /// Riemann solver of the faces.
    pub riemann: RiemannSolver,
    /// Predictor of the face states.
    pub march: Predictor,
}
