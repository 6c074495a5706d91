//! Pictures of a check: what was computed over what is known.

/// Curves over one axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What is shown.
    pub title: String,
    /// The axis across, with its unit.
    pub across: String,
    /// The axis up, with its unit.
    pub up: String,
    /// Whether the axes are logarithmic: across, up.
    pub logarithmic: [bool; 2],
    /// The curves, in the order they are named.
    pub curves: Vec<Curve>,
}

/// One curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Name in the legend.
    pub name: String,
    /// Whose values they are.
    pub role: Role,
    /// Points (across, up); a curve breaks at one that is not a number.
    pub points: Vec<(f64, f64)>,
}

/// Whose values a curve shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The solver's, drawn as dots.
    Computed,
    /// Those known from elsewhere, drawn as a line.
    Reference,
    /// An edge of what is allowed, drawn as a broken line.
    Bound,
}

impl Figure {
    /// A picture with linear axes and no curve yet.
    #[must_use]
    pub fn new(title: impl Into<String>, across: impl Into<String>, up: impl Into<String>) -> Self {
        Self { title: title.into(), across: across.into(), up: up.into(), logarithmic: [false; 2], curves: Vec::new() }
    }

    /// The same with logarithmic axes where asked: across, up.
    #[must_use]
    pub fn logarithmic(mut self, across: bool, up: bool) -> Self {
        self.logarithmic = [across, up];
        self
    }

    /// The same with one more curve.
    #[must_use]
    pub fn curve(mut self, role: Role, name: impl Into<String>, points: impl IntoIterator<Item = (f64, f64)>) -> Self {
        self.curves.push(Curve { name: name.into(), role, points: points.into_iter().collect() });
        self
    }

    /// The same with one more curve of the solver's.
    #[must_use]
    pub fn computed(self, name: impl Into<String>, points: impl IntoIterator<Item = (f64, f64)>) -> Self {
        self.curve(Role::Computed, name, points)
    }

    /// The same with one more curve that is known from elsewhere.
    #[must_use]
    pub fn reference(self, name: impl Into<String>, points: impl IntoIterator<Item = (f64, f64)>) -> Self {
        self.curve(Role::Reference, name, points)
    }
}
