//! The losses, the defaults and the size of the runs, as tables.

use super::AtPoint;
use crate::print::number::{fixed, trimmed};
use crate::print::{Row, Table, point};
use tractwright::joint::side::Side;
use tractwright::loss::Basis;
use tractwright::network::{JointKind, Network};
use tractwright::part::Part;
use tractwright_validation::shown;

/// Every loss of the tract with its source.
pub(crate) fn losses(at: &AtPoint) -> Table {
    let network = &at.built.network;
    let head = Row::new("losses", vec!["basis".to_owned()]).noted("source");
    let mut rows: Vec<(usize, Row)> = Vec::new();
    for joint in &network.joints {
        if let JointKind::Series(series) = &joint.kind {
            for (side, name) in series.sides.iter().zip(&joint.parts) {
                if let Side::Mouth { basis, .. } = side {
                    rows.push(row(network, name, "mouth", basis));
                }
            }
        }
        rows.extend(joint.losses.iter().map(|loss| row(network, &loss.part, &loss.what, &loss.basis)));
    }
    for (duct, fittings) in network.ducts.iter().zip(&network.fittings) {
        rows.push(row(network, duct, "wall", &fittings.friction_basis));
        if fittings.bends.iter().any(|drag| *drag > 0.0) {
            rows.push(row(network, duct, "bends", &fittings.bend_basis));
        }
        if fittings.widening.iter().flatten().any(|drag| *drag > 0.0) {
            rows.push(row(network, duct, "widening", &Basis::Handbook("separation Idelchik".to_owned())));
        }
    }
    for (name, part) in &at.case.parts {
        if let Part::Plenum(plenum) = part {
            rows.push(row(network, name, "jets lost", &jets(plenum.carry_over.len())));
        }
    }
    rows.sort_by_key(|(place, _)| *place);
    Table { head, rows: rows.into_iter().map(|(_, row)| row).collect() }
}

fn jets(carried: usize) -> Basis {
    Basis::Assumed(match carried {
        0 => "carry_over 0: jets lose all their dynamic pressure".to_owned(),
        _ => "carry_over as given".to_owned(),
    })
}

/// A row with the place of its part in the case.
fn row(network: &Network, part: &str, what: &str, basis: &Basis) -> (usize, Row) {
    let place = network.part_order.iter().position(|name| name == part).unwrap_or(usize::MAX);
    let label = if what.is_empty() { format!("  {part}") } else { format!("  {part}: {what}") };
    (place, Row::new(label, vec![basis.word().to_owned()]).noted(basis.detail()))
}

/// Everything that the case left to the program, each with the places where it holds; nothing where it left nothing.
pub(crate) fn defaults(at: &AtPoint) -> Option<Table> {
    let of_case = at.case.defaults.iter().map(|default| {
        let value = match default.value {
            Some(value) if value != 0.0 && !default.holds.contains(|c: char| c.is_ascii_digit()) => {
                format!(" ({} in SI)", shown::value(value))
            }
            _ => String::new(),
        };
        let (place, key) = place_and_key(&default.path, default.key);
        (key, format!("{}{value}", default.holds), place)
    });
    let of_network = at
        .built
        .network
        .defaults
        .iter()
        .map(|default| ("(flow)".to_owned(), default.what.clone(), default.part.clone()));
    let mut told: Vec<(String, String, Vec<String>)> = Vec::new();
    for (key, holds, place) in of_case.chain(of_network) {
        match told.iter_mut().find(|known| known.0 == key && known.1 == holds) {
            Some(known) if known.2.contains(&place) => {}
            Some(known) => known.2.push(place),
            None => told.push((key, holds, vec![place])),
        }
    }
    if told.is_empty() {
        return None;
    }
    let row = |(key, holds, places): (String, String, Vec<String>)| {
        Row::new(format!("  {key}"), Vec::new()).noted(format!("{holds} [{}]", places.join(", ")))
    };
    let head = Row::new("defaults used", Vec::new()).noted("what holds [where]");
    Some(Table { head, rows: told.into_iter().map(row).collect() })
}

/// Splits where a default stands, such as `parts.snout.sections[0]`, into the part or section and the key below it.
fn place_and_key(path: &str, key: &str) -> (String, String) {
    let mut steps = path.split('.');
    let place = match steps.next() {
        Some("parts") => steps.next().unwrap_or_default().to_owned(),
        Some("points") => format!("point {}", steps.next().unwrap_or_default()),
        other => other.unwrap_or_default().to_owned(),
    };
    // The same key of every entry of a list is one default.
    let below = steps.map(|step| step.split('[').next().unwrap_or(step)).chain([key]);
    (place, below.collect::<Vec<_>>().join("."))
}

/// How large the runs are.
pub(super) fn runs(points: &[AtPoint]) -> String {
    let heads = ["cells", "step, us", "until, s", "steps"].map(str::to_owned).to_vec();
    let head = Row::new("runs", heads).noted("step limited by");
    let rows = points.iter().map(|at| {
        let estimate = &at.estimate;
        let cells = vec![
            estimate.cells.to_string(),
            estimate.step.map_or_else(|| "-".to_owned(), |step| fixed(1e6 * step, 2)),
            if estimate.end > 0.0 { trimmed(estimate.end, 4) } else { "steady".to_owned() },
            estimate.step.map_or_else(|| "-".to_owned(), |_| fixed(estimate.steps, 0)),
        ];
        Row::new(format!("  {}", point::describe(&at.case.point)), cells).noted(&estimate.limited_by)
    });
    format!("\n{}", Table { head, rows: rows.collect() }.render())
}
