//! Phases of a run, and what its walls had to bear.

use crate::print::names::sides;
use crate::print::number::{celsius, fixed, grams, kilopascals};
use crate::print::{Row, Table};
use tractwright::run::{BACK_WITHIN, PhaseFigures, WallFigures};

/// Distance from its limit at which a wall is warned of [K].
const NEAR: f64 = 10.0;

/// The phases, one a row.
pub(super) fn phases(phases: &[PhaseFigures]) -> String {
    let Some(first) = phases.first() else { return String::new() };
    let mut heads = vec!["until, min".to_owned(), "km/h".to_owned()];
    for draw in sides(&first.draws.iter().map(|draw| draw.draw.as_str()).collect::<Vec<_>>()) {
        heads.extend([format!("{draw} g/s"), format!("{draw} T02"), format!("{draw} peak")]);
    }
    heads.extend(first.bays.iter().map(|bay| bay.0.clone()));
    let rows = phases.iter().map(|phase| {
        let mut cells = vec![fixed(phase.to / 60.0, 1), fixed(3.6 * phase.speed, 0)];
        for draw in &phase.draws {
            cells.extend([grams(draw.mass_flow), celsius(draw.temperature), celsius(draw.highest)]);
        }
        cells.extend(phase.bays.iter().map(|bay| celsius(bay.1)));
        Row::new(&phase.point, cells)
    });
    Table { head: Row::new("phase, at its end, degC", heads), rows: rows.collect() }.render()
}

/// Where each draw was hottest, and how long it took to come back after each restart.
pub(super) fn figures(phases: &[PhaseFigures]) -> Vec<String> {
    let count = phases.first().map_or(0, |phase| phase.draws.len());
    (0..count)
        .map(|number| {
            let hottest = phases.iter().max_by(|a, b| a.draws[number].highest.total_cmp(&b.draws[number].highest));
            let mut text = hottest.map_or_else(String::new, |phase| {
                let draw = &phase.draws[number];
                let minute = fixed(draw.highest_at / 60.0, 1);
                format!(
                    "{}: hottest {} degC, at minute {minute} in `{}`",
                    draw.draw,
                    celsius(draw.highest),
                    phase.point
                )
            });
            for phase in phases {
                if let Some(time) = phase.draws[number].back_after {
                    let (within, minute) = (fixed(BACK_WITHIN, 0), fixed(phase.from / 60.0, 1));
                    text.push_str(&format!(
                        "; back within {within} K at most {} s after minute {minute} (`{}`)",
                        fixed(time, 0),
                        phase.point
                    ));
                }
            }
            format!("{text}.")
        })
        .collect()
}

/// What each wall had to bear, beside the limit of its material.
pub(crate) fn walls(walls: &[WallFigures]) -> Table {
    let heads = ["hottest, degC", "at, min", "limit, degC", "depression, kPa"].map(str::to_owned).to_vec();
    let rows = walls.iter().map(|wall| {
        let cells = vec![
            celsius(wall.highest),
            fixed(wall.at / 60.0, 1),
            wall.limit.as_ref().map_or_else(|| "-".to_owned(), |limit| celsius(limit.0)),
            wall.depression.map_or_else(|| "-".to_owned(), kilopascals),
        ];
        Row::new(name(wall), cells).noted(wall.material.clone())
    });
    Table { head: Row::new("will it hold", heads).noted("material"), rows: rows.collect() }
}

/// A plain warning for each wall that passes its limit or comes near it.
pub(crate) fn warnings(walls: &[WallFigures]) -> Vec<String> {
    walls
        .iter()
        .filter_map(|wall| {
            let (limit, what) = wall.limit.as_ref()?;
            let verb = if wall.highest > *limit {
                "PASSES"
            } else if wall.highest > limit - NEAR {
                "comes near"
            } else {
                return None;
            };
            Some(format!(
                "WARNING: {} reaches {} degC and {verb} {} degC, {what}; ask the data sheet of your material.",
                name(wall),
                celsius(wall.highest),
                celsius(*limit)
            ))
        })
        .collect()
}

fn name(wall: &WallFigures) -> String {
    if wall.what.is_empty() { wall.part.clone() } else { format!("{} {}", wall.part, wall.what) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall(highest: f64) -> WallFigures {
        WallFigures {
            part: "tube".to_owned(),
            what: String::new(),
            material: "plastic".to_owned(),
            highest,
            at: 60.0,
            depression: Some(2e3),
            limit: Some((400.0, "softening".to_owned())),
        }
    }

    #[test]
    fn a_wall_is_warned_of_when_it_passes_its_limit_or_comes_near() {
        let count = |highest: f64| warnings(&[wall(highest)]).len();
        assert_eq!([count(380.0), count(391.0), count(401.0)], [0, 1, 1]);
        assert!(warnings(&[wall(401.0)])[0].contains("PASSES") && warnings(&[wall(391.0)])[0].contains("comes near"));
    }
}
