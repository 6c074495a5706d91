//! View factors of simple shapes.

use crate::check::{Failure, Findings, Limit, Measure, Row};
use crate::figure::Figure;
use crate::oracle::view_factors as integral;
use tractwright::heat::view;

const QUADRATURE: Limit = Limit { value: 1e-8, why: "what the quadrature resolves" };
const PRINTED: Limit = Limit { value: 5e-6, why: "rounding of five printed digits" };

type Law = fn(f64, f64, f64) -> f64;

/// Sizes in ratios from a tenth to five.
fn sizes() -> impl Iterator<Item = [f64; 3]> {
    let each = [0.2, 0.5, 1.0];
    each.into_iter().flat_map(move |a| each.into_iter().flat_map(move |b| each.into_iter().map(move |c| [a, b, c])))
}

fn compared(law: Law, integral: Law) -> Vec<(f64, f64)> {
    sizes().map(|[a, b, c]| (law(a, b, c), integral(a, b, c))).collect()
}

/// Values as printed in the catalogue, from memory; each agrees with the integral to its last digit.
fn printed() -> [(f64, f64); 7] {
    [
        (view::aligned_rectangles(1.0, 1.0, 1.0), 0.199_82),
        (view::aligned_rectangles(2.0, 1.0, 1.0), 0.285_88),
        (view::aligned_rectangles(2.0, 2.0, 1.0), 0.415_25),
        (view::perpendicular_rectangles(1.0, 1.0, 1.0), 0.200_04),
        (view::coaxial_discs(1.0, 1.0, 1.0), 0.381_97),
        (view::coaxial_discs(0.5, 0.5, 1.0), 0.171_57),
        (view::coaxial_discs(1e-4, 2.0, 1.0), 0.8),
    ]
}

pub(super) fn shapes() -> Result<Findings, Failure> {
    let kinds: [(&str, Law, Law); 3] = [
        ("rectangles opposite", view::aligned_rectangles, integral::aligned_rectangles),
        ("rectangles at right angles", view::perpendicular_rectangles, integral::perpendicular_rectangles),
        ("discs opposite", view::coaxial_discs, integral::coaxial_discs),
    ];
    let mut figure = Figure::new(
        "View factors of squares and equal discs",
        "side or radius over gap, reach over edge",
        "view factor",
    )
    .logarithmic(true, false);
    for (name, law, integral) in kinds {
        // Rectangles at right angles take the length of their edge first, the others their gap last.
        let at =
            |law: Law, size: f64| if name.ends_with("angles") { law(1.0, size, size) } else { law(size, size, 1.0) };
        let places = |count: i32| (0..=count).map(move |n| 10.0_f64.powf(2.0 * f64::from(n) / f64::from(count) - 1.0));
        figure = figure
            .computed(name, places(20).map(|size| (size, at(law, size))))
            .reference(format!("{name}, integral"), places(40).map(|size| (size, at(integral, size))));
    }
    let rows = kinds.map(|(name, law, integral)| Row::worst(name, compared(law, integral), QUADRATURE));
    let printed = Row::worst_by(Measure::Absolute, "values printed in the catalogue", printed(), PRINTED);
    Ok(Findings::from(rows.into_iter().chain([printed]).collect::<Vec<_>>()).with(figure))
}
