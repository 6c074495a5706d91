//! The life of filters: drop with the service limit, recovery at the draws, and efficiency, over the dust that is fed.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::panels::{Level, Panel, Sheet};
use crate::commands::filter_life::Life;
use crate::print::number::{fixed, trimmed};
use tractwright::study::filter_life::Age;
use tractwright::study::{Of, Quantity};

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
        life.filters.iter().enumerate().filter_map(of).collect()
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
