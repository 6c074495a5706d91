//! Losses without length, measured with rakes close before and behind them in a marched network.

use crate::bench::{Bench, measure_entry};
use crate::case_text::{CaseText, draw, settled, smooth_duct};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::marched::{Reading, Tract};
use crate::oracle::expansion::SuddenExpansion;
use crate::oracle::handbook;
use crate::oracle::perfect_gas::PerfectGas;
use std::f64::consts::PI;
use tractwright::flow::End;

/// Checks of losses without length.
pub const GROUP: Group = Group {
    name: "losses",
    about: "handbook losses read back from marched networks",
    checks: &[
        Check {
            name: "entry_loss",
            about: "edges between a room or the outside and a duct",
            source: "Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), diagrams 3; free edges from memory",
            run: || rows_only(entries()),
        },
        Check {
            name: "sudden_expansion",
            about: "a step to a wider duct, up to Mach 0.5",
            source: "Borda and Carnot in compressible form: Benedict et al. (1966), Trans. ASME J. Eng. Power 88, 67",
            run: || rows_only(Ok(vec![expansion(0.02)?, expansion(0.2)?, expansion(0.28)?])),
        },
        Check {
            name: "sudden_contraction",
            about: "a step to a narrower duct",
            source: "Idelchik (1994), diagram 4-9",
            run: || {
                let bench = Bench { before: 0.08, behind: 0.06, loss: None, ..Bench::straight(0.08, "", 0.06) };
                let [before, behind] = bench.measure()?;
                let coefficient = handbook::sudden_contraction(0.75 * 0.75);
                rows_only(Ok(vec![coefficient_row(
                    "coefficient",
                    coefficient,
                    lost(&before, &behind),
                    behind.head(GAS),
                    READ_BACK,
                )]))
            },
        },
        Check {
            name: "elbow_loss",
            about: "a bend of 90 degrees between two ducts",
            source: "Rennels and Hudson, Pipe Flow, 2nd ed. (2012), equation 15.1; Prandtl's smooth-pipe friction",
            run: || {
                let bend = handbook::round_bend(0.5 * PI, 1.5, handbook::smooth_friction(2e5));
                rows_only(
                    along("coefficient", "kind: elbow, angle: 90 deg, radius: 120 mm", bend, ELBOW)
                        .map(|row| vec![row]),
                )
            },
        },
        Check {
            name: "screen_loss",
            about: "wire mesh and a perforated plate across a duct",
            source: "Idelchik (1994), diagrams 8-1 and 8-6",
            run: || {
                let keys = |pattern| format!("kind: screen, pattern: {pattern}, open_area: 60 %");
                let mesh = along("mesh", &keys("wire_mesh"), handbook::wire_mesh(0.6), READ_BACK)?;
                let plate = handbook::perforated_plate(0.6);
                rows_only(Ok(vec![mesh, along("plate", &keys("perforated_plate"), plate, READ_BACK)?]))
            },
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
/// A law that a march solves exactly, read back through the ducts beside it.
const READ_BACK: Limit =
    Limit { value: 2e-3, why: "a handbook's head is that of constant density; here Mach is below 0.1" };
const ELBOW: Limit =
    Limit { value: 5e-3, why: "laws of smooth-pipe friction differ by 0.6 %; handbooks of bends by 20 %" };

fn lost(before: &Reading, behind: &Reading) -> f64 {
    before.total_pressure - behind.total_pressure
}

/// Row of a loss coefficient from the total pressure that is `lost` [Pa] and the velocity head [Pa] that it belongs to.
#[must_use]
pub fn coefficient_row(quantity: &str, coefficient: f64, lost: f64, head: f64, limit: Limit) -> Row {
    Row::relative(quantity, lost / head, coefficient, limit)
}

fn entries() -> Result<Vec<Row>, Failure> {
    let edges = [
        ("sharp", "shape: sharp", handbook::SHARP_ENTRY),
        ("rounded, r/D 0.12", "shape: rounded, radius: 7.2 mm", handbook::ENTRY_ROUNDED_BY_0_12),
        ("protruding", "shape: protruding", handbook::FREE_EDGE),
    ];
    let from_room = edges.map(|(name, keys, coefficient)| {
        let [room, behind] = measure_entry(0.06, keys, 0.07)?;
        Ok(coefficient_row(name, coefficient, lost(&room, &behind), behind.head(GAS), READ_BACK))
    });
    let mut rows = from_room.into_iter().collect::<Result<Vec<_>, Failure>>()?;
    let inside = sharp_mouth()?;
    let (coefficient, head) = (handbook::FREE_EDGE, inside.head(GAS));
    rows.push(coefficient_row("lip of a mouth", coefficient, 1e5 - inside.total_pressure, head, READ_BACK));
    Ok(rows)
}

/// What a rake behind a sharp-lipped mouth reads.
fn sharp_mouth() -> Result<Reading, Failure> {
    let text = CaseText::new(1e5, 300.0)
        .part("mouth", format!("kind: mouth, area: {} m2", 0.25 * PI * 0.06 * 0.06))
        .part("tube", smooth_duct(0.2, 0.06))
        .part("draw", draw(0.07, 1e5, 300.0))
        .line(&["mouth", "tube", "draw"])
        .run(settled(0.02))
        .text();
    Tract::read(&text)?.march()?.rake("tube", End::First)
}

/// Row of a step from 50 mm to 80 mm at a mass flow [kg/s].
fn expansion(flow: f64) -> Result<Row, Failure> {
    const LIMIT: Limit =
        Limit { value: 2e-3, why: "the balances hold at any Mach number; slow flow adds a linear part" };
    let bench = Bench { before: 0.05, behind: 0.08, loss: None, ..Bench::straight(0.05, "", flow) };
    let [before, behind] = bench.measure()?;
    let (mach, ratio) = (before.mach(GAS), (0.05_f64 / 0.08) * (0.05 / 0.08));
    let exact = SuddenExpansion::new(GAS, mach, ratio).ok_or_else(|| Failure::NoSolution("a step".to_owned()))?;
    let quantity = format!("share of total pressure lost at Mach {mach:.2}");
    let found = lost(&before, &behind) / before.total_pressure;
    Ok(Row::relative(quantity, found, 1.0 - exact.total_pressure_ratio, LIMIT))
}

/// Row of a loss in a duct of 80 mm that is spread along its way, on the mean of the heads before and behind it.
fn along(quantity: &str, keys: &str, coefficient: f64, limit: Limit) -> Result<Row, Failure> {
    let [before, behind] = Bench::straight(0.08, keys, 0.1).measure()?;
    let head = 0.5 * (before.head(GAS) + behind.head(GAS));
    Ok(coefficient_row(quantity, coefficient, lost(&before, &behind), head, limit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coefficient_is_read_back() {
        assert!(coefficient_row("K", 0.5, 30.0, 60.0, READ_BACK).holds());
        assert!(!coefficient_row("K", 0.5, 30.3, 60.0, READ_BACK).holds());
    }
}
