//! From a duct's drawing to its cells.
//!
//! Between two sections the diameter of the circle of equal area runs linearly, so that a cone is a cone, and so does the hydraulic
//! diameter. Cell volumes are exact integrals of that area.

use super::wall_tables::wall_table;
use crate::flow::{DuctMesh, WallTable, wall_law};
use crate::gas::Gas;
use crate::loss::{Basis, Deviations, bend, cone, published};
use crate::part::{Bend, CrossSection, Duct};
use std::f64::consts::{FRAC_PI_4, PI};

/// Fewest cells of a duct: a limited slope needs two neighbours.
const FEWEST_CELLS: usize = 3;
/// Most cells of one duct.
const MOST_CELLS: f64 = 1e6;

/// What a duct's fittings lose, apart from its wall: loss coefficients per length [1/m], [cells].
#[derive(Debug, Clone, PartialEq)]
pub struct Fittings {
    /// Bends, both ways.
    pub bends: Vec<f64>,
    /// Separation where the duct widens, for flow from first to last and from last to first.
    pub widening: [Vec<f64>; 2],
    /// Where the friction comes from.
    pub friction_basis: Basis,
    /// Where the loss of the bends comes from.
    pub bend_basis: Basis,
    /// Where that of separation comes from.
    pub widening_basis: Basis,
}

/// The cells of `duct`.
///
/// # Errors
/// What is wrong with the duct, as a fragment.
pub(super) fn mesh(
    name: &str,
    duct: &Duct,
    cell: f64,
    gas: &Gas,
    deviations: &Deviations,
) -> Result<(DuctMesh, Fittings), String> {
    let wanted = (duct.length / duct.cell.unwrap_or(cell)).round();
    if wanted.is_nan() || wanted > MOST_CELLS {
        return Err(format!("{wanted:e} cells"));
    }
    let cells = (wanted as usize).max(FEWEST_CELLS);
    let step = duct.length / cells as f64;
    let profile = Profile::of(duct);
    let faces: Vec<f64> = (0..=cells).map(|face| face as f64 * step).collect();
    let middle = |k: usize| 0.5 * (faces[k] + faces[k + 1]);
    let hydraulic: Vec<f64> = (0..cells).map(|k| profile.hydraulic_diameter(middle(k))).collect();
    let [bend, widening, friction] =
        [published::BEND, published::WIDENING, published::FRICTION].map(|spread| deviations.factor(&spread));
    let times = |mut drags: Vec<f64>, factor: f64| {
        drags.iter_mut().for_each(|drag| *drag *= factor);
        drags
    };
    let by_law = |bend: &Bend| bend.loss_factor.is_none();
    let fittings = Fittings {
        bends: bends(duct, &faces, &hydraulic, bend),
        widening: if duct.separation {
            separation(&profile, &faces).map(|drags| times(drags, widening))
        } else {
            [vec![0.0; cells], vec![0.0; cells]]
        },
        friction_basis: duct.friction_basis.clone().times(deviations.known(published::FRICTION.law)),
        bend_basis: duct
            .bend_basis
            .clone()
            .times(deviations.known(published::BEND.law).filter(|_| duct.bends.iter().any(by_law))),
        widening_basis: Basis::Handbook("separation Idelchik".to_owned())
            .times(deviations.known(published::WIDENING.law)),
    };
    let drag = |widening: &[f64]| fittings.bends.iter().zip(widening).map(|(bend, wide)| bend + wide).collect();
    let mesh = DuctMesh {
        name: name.to_owned(),
        cell_length: step,
        face_area: faces.iter().map(|x| profile.area(*x)).collect(),
        volume: (0..cells).map(|k| profile.volume(faces[k], faces[k + 1])).collect(),
        wall: wall(duct, &hydraulic, gas, friction),
        hydraulic_diameter: hydraulic,
        drag_forward: drag(&fittings.widening[0]),
        drag_reverse: drag(&fittings.widening[1]),
        // The node of a wall that stores heat gives its temperature at each instant.
        wall_temperature: duct.wall_temperature.or(duct.clad.as_ref().map(|_| 0.0)),
        wall_heat: duct.wall_heat,
    };
    let mesh = match duct.friction_factor {
        Some(factor) => mesh.with_friction_factor(factor),
        None => mesh,
    };
    Ok((mesh, fittings))
}

/// Friction, times `factor`, and film of the wall with its own; none where friction is given and the wall is adiabatic.
fn wall(duct: &Duct, hydraulic: &[f64], gas: &Gas, factor: f64) -> Option<WallTable> {
    if duct.friction_factor.is_some() && duct.wall_temperature.is_none() && duct.clad.is_none() {
        return None;
    }
    let smallest = hydraulic.iter().fold(f64::INFINITY, |least, d| least.min(*d));
    let roughness =
        duct.corrugation.map_or(duct.roughness, |(depth, pitch)| wall_law::corrugation_roughness(depth, pitch));
    let (relative_roughness, prandtl, slenderness) = (roughness / smallest, gas.prandtl, smallest / duct.length);
    // A friction that is given stands in the drag of the mesh.
    let factor = if duct.friction_factor.is_some() { 0.0 } else { factor };
    Some(wall_table([factor, duct.film_factor], relative_roughness, prandtl, slenderness))
}

/// Loss coefficients of bends, spread over their arcs [1/m]: times the `factor` of their law, or the one that a bend has of its own.
fn bends(duct: &Duct, faces: &[f64], hydraulic: &[f64], factor: f64) -> Vec<f64> {
    let mut drags = vec![0.0; hydraulic.len()];
    for bend in &duct.bends {
        let (start, end) = (bend.at, bend.end().min(duct.length));
        let here = faces.partition_point(|x| *x <= start).clamp(1, hydraulic.len()) - 1;
        let diameter = hydraulic[here];
        let by_law = bend::coefficient(bend.angle, bend.radius / diameter, duct.roughness / diameter);
        let coefficient = bend.loss_factor.unwrap_or(factor) * by_law;
        for (k, drag) in drags.iter_mut().enumerate() {
            let overlap = (end.min(faces[k + 1]) - start.max(faces[k])).max(0.0);
            *drag += coefficient * overlap / ((end - start) * (faces[k + 1] - faces[k]));
        }
    }
    drags
}

/// Loss coefficients of separation in widening stretches [1/m], for flow from first to last and from last to first.
fn separation(profile: &Profile, faces: &[f64]) -> [Vec<f64>; 2] {
    let areas: Vec<f64> = faces.iter().map(|x| profile.area(*x)).collect();
    let step = faces[1] - faces[0];
    let mut reverse: Vec<f64> = widening(areas.iter().rev().copied(), step);
    reverse.reverse();
    [widening(areas.iter().copied(), step), reverse]
}

/// The same for one direction, from the face areas in the order in which the air meets them.
fn widening(mut areas: impl Iterator<Item = f64>, step: f64) -> Vec<f64> {
    let Some(mut before) = areas.next() else { return Vec::new() };
    let mut start = before;
    areas
        .map(|after| {
            if after <= before {
                start = after;
            }
            let drag = cone::heads_per_length(start, 0.5 * (before + after), (after - before) / step);
            before = after;
            drag
        })
        .collect()
}

fn round_diameter(area: f64) -> f64 {
    (4.0 * area / PI).sqrt()
}

/// Area and hydraulic diameter along a duct.
struct Profile {
    sections: Vec<CrossSection>,
}

impl Profile {
    fn of(duct: &Duct) -> Self {
        let mut sections = duct.sections.clone();
        // A drawing that stops short of an end goes on unchanged.
        if let Some(first) = sections.first().copied()
            && first.at > 0.0
        {
            sections.insert(0, CrossSection { at: 0.0, ..first });
        }
        if let Some(last) = sections.last().copied()
            && last.at < duct.length
        {
            sections.push(CrossSection { at: duct.length, ..last });
        }
        Self { sections }
    }

    /// The sections around `x` and the share of the way from the first to the second.
    fn around(&self, x: f64) -> (CrossSection, CrossSection, f64) {
        let after = self.sections.partition_point(|section| section.at <= x).clamp(1, self.sections.len() - 1);
        let (a, b) = (self.sections[after - 1], self.sections[after]);
        let share = if b.at > a.at { ((x - a.at) / (b.at - a.at)).clamp(0.0, 1.0) } else { 1.0 };
        (a, b, share)
    }

    fn area(&self, x: f64) -> f64 {
        let (a, b, share) = self.around(x);
        let (first, last) = (round_diameter(a.area), round_diameter(b.area));
        let diameter = first + share * (last - first);
        FRAC_PI_4 * diameter * diameter
    }

    fn hydraulic_diameter(&self, x: f64) -> f64 {
        let (a, b, share) = self.around(x);
        let (first, last) = (4.0 * a.area / a.perimeter, 4.0 * b.area / b.perimeter);
        first + share * (last - first)
    }

    /// Volume between `from` and `to` [m^3], cut at the sections between them.
    fn volume(&self, from: f64, to: f64) -> f64 {
        let inner = self.sections.iter().map(|section| section.at).filter(|at| *at > from && *at < to);
        let mut cuts: Vec<f64> = std::iter::once(from).chain(inner).chain(std::iter::once(to)).collect();
        cuts.dedup();
        cuts.windows(2)
            .map(|cut| {
                // A frustum: exact for a linear diameter. The areas are taken just inside the cut, where a step may stand.
                let inside = 1e-9 * (cut[1] - cut[0]);
                let (a, b) = (self.area(cut[0] + inside), self.area(cut[1] - inside));
                (cut[1] - cut[0]) * (a + (a * b).sqrt() + b) / 3.0
            })
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cone_has_the_volume_of_a_frustum() {
        let section = |at: f64, d: f64| CrossSection { at, area: FRAC_PI_4 * d * d, perimeter: PI * d };
        let profile = Profile { sections: vec![section(0.0, 0.1), section(0.6, 0.07)] };
        let exact = PI * 0.6 / 12.0 * (0.01 + 0.007 + 0.0049);
        assert!((profile.volume(0.0, 0.6) / exact - 1.0).abs() < 1e-8);
        let cut: f64 = (0..10).map(|k| profile.volume(0.06 * f64::from(k), 0.06 * f64::from(k + 1))).sum();
        assert!((cut / exact - 1.0).abs() < 1e-8);
    }

    #[test]
    fn a_step_within_a_cell_parts_its_volume() {
        let section = |at: f64, d: f64| CrossSection { at, area: FRAC_PI_4 * d * d, perimeter: PI * d };
        let sections = vec![section(0.0, 0.1), section(0.3, 0.1), section(0.3, 0.05), section(0.6, 0.05)];
        let exact = FRAC_PI_4 * (0.1 * 0.01 + 0.1 * 0.0025);
        assert!((Profile { sections }.volume(0.2, 0.4) / exact - 1.0).abs() < 1e-8);
    }
}
