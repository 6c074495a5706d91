//! What each surface of an enclosure sees, made whole from the views that are known.

use super::enclosure::Surface;

/// By how much a sum of view factors, or one given both ways, may be off: views are given to some digits.
const TOLERANCE: f64 = 1e-6;

/// One view that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Number of the surface that sends.
    pub from: usize,
    /// Number of the surface that is reached.
    pub to: usize,
    /// Share of what the first sends that reaches the second, 0..1.
    pub factor: f64,
}

/// View factors of a closed enclosure: reciprocal, each row with the sum one.
#[derive(Debug, Clone, PartialEq)]
pub struct ViewFactors {
    areas: Vec<f64>,
    /// Area times view factor [m^2], a symmetric matrix by rows; so reciprocity holds by form.
    exchange: Vec<f64>,
}

/// Why surfaces and views make no enclosure. Surfaces are named by their number, from nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EnclosureFault {
    /// There is no surface at all.
    #[error("found no surface, expected at least one")]
    Empty,
    /// An area is not positive.
    #[error("surface {surface}: found an area of {area} m2, expected more than 0")]
    Area {
        /// The surface.
        surface: usize,
        /// Its area [m^2].
        area: f64,
    },
    /// An emissivity is not above nothing, or above one.
    #[error("surface {surface}: found an emissivity of {emissivity}, expected more than 0 and at most 1")]
    Emissivity {
        /// The surface.
        surface: usize,
        /// Its emissivity.
        emissivity: f64,
    },
    /// A view names a surface that is not there.
    #[error("view from {from} to {to}: found {count} surfaces, expected both among them")]
    NoSurface {
        /// The surface that sends.
        from: usize,
        /// The surface that is reached.
        to: usize,
        /// How many there are.
        count: usize,
    },
    /// A view factor is no share.
    #[error("view from {from} to {to}: found {factor}, expected 0 to 1")]
    Factor {
        /// The surface that sends.
        from: usize,
        /// The surface that is reached.
        to: usize,
        /// The factor.
        factor: f64,
    },
    /// A view is given twice, or both ways, and the two do not agree.
    #[error("view from {from} to {to}: found {factor}, expected {expected} by the same view given before")]
    Contradiction {
        /// The surface that sends.
        from: usize,
        /// The surface that is reached.
        to: usize,
        /// The factor.
        factor: f64,
        /// What the other gives by reciprocity.
        expected: f64,
    },
    /// The views of a surface sum to more than all it sends.
    #[error("surface {surface}: found views that sum to {sum}, expected at most 1")]
    SeesTooMuch {
        /// The surface.
        surface: usize,
        /// Sum of its view factors without the last surface.
        sum: f64,
    },
    /// A view to the last surface is given, and the others leave something else.
    #[error("view from {surface} to the last surface: found {factor}, expected {expected}, which the others leave")]
    NotClosed {
        /// The surface.
        surface: usize,
        /// The factor given.
        factor: f64,
        /// What is left.
        expected: f64,
    },
    /// The last surface is too small for all that sees it.
    #[error("last surface: found an area of {area} m2, expected at least {least} m2 for all that it is seen by")]
    SkinTooSmall {
        /// Its area [m^2].
        area: f64,
        /// The least area with which it could close the enclosure [m^2].
        least: f64,
    },
}

impl ViewFactors {
    /// The views of an enclosure of `surfaces`, of which the last one, its skin, closes it.
    ///
    /// The reverse of each of `views` follows by reciprocity. What a surface does not see of the others it sees of the skin, and the
    /// skin sees of itself what is left of it. Any other surface sees itself only when that is given.
    ///
    /// # Errors
    /// When a number is out of its range, or the views contradict each other, exceed all there is, or do not fit the skin.
    pub fn complete(surfaces: &[Surface], views: &[View]) -> Result<Self, EnclosureFault> {
        let areas: Vec<_> = surfaces.iter().map(|surface| surface.area).collect();
        if areas.is_empty() {
            return Err(EnclosureFault::Empty);
        }
        if let Some((surface, &area)) = areas.iter().enumerate().find(|(_, area)| !(**area > 0.0 && area.is_finite())) {
            return Err(EnclosureFault::Area { surface, area });
        }
        let mut given = vec![None; areas.len() * areas.len()];
        for view in views {
            give(&areas, &mut given, *view)?;
        }
        let mut factors = Self { exchange: given.iter().map(|known| known.unwrap_or(0.0)).collect(), areas };
        factors.close(&given)?;
        Ok(factors)
    }

    /// How many surfaces there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.areas.len()
    }

    /// Share of what surface `from` sends that reaches `to`.
    #[must_use]
    pub fn factor(&self, from: usize, to: usize) -> f64 {
        self.exchange[from * self.count() + to] / self.areas[from]
    }

    /// Gives the skin what each surface leaves, and itself what is left of it.
    fn close(&mut self, given: &[Option<f64>]) -> Result<(), EnclosureFault> {
        let count = self.count();
        let skin = count - 1;
        for surface in 0..skin {
            let area = self.areas[surface];
            let seen: f64 = self.exchange[surface * count..surface * count + skin].iter().sum();
            let left = area - seen;
            if left < -TOLERANCE * area {
                return Err(EnclosureFault::SeesTooMuch { surface, sum: seen / area });
            }
            let left = left.max(0.0);
            self.expect(surface, left, given)?;
            self.exchange[surface * count + skin] = left;
            self.exchange[skin * count + surface] = left;
        }
        let (area, least) = (self.areas[skin], self.exchange[skin * count..skin * count + skin].iter().sum::<f64>());
        if least > (1.0 + TOLERANCE) * area {
            return Err(EnclosureFault::SkinTooSmall { area, least });
        }
        let own = (area - least).max(0.0);
        self.expect(skin, own, given)?;
        self.exchange[skin * count + skin] = own;
        Ok(())
    }

    /// Holds a view to the skin, where one is given, against what is left for it [m^2].
    fn expect(&self, surface: usize, left: f64, given: &[Option<f64>]) -> Result<(), EnclosureFault> {
        let (count, area) = (self.count(), self.areas[surface]);
        match given[surface * count + count - 1] {
            Some(known) if (known - left).abs() > TOLERANCE * area => {
                Err(EnclosureFault::NotClosed { surface, factor: known / area, expected: left / area })
            }
            _ => Ok(()),
        }
    }
}

/// Enters one view and its reverse.
fn give(areas: &[f64], given: &mut [Option<f64>], view: View) -> Result<(), EnclosureFault> {
    let View { from, to, factor } = view;
    let count = areas.len();
    if from >= count || to >= count {
        return Err(EnclosureFault::NoSurface { from, to, count });
    }
    if !(0.0..=1.0 + TOLERANCE).contains(&factor) {
        return Err(EnclosureFault::Factor { from, to, factor });
    }
    let exchange = areas[from] * factor;
    match given[from * count + to] {
        Some(before) if (exchange - before).abs() > TOLERANCE * areas[from] => {
            return Err(EnclosureFault::Contradiction { from, to, factor, expected: before / areas[from] });
        }
        Some(_) => {}
        None => {
            given[from * count + to] = Some(exchange);
            given[to * count + from] = Some(exchange);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn surfaces(areas: &[f64]) -> Vec<Surface> {
        areas.iter().map(|&area| Surface { area, emissivity: 0.8 }).collect()
    }

    fn view(from: usize, to: usize, factor: f64) -> View {
        View { from, to, factor }
    }

    #[test]
    fn rows_are_whole_and_views_reciprocal() {
        let areas = [0.3, 0.05, 0.8, 2.0];
        let views = [view(1, 0, 0.4), view(2, 0, 0.1), view(2, 2, 0.2)];
        let factors = ViewFactors::complete(&surfaces(&areas), &views).unwrap();
        for from in 0..4 {
            let sum: f64 = (0..4).map(|to| factors.factor(from, to)).sum();
            assert!((sum - 1.0).abs() < 1e-14, "{from}");
            for to in 0..4 {
                let there = areas[from] * factors.factor(from, to);
                assert!((there - areas[to] * factors.factor(to, from)).abs() < 1e-15, "{from} {to}");
            }
        }
        assert!(factors.factor(0, 0).abs() < 1e-15 && (factors.factor(2, 2) - 0.2).abs() < 1e-15);
        assert!(factors.factor(3, 3) > 0.0);
    }

    #[test]
    fn two_plates_need_no_view() {
        let factors = ViewFactors::complete(&surfaces(&[1.5, 1.5]), &[]).unwrap();
        assert!((factors.factor(0, 1) - 1.0).abs() < 1e-15 && factors.factor(1, 1).abs() < 1e-15);
    }

    #[test]
    fn a_view_may_be_given_both_ways_and_must_agree() {
        let areas = surfaces(&[1.0, 2.0, 5.0]);
        assert!(ViewFactors::complete(&areas, &[view(0, 1, 0.4), view(1, 0, 0.2)]).is_ok());
        let fault = ViewFactors::complete(&areas, &[view(0, 1, 0.4), view(1, 0, 0.3)]).unwrap_err();
        assert_eq!(fault.to_string(), "view from 1 to 0: found 0.3, expected 0.2 by the same view given before");
    }

    #[test]
    fn what_cannot_be_is_refused_with_its_numbers() {
        let told =
            |areas: &[f64], views: &[View]| ViewFactors::complete(&surfaces(areas), views).unwrap_err().to_string();
        assert_eq!(told(&[], &[]), "found no surface, expected at least one");
        assert_eq!(told(&[1.0, -2.0], &[]), "surface 1: found an area of -2 m2, expected more than 0");
        assert!(told(&[f64::NAN], &[]).starts_with("surface 0: found an area of NaN"));
        assert_eq!(told(&[1.0], &[view(0, 3, 0.1)]), "view from 0 to 3: found 1 surfaces, expected both among them");
        assert_eq!(told(&[1.0, 1.0], &[view(0, 1, 1.5)]), "view from 0 to 1: found 1.5, expected 0 to 1");
        assert_eq!(
            told(&[1.0, 1.0, 1.0, 4.0], &[view(0, 1, 0.75), view(0, 2, 0.5)]),
            "surface 0: found views that sum to 1.25, expected at most 1"
        );
        // The reverse of a view can be too much for the other surface.
        assert_eq!(
            told(&[4.0, 1.0, 9.0], &[view(0, 1, 0.5)]),
            "surface 1: found views that sum to 2, expected at most 1"
        );
        assert_eq!(
            told(&[1.0, 1.0, 4.0], &[view(0, 1, 0.25), view(0, 2, 0.5)]),
            "view from 0 to the last surface: found 0.5, expected 0.75, which the others leave"
        );
        assert_eq!(
            told(&[1.0, 1.0, 1.5], &[]),
            "last surface: found an area of 1.5 m2, expected at least 2 m2 for all that it is seen by"
        );
    }

    #[test]
    fn a_fully_given_enclosure_is_taken_as_it_is() {
        let third = [view(0, 1, 0.5), view(0, 2, 0.5), view(1, 2, 0.5)];
        assert!(ViewFactors::complete(&surfaces(&[1.0; 3]), &third).is_ok());
        let own = [view(0, 1, 0.5), view(0, 2, 0.5), view(1, 2, 0.5), view(2, 2, 0.25)];
        assert!(matches!(
            ViewFactors::complete(&surfaces(&[1.0; 3]), &own),
            Err(EnclosureFault::NotClosed { surface: 2, .. })
        ));
    }
}
