//! The picture of a check that gives none of its own: how much of its limit each row uses up.

use super::axis::Axis;
use super::plot::{dots, opening, text};
use tractwright_validation::check::Row;

/// Width of the picture [px].
const WIDTH: f64 = 560.0;
/// Width of the column of names [px].
const NAMES: f64 = 236.0;
/// Height of a row [px].
const LINE: f64 = 19.0;
/// Height above the first row [px].
const HEAD: f64 = 12.0;
/// Letters of a name that fit into its column.
const LETTERS: usize = 36;
/// Shares below this stand at the left edge.
const LEAST: f64 = 1e-6;
/// Shares above this stand at the right edge.
const MOST: f64 = 1e3;

/// Errors as shares of the limits, for those `rows` that have one; nothing when none has.
pub(crate) fn html(rows: &[Row]) -> Option<String> {
    let judged: Vec<&Row> = rows.iter().filter(|row| !row.informs()).collect();
    if judged.is_empty() {
        return None;
    }
    let shares: Vec<f64> = judged.iter().map(|row| share(row)).collect();
    let bottom = HEAD + LINE * judged.len() as f64 + 4.0;
    let ends = shares.iter().copied().chain([1e-3, 1.5]);
    let axis = Axis::over(ends, true, [NAMES, WIDTH - 12.0], 7);
    let title = "Error over limit, row by row; the broken line is the limit";
    let mut out = opening([WIDTH, bottom + 24.0], title);
    out.push_str(&frame(&axis, bottom));
    for (number, (row, share)) in judged.iter().zip(&shares).enumerate() {
        let y = HEAD + LINE * (number as f64 + 0.5);
        out.push_str(&format!("<path class=\"grid\" d=\"M{NAMES} {y:.1}H{}\"/>\n", WIDTH - 12.0));
        out.push_str(&text(NAMES - 8.0, y + 4.0, "end", &shortened(&row.quantity)));
        // What lies beyond the axis, nothing at all most often, is hollow.
        let beyond = !(LEAST..MOST).contains(&(row.error() / row.limit.value));
        out.push_str(&dots(&[(axis.place(*share).unwrap_or(NAMES), y)], usize::from(beyond)));
    }
    out.push_str("</svg>\n");
    Some(format!("<figure>\n<figcaption>{title}</figcaption>\n{out}</figure>\n"))
}

/// Error over limit, brought onto the axis.
fn share(row: &Row) -> f64 {
    let share = row.error() / row.limit.value;
    // Zero over zero is a row that must be exact and is; what else is not a number holds nowhere.
    match (row.holds(), share.is_nan()) {
        (true, true) => LEAST,
        (false, true) => MOST,
        _ => share.clamp(LEAST, MOST),
    }
}

fn frame(axis: &Axis, bottom: f64) -> String {
    let mut out = String::new();
    for tick in axis.ticks.iter().filter(|tick| !tick.label.is_empty()) {
        let x = tick.place;
        out.push_str(&format!("<path class=\"grid\" d=\"M{x:.1} {HEAD}V{:.1}\"/>\n", bottom + 4.0));
        out.push_str(&text(x, bottom + 17.0, "middle", &tick.label));
    }
    if let Some(x) = axis.place(1.0) {
        out.push_str(&format!("<path class=\"bound s0\" d=\"M{x:.1} {HEAD}V{bottom:.1}\"/>\n"));
    }
    out + &format!("<path class=\"frame\" d=\"M{NAMES} {HEAD}V{bottom:.1}H{}\"/>\n", WIDTH - 12.0)
}

fn shortened(name: &str) -> String {
    if name.chars().count() <= LETTERS {
        return name.to_owned();
    }
    name.chars().take(LETTERS - 1).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use tractwright_validation::check::Limit;

    #[test]
    fn every_row_that_is_judged_has_a_dot() {
        let limit = |value| Limit { value, why: "test" };
        let rows = [
            Row::relative("p", 1.001, 1.0, limit(0.01)),
            Row::vanishing("nothing", 0.0, limit(0.0)),
            Row::vanishing("broken", f64::NAN, limit(1.0)),
            Row::relative("informs", 2.0, 1.0, Limit::none("test")),
        ];
        let html = html(&rows).unwrap();
        assert_eq!(html.matches("class=\"dots").count(), 3);
        assert_eq!(html.matches("class=\"hole").count(), 2);
        assert!(!html.contains("NaN"), "{html}");
        assert_eq!(super::html(&rows[3..]), None);
    }
}
