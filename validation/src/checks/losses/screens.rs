//! Wire mesh and perforated plates across a duct.

use super::{READ_BACK, along, beside, found, measured, published, rows};
use crate::check::{Failure, Findings, Limit, Row};
use crate::figure::Figure;

/// Highest velocity [m/s], and the loss [Pa] to which a dense screen holds it.
const VELOCITY: f64 = 25.0;
const LOSS: f64 = 300.0;

/// Heads lost by a screen of a `pattern` with an open share, at a velocity that `expected` heads allow.
fn screen(pattern: &str, open: f64, expected: f64) -> Result<f64, Failure> {
    let head = LOSS / expected;
    let velocity = (2.0 * head * super::GAS.gas_constant * 300.0 / 1e5).sqrt().min(VELOCITY);
    along(0.08, format!("kind: screen, pattern: {pattern}, open_area: {open}"), velocity)
}

pub(super) fn screens() -> Result<Findings, Failure> {
    const PLATE: Limit = Limit { value: 0.15, why: "what the two handbooks differ by" };
    const MESH: Limit = Limit { value: 0.2, why: "Blevins' values are for a wire Reynolds number of 400" };
    const APART: Limit = Limit::none("at these open shares the two handbooks are further apart");
    let mut all = Vec::new();
    let mut figure =
        Figure::new("Screens", "open share", "total-pressure loss / velocity head").logarithmic(false, true);
    for (pattern, component, law, other, agree, spread) in [
        ("perforated_plate", "perforated_plate_thin_sharp", "(0.707", "perforated_plate_thin_sharp", 0.2..0.75, PLATE),
        ("wire_mesh", "wire_screen", "1.3(1-f)", "wire_screen_Re400", 0.35..1.0, MESH),
    ] {
        let (law, blevins) = (published(component, "free-area f", law)?, published(other, "free-area f", "Blevins")?);
        let expected = |open: f64| law.iter().find(|point| (point.0 - open).abs() < 1e-9).map_or(1.0, |point| point.1);
        let points = measured(law.iter().map(|point| point.0), |open| screen(pattern, open, expected(open)))?;
        all.extend(rows(&format!("{pattern}, open"), &points, &law, READ_BACK));
        let (inside, outside): (Vec<_>, Vec<_>) = points.iter().copied().partition(|point| agree.contains(&point.0));
        let others = [blevins];
        all.push(Row::worst(format!("{pattern}, against Blevins"), beside(&inside, &others), spread));
        all.push(Row::worst(format!("{pattern}, elsewhere"), beside(&outside, &others), APART));
        let [blevins] = others;
        figure = figure
            .computed(pattern, points)
            .reference(format!("Idelchik, {pattern}"), law)
            .reference(format!("Blevins, {pattern}"), blevins);
    }
    found(all, figure)
}
