//! Darcy friction factor, for coefficients that lean on it.

/// Darcy friction factor at Reynolds number `reynolds` and `roughness` over diameter. Churchill (1977), Chemical Engineering 84, no.
/// 24, p. 91: laminar, transitional and turbulent in one formula.
#[must_use]
pub fn churchill(reynolds: f64, roughness: f64) -> f64 {
    let turbulent = -2.457 * libm::log(libm::pow(7.0 / reynolds, 0.9) + 0.27 * roughness);
    let a = libm::pow(turbulent, 16.0);
    let b = libm::pow(37_530.0 / reynolds, 16.0);
    8.0 * libm::pow(libm::pow(8.0 / reynolds, 12.0) + libm::pow(a + b, -1.5), 1.0 / 12.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn meets_the_formula_of_1977_and_the_laminar_law() {
        // (Re, roughness over diameter, f): evaluated independently from Churchill's paper.
        for (reynolds, roughness, expected) in [
            (500.0, 0.0, 0.128),
            (2_300.0, 0.0, 0.030_840_098),
            (1e5, 0.0, 0.017_874_822),
            (1e5, 0.001, 0.022_343_236),
            (2e5, 1e-5, 0.015_633_476),
        ] {
            let factor = churchill(reynolds, roughness);
            assert!((factor / expected - 1.0_f64).abs() < 1e-7, "{reynolds} {roughness}: {factor}");
        }
    }
}
