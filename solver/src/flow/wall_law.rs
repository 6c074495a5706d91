//! Published laws of wall friction and of the film between gas and wall, for building a [`super::WallTable`].

/// Reynolds number up to which the film is laminar. Gnielinski (2013), Int. J. Heat Mass Transfer 63, 134.
const LAMINAR_BELOW: f64 = 2_300.0;
/// Reynolds number from which Gnielinski's turbulent law holds. Same source.
const TURBULENT_ABOVE: f64 = 4_000.0;
/// Nusselt number of developed laminar flow at constant wall temperature. Incropera et al., section 8.4.
const LAMINAR_NUSSELT: f64 = 3.66;
/// Pitch of corrugations, over their depth, up to which they count as roughness in full.
const DENSE_PITCH_OVER_DEPTH: f64 = 10.0;

/// Darcy friction factor times Reynolds number, laminar, transitional and turbulent in one, for `relative_roughness` = sand
/// roughness / hydraulic diameter. Churchill (1977), Chem. Eng. 84(24), 91, multiplied out so that it is 64 at rest.
#[must_use]
pub fn churchill(reynolds: f64, relative_roughness: f64) -> f64 {
    if reynolds < 1.0 {
        return 64.0;
    }
    let a = libm::pow(-2.457 * libm::log(libm::pow(7.0 / reynolds, 0.9) + 0.27 * relative_roughness), 16.0);
    let b = libm::pow(37_530.0 / reynolds, 16.0);
    let turbulent = libm::pow(reynolds, 12.0) * libm::pow(a + b, -1.5);
    8.0 * libm::pow(libm::pow(8.0, 12.0) + turbulent, 1.0 / 12.0)
}

/// Sand roughness [m] that stands for corrugations of `depth` [m] and `pitch` [m].
///
/// ASSUMED, no source: the depth itself while the pitch is at most ten depths, where roughness of ribs is known to be fully
/// developed, and less in proportion beyond.
#[must_use]
pub fn corrugation_roughness(depth: f64, pitch: f64) -> f64 {
    let dense = DENSE_PITCH_OVER_DEPTH * depth;
    if pitch <= dense { depth } else { depth * dense / pitch }
}

/// Nusselt number of turbulent flow in a smooth duct: Gnielinski (1976), Int. Chem. Eng. 16, 359, with Petukhov's (1970) friction
/// factor.
#[must_use]
pub fn gnielinski(reynolds: f64, prandtl: f64) -> f64 {
    let root = 0.790 * libm::log(reynolds) - 1.64;
    let eighth = 0.125 / (root * root);
    let pole = 1.0 + 12.7 * eighth.sqrt() * (libm::pow(prandtl, 2.0 / 3.0) - 1.0);
    eighth * (reynolds - 1_000.0) * prandtl / pole
}

/// Mean Nusselt number of a duct of hydraulic diameter / length = `diameter_over_length`.
///
/// Laminar below 2300 and Gnielinski's law above 4000, with a straight line in Re between them (Gnielinski 2013, from memory); the
/// entry factor 1 + (D/L)^(2/3) of Hausen (1959) and Gnielinski (1976). Its use on the laminar side is ASSUMED, for continuity.
#[must_use]
pub fn film(reynolds: f64, prandtl: f64, diameter_over_length: f64) -> f64 {
    let turbulent = gnielinski(if reynolds > TURBULENT_ABOVE { reynolds } else { TURBULENT_ABOVE }, prandtl);
    let share = ((reynolds - LAMINAR_BELOW) / (TURBULENT_ABOVE - LAMINAR_BELOW)).clamp(0.0, 1.0);
    let developed = LAMINAR_NUSSELT + share * (turbulent - LAMINAR_NUSSELT);
    developed * (1.0 + libm::pow(diameter_over_length, 2.0 / 3.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of the reference table of friction factors: Re, eps/D, Darcy f by Churchill (1977).
    const CHURCHILL: [(f64, f64, f64); 5] = [
        (500.0, 0.001, 0.128),
        (2_000.0, 0.0, 0.032_043_317),
        (2_300.0, 0.001, 0.030_847_89),
        (4_000.0, 0.01, 0.050_578_346),
        (10_000.0, 1e-5, 0.031_019_813),
    ];
    /// Rows of the reference table of Nusselt numbers: Re, Nu at Pr = 0.71 by Gnielinski (1976).
    const GNIELINSKI: [(f64, f64); 4] =
        [(4_000.0, 13.564_745), (10_000.0, 30.027_849), (20_000.0, 51.771_801), (50_000.0, 105.083_45)];

    #[test]
    fn churchill_meets_its_table() {
        for (reynolds, roughness, factor) in CHURCHILL {
            assert!((churchill(reynolds, roughness) / reynolds / factor - 1.0).abs() < 2e-7, "{reynolds}");
        }
    }

    #[test]
    fn churchill_is_64_at_rest() {
        for reynolds in [0.0, 1e-300, 1e-9, 0.999_999, 1.0, 10.0] {
            assert!((churchill(reynolds, 0.01) - 64.0).abs() < 1e-9, "{reynolds}");
        }
    }

    #[test]
    fn gnielinski_meets_its_table() {
        for (reynolds, nusselt) in GNIELINSKI {
            assert!((gnielinski(reynolds, 0.71) / nusselt - 1.0).abs() < 1e-6, "{reynolds}");
        }
    }

    #[test]
    fn film_goes_over_without_a_jump() {
        for edge in [LAMINAR_BELOW, TURBULENT_ABOVE] {
            let (before, after) = (film(edge - 1e-6, 0.71, 0.2), film(edge + 1e-6, 0.71, 0.2));
            assert!((before / after - 1.0).abs() < 1e-8, "{edge}");
        }
        assert!((film(0.0, 0.71, 0.0) - 3.66).abs() < 1e-12);
    }

    #[test]
    fn sparse_corrugations_roughen_less() {
        assert!((corrugation_roughness(2e-3, 6e-3) - 2e-3).abs() < 1e-15);
        assert!((corrugation_roughness(2e-3, 40e-3) - 1e-3).abs() < 1e-15);
    }
}
