//! A bench for losses without length: two ducts without friction, the loss between them, the outside before and a draw behind.

use crate::case_text::{CaseText, draw, mouth, settled, smooth_duct};
use crate::check::Failure;
use crate::marched::{Reading, Tract};
use tractwright::flow::End;

/// Length of the ducts [m].
pub const LENGTH: f64 = 0.1;
/// Length of a cell [m]. Without friction nothing happens along the ducts, so two will do.
pub const CELL: f64 = 0.05;

/// A bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Bench {
    /// Pressure outside [Pa].
    pub pressure: f64,
    /// Temperature outside [K].
    pub temperature: f64,
    /// Diameter before the loss [m].
    pub before: f64,
    /// Diameter behind the loss [m].
    pub behind: f64,
    /// Keys of the loss; none where the step between the ducts is the loss.
    pub loss: Option<String>,
    /// Mass flow that is drawn, as far as the loss lets it [kg/s].
    pub flow: f64,
}

impl Bench {
    /// A bench in air of 1 bar and 300 K with ducts of equal diameter [m].
    #[must_use]
    pub fn straight(diameter: f64, loss: impl Into<String>, flow: f64) -> Self {
        let (pressure, temperature) = (1e5, 300.0);
        Self { pressure, temperature, before: diameter, behind: diameter, loss: Some(loss.into()), flow }
    }

    /// The case file: parts `mouth`, `before`, `loss`, `behind`, `draw`.
    #[must_use]
    pub fn case(&self) -> String {
        let case = CaseText::new(self.pressure, self.temperature)
            .part("mouth", mouth(self.before))
            .part("before", smooth_duct(LENGTH, self.before))
            .part("behind", smooth_duct(LENGTH, self.behind))
            .part("draw", draw(self.flow, self.pressure, self.temperature));
        let case = match &self.loss {
            Some(keys) => case.part("loss", keys).line(&["mouth", "before", "loss", "behind", "draw"]),
            None => case.line(&["mouth", "before", "behind", "draw"]),
        };
        case.run(settled(CELL)).text()
    }

    /// What rakes close before and behind the loss read.
    ///
    /// # Errors
    /// The solver refused or stopped.
    pub fn measure(&self) -> Result<[Reading; 2], Failure> {
        let tract = Tract::read(&self.case())?;
        let marched = tract.march()?;
        Ok([marched.rake("before", End::Last)?, marched.rake("behind", End::First)?])
    }
}

/// What a rake reads in a duct of a diameter [m] into which a flow [kg/s] comes from the outside at rest (1 bar, 300 K), through an edge
/// with these keys of `inlet`.
///
/// # Errors
/// The solver refused or stopped.
pub fn measure_entry(diameter: f64, inlet: &str, flow: f64) -> Result<Reading, Failure> {
    let case = CaseText::new(1e5, 300.0)
        .part("behind", format!("{}, inlet: {{{inlet}}}", smooth_duct(LENGTH, diameter)))
        .part("draw", draw(flow, 1e5, 300.0))
        .line(&["outside", "behind", "draw"]);
    Tract::read(&case.run(settled(CELL)).text())?.march()?.rake("behind", End::First)
}

/// What a rake reads in a duct of a diameter [m] between a mouth and a draw with these keys. The `case` holds the outside and the point.
///
/// # Errors
/// The solver refused or stopped.
pub fn measure_mouth(case: CaseText, diameter: f64, mouth: &str, draw: &str) -> Result<Reading, Failure> {
    let case = case
        .part("mouth", mouth)
        .part("behind", smooth_duct(LENGTH, diameter))
        .part("draw", draw)
        .line(&["mouth", "behind", "draw"]);
    Tract::read(&case.run(settled(CELL)).text())?.march()?.rake("behind", End::First)
}
