//! The life of filters: drop with the service limit, recovery at the draws, and efficiency, over the dust that is fed.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::panels::{Level, Panel, Sheet};
use super::thin::Point;
use crate::commands::filter_life::Life;
use crate::print::number::{fixed, trimmed};
use tractwright::study::filter_life::Age;
use tractwright::study::{Of, Quantity};

/// Width of a line, over the height of a panel.
const LINE: f64 = 0.01;

/// The picture.
pub(crate) fn drawing(life: &Life) -> Drawing {
    let curves = |value: &dyn Fn(usize, &Age) -> Option<f64>| -> Vec<Curve> {
        let of = |(number, filter): (usize, &tractwright::study::filter_life::AgingFilter)| {
            let point = |age: &Age| Some((1e3 * age.share * filter.capacity, value(number, age)?));
            let points: Vec<(f64, f64)> = life.ages.iter().filter_map(point).collect();
            (!points.is_empty()).then(|| Curve {
                result: number,
                look: Look::Line,
                points,
                rings: Vec::new(),
                name: filter.part.clone(),
            })
        };
        alike(life.filters.iter().enumerate().filter_map(of).collect())
    };
    let mut limits: Vec<Level> = Vec::new();
    for (number, filter) in life.filters.iter().enumerate() {
        let Some(limit) = filter.service_limit else { continue };
        let value = 1e-3 * (life.ages[0].filters[number][0] + limit);
        // Filters of one kind have one line.
        if !limits.iter().any(|level| (level.value - value).abs() < 0.01 * value) {
            let words = match life.change_at(number) {
                Some(mass) => format!(
                    "service limit, {} kPa above clean: {} g in {}",
                    trimmed(1e-3 * limit, 2),
                    fixed(1e3 * mass, 0),
                    filter.part
                ),
                None => format!("service limit, {} kPa above clean", trimmed(1e-3 * limit, 2)),
            };
            limits.push(Level { value, words, at_start: true });
        }
    }
    let keeps = |number: usize, age: &Age| {
        let filter = &life.filters[number];
        Some(100.0 * filter.keeps(age.share * filter.capacity)?)
    };
    let mut panels = vec![
        Panel {
            title: "drop of the filter at this flow, kPa".to_owned(),
            height: 190.0,
            curves: curves(&|number, age| Some(1e-3 * age.filters[number][0])),
            levels: limits,
            ..Panel::default()
        },
        Panel {
            title: "recovery p02/p00, mean of the draws".to_owned(),
            height: 130.0,
            curves: curves(&|_, age| age.figures.value(Quantity::Recovery, &Of::Whole))
                .into_iter()
                .take(1)
                .map(|curve| Curve { name: String::new(), ..curve })
                .collect(),
            ..Panel::default()
        },
    ];
    let kept = curves(&keeps);
    if !kept.is_empty() {
        panels.push(Panel {
            title: "share of the test dust that is kept, %".to_owned(),
            height: 130.0,
            curves: kept,
            ..Panel::default()
        });
    }
    let sheet = Sheet {
        title: format!("{}: the life of its filters", life.case),
        conditions: vec![format!("at {}, all filters filled in step, each to its own capacity", life.point)],
        across: "dust fed to the filter, g".to_owned(),
        strips_title: String::new(),
        strips: Vec::new(),
        behind: false,
        panels,
        key: Vec::new(),
    };
    sheet.drawing()
}

/// The curves without those that another would hide, which is then named for all of them.
fn alike(curves: Vec<Curve>) -> Vec<Curve> {
    let mut shown: Vec<Curve> = Vec::new();
    let mut names: Vec<Vec<String>> = Vec::new();
    for curve in curves {
        match shown.iter().position(|other| hides(&other.points, &curve.points)) {
            Some(place) => names[place].push(curve.name),
            None => {
                names.push(vec![curve.name.clone()]);
                shown.push(curve);
            }
        }
    }
    let named = |(curve, names): (Curve, Vec<String>)| match &names[..] {
        [_] => curve,
        _ => Curve { name: format!("{} alike", names.join(", ")), ..curve },
    };
    shown.into_iter().zip(names).map(named).collect()
}

/// Whether two curves lie on each other, to within the width of a line.
fn hides(one: &[Point], other: &[Point]) -> bool {
    let near = |a: f64, b: f64, span: f64| (a - b).abs() <= LINE * span;
    let span = |of: fn(&Point) -> f64| {
        let values = || one.iter().map(of);
        values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min)
    };
    let (across, up) = (span(|point| point.0), span(|point| point.1));
    one.len() == other.len() && one.iter().zip(other).all(|(a, b)| near(a.0, b.0, across) && near(a.1, b.1, up))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_that_another_would_hide_gives_it_its_name() {
        let curve = |name: &str, factor: f64| Curve {
            result: 0,
            look: Look::Line,
            points: (0..5).map(|step| (f64::from(step), factor * f64::from(step))).collect(),
            rings: Vec::new(),
            name: name.to_owned(),
        };
        let names = |curves: Vec<Curve>| alike(curves).into_iter().map(|curve| curve.name).collect::<Vec<_>>();
        let three = vec![curve("left", 1.0), curve("middle", 1.1), curve("right", 1.000_1)];
        assert_eq!(names(three), ["left, right alike", "middle"]);
        assert_eq!(names(vec![curve("left", 1.0)]), ["left"]);
    }
}
