//! Friction and heat transfer between a turbulent stream and the wall of a round pipe.

use crate::oracle::root::bisect;

/// Darcy friction factor at a Reynolds number and a relative sand roughness. Colebrook (1939), J. Inst. Civ. Eng. 11, 133.
#[must_use]
pub fn colebrook(reynolds: f64, relative_roughness: f64) -> f64 {
    let excess = |root: f64| 1.0 / root + 2.0 * libm::log10(relative_roughness / 3.7 + 2.51 / (reynolds * root));
    bisect(1e-3, 1.0, excess).map_or(f64::NAN, |root| root * root)
}

/// The same by the explicit law of Churchill (1977), Chem. Eng. 84(24), 91, turbulent part.
#[must_use]
pub fn churchill(reynolds: f64, relative_roughness: f64) -> f64 {
    let inner = libm::pow(7.0 / reynolds, 0.9) + 0.27 * relative_roughness;
    let (a, b) = (libm::pow(-2.457 * libm::log(inner), 16.0), libm::pow(37_530.0 / reynolds, 16.0));
    let laminar = libm::pow(8.0 / reynolds, 12.0);
    8.0 * libm::pow(laminar + libm::pow(a + b, -1.5), 1.0 / 12.0)
}

/// Nusselt number of developed turbulent flow in a smooth pipe. Gnielinski (1976), Int. Chem. Eng. 16, 359, with the friction factor
/// of Petukhov (1970).
#[must_use]
pub fn gnielinski(reynolds: f64, prandtl: f64) -> f64 {
    let friction = libm::pow(0.790 * libm::log(reynolds) - 1.64, -2.0);
    let bracket = 1.0 + 12.7 * (friction / 8.0).sqrt() * (libm::pow(prandtl, 2.0 / 3.0) - 1.0);
    friction / 8.0 * (reynolds - 1000.0) * prandtl / bracket
}

/// What the entry of a pipe of `length` over diameter adds to the mean Nusselt number, as a factor. Hausen (1959); Gnielinski (1976).
#[must_use]
pub fn entry_factor(length: f64) -> f64 {
    1.0 + libm::pow(length, -2.0 / 3.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn friction_factors_agree_with_the_table() {
        for row in data::rows(data::FRICTION).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let (reynolds, roughness) = (value("Re"), value("eps_D"));
            assert_relative_eq!(churchill(reynolds, roughness), value("churchill"), max_relative = 1e-7);
            if let Ok(expected) = row.number("colebrook") {
                assert_relative_eq!(colebrook(reynolds, roughness), expected, max_relative = 1e-9);
            }
        }
    }

    #[test]
    fn nusselt_numbers_agree_with_the_table() {
        for row in data::rows(data::NUSSELT).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            assert_relative_eq!(gnielinski(value("Re"), value("Pr")), value("gnielinski"), max_relative = 1e-7);
        }
    }
}
